package rules

import (
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// skew is how far two honest clocks may differ.
const skew = 2 * time.Minute

// Codes of record.Effect.Nothing: why a good fact gave nothing.
const (
	NothingDoubtful  = "doubtful-time"
	NothingUnsigned  = "not-confirmed"
	NothingUnseen    = "something-since"
	NothingOrder     = "taken-since"
	NothingNotDue    = "not-waiting"
	NothingApproval  = "other-approval"
	NothingOldDay    = "earlier-day"
	NothingPlaces    = "not-all-places"
	NothingTests     = "not-all-tests"
	NothingImported  = "imported"
	NothingSettling  = "too-early"
	NothingOtherBag  = "other-pouch"
	NothingAnswered  = "answered-by-check"
	NothingExpired   = "kit-expired"
	NothingUntrained = "not-signed-off"
)

// Entry is who says something and how it got here; every command carries one.
type Entry struct {
	ID         record.ID
	By         record.ID
	OnBehalfOf record.ID
	SentBy     record.ID
	Via        record.Via
	Dev        record.ID
	DevN       int64
	Seen       int64 // size of the ledger behind the sender's page
	Made       record.Time
	Sent       record.Time
	Happened   record.Span // zero: now
	Cause      string
	Sealed     record.Sealed
	Queued     bool // from a phone's queue: a fact, never refused for being stale
	Keep       bool // "it did happen: keep it", after a refusal as stale
}

// Draft is a record to be written and whom to tell of it.
type Draft struct {
	Record record.Record
	Tell   []Tell
}

// Tell names a route and an addressee; what is said is drawn when it is sent.
type Tell struct {
	Route string
	To    record.ID
}

// Routes.
const (
	ToEngineering = "engineering" // all of it at once, where no order was chosen
	ToStep        = "step"        // one on the route of a department
	ToLeads       = "leads"       // a report found elsewhere has come in
)

// fact reports whether the entry tells of something that cannot be refused for
// being stale.
func (e *Entry) fact() bool { return e.Queued || e.Keep || e.Happened.Said == record.Typed }

// when returns the span of the entry: now unless said, and never in the future.
func (e *Entry) when(now record.Time) (record.Span, error) {
	h := e.Happened
	if h.From == 0 {
		return record.Moment(now), nil
	}
	if h.To < h.From {
		return h, fault.Field("happened", "The end is before the beginning.")
	}
	if h.To > now.Add(skew) {
		if h.Said == record.Typed {
			return h, fault.Field("happened", "That time has not come yet.")
		}
		h.To = now
		h.From = min(h.From, now)
	}
	return h, nil
}

// draft makes the record of an entry, with its operating day and lateness.
func (e *Entry) draft(d *Department, s record.Subject, content record.Body, now record.Time) (Draft, error) {
	r, err := record.New(content)
	if err != nil {
		return Draft{}, fault.Wrap(err, fault.Internal, "This could not be written down.")
	}
	h, err := e.when(now)
	if err != nil {
		return Draft{}, err
	}
	r.Subject, r.By, r.OnBehalfOf, r.SentBy, r.Via = s, e.By, e.OnBehalfOf, e.SentBy, e.Via
	r.Dev, r.DevN, r.Seen, r.Made, r.Sent = e.Dev, e.DevN, e.Seen, e.Made, e.Sent
	r.ID, r.Happened, r.Cause, r.Sealed, r.Meaning = e.ID, h, e.Cause, e.Sealed, record.Did
	if !e.OnBehalfOf.IsZero() {
		r.Meaning = record.Told
	}
	if d != nil {
		today := d.Day(now)
		r.Dept, r.Day = d.ID, d.dayOf(h.To, now)
		r.Late = h.Said != record.Clock || now.Sub(h.To) > time.Duration(d.LateMinutes)*time.Minute
		if r.Day != today {
			r.Effect.Arrived = today
		}
	}
	return Draft{Record: r}, nil
}

// takenBefore reports whether everything that ever took Ready from s had ended
// before f, as far as clocks can tell, or stands earlier in e's own queue.
func (s *Sealer) takenBefore(f record.Time, e *Entry) bool {
	limit := f
	if e.fact() {
		limit = f.Add(-skew)
	}
	if s.TakenTo > limit {
		return false
	}
	for _, t := range s.Touches {
		if t.Takes && t.To > limit && (!t.before(e) || t.To > f.Add(skew)) {
			return false
		}
	}
	return true
}

// seenAll reports whether the sender of e had seen everything that touched s,
// or made it.
func (s *Sealer) seenAll(e *Entry) bool {
	if s.Forgotten != record.None && int64(s.Forgotten) >= e.Seen {
		return false
	}
	for _, t := range s.Touches {
		if int64(t.Seq) >= e.Seen && !t.before(e) {
			return false
		}
	}
	return true
}

// before reports whether the touch stands earlier in e's own queue.
func (t *Touch) before(e *Entry) bool {
	return !e.Dev.IsZero() && t.Dev == e.Dev && t.DevN > 0 && t.DevN < e.DevN
}

// gives tells why a good fact of span h must not give Ready, "" if it may.
func (s *Sealer) gives(e *Entry, h record.Span) string {
	switch {
	case h.Said == record.Doubtful:
		return NothingDoubtful
	case e.Via == record.ViaNone:
		return NothingUnsigned
	case e.Via == record.ViaImport:
		return NothingImported
	case !s.takenBefore(h.From, e):
		return NothingOrder
	case e.fact() && !s.seenAll(e):
		return NothingUnseen
	}
	return ""
}

// answered reports whether the check behind s's Ready began after h, so that a
// fact of that span takes nothing any more. A doubtful time is never answered.
func (s *Sealer) answered(h record.Span) bool {
	r := s.Readiness
	return r.State == record.Ready && r.CheckAt > h.To.Add(skew) && h.Said != record.Doubtful
}
