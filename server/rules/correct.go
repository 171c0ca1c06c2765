package rules

import (
	"encoding/json"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Why codes and codes of Effect.Nothing that corrections bring.
const (
	WhyCorrected  = "check-corrected"
	NothingSecond = "second-name" // a stop is taken back only with a second name
)

// Amending is what every correction names: a record of a sealer's or a problem's
// chain, as the page showed it.
type Amending struct {
	Entry
	Original *record.Record
	Current  *record.Record // the newest version, the Original if it was never corrected
	Why      string
}

// SaidCorrection is what should have been written down.
type SaidCorrection struct {
	Amending
	Correction record.Corrected // Why apart
}

// Correct decides on a correction. It never gives Ready; where it makes doubtful
// what a Ready rests on, it takes it.
func Correct(v record.View, c SaidCorrection, now record.Time) ([]Draft, error) {
	at, err := c.find(v)
	if err != nil {
		return nil, err
	}
	b := c.Correction
	b.Why = strings.TrimSpace(c.Why)
	old, err := c.saysNow()
	if err != nil {
		return nil, err
	}
	if err := (correction{&b}).fits(old); err != nil {
		return nil, err
	}
	if err := at.timeIsSound(&c.Amending, &b, now); err != nil {
		return nil, err
	}
	if err := at.keepsConsequence(v, old, &b, now); err != nil {
		return nil, err
	}
	return at.drafts(v, &c.Amending, &b, b.Happened != nil, now)
}

// SaidVoid takes a record back.
type SaidVoid struct{ Amending }

// Void decides on taking a record back. That of a stop only asks: a second person
// has to confirm it.
func Void(v record.View, c SaidVoid, now record.Time) ([]Draft, error) {
	at, err := c.find(v)
	if err != nil {
		return nil, err
	}
	body := &record.Voided{Why: strings.TrimSpace(c.Why)}
	if !Stopped(c.Original) {
		return at.drafts(v, &c.Amending, body, true, now)
	}
	if at.version.Asking != 0 {
		return nil, fault.New(fault.Stale, "It was asked already to take this back. A second person has to confirm it.")
	}
	dr, err := c.amend(at.dept, c.Original.Subject, body, now)
	if err != nil {
		return nil, err
	}
	dr.Record.Effect.Nothing = NothingSecond
	return []Draft{dr}, nil
}

// SaidConfirmation is the second name under a Voided that waits for it.
type SaidConfirmation struct{ Amending }

// ConfirmVoid decides on the second name. The sealer goes to its return checks
// once nothing that stopped it still stands; it is never ready by that.
func ConfirmVoid(v record.View, c SaidConfirmation, now record.Time) ([]Draft, error) {
	c.Why = "-" // given by the first
	at, err := c.find(v)
	switch {
	case err != nil:
		return nil, err
	case at.version.Asking == 0:
		return nil, fault.New(fault.Stale, "Nobody asks to take this back any more. Look at it again.")
	case at.version.Asked == c.By:
		return nil, fault.New(fault.Forbidden, "A second person has to confirm it, not the one who asked.")
	}
	drafts, err := at.drafts(v, &c.Amending, &record.VoidConfirmed{}, true, now)
	if err != nil {
		return nil, err
	}
	for i := range drafts {
		r := &drafts[i].Record
		r.RestsOn, r.Meaning = append(r.RestsOn, at.version.Asking), record.Confirmed
		at.releases(v, c.Original, r, now)
	}
	return drafts, nil
}

// Stopped reports whether a record took a sealer out of service.
func Stopped(r *record.Record) bool { return stops(r.Effect.Readiness) }

// place is where a correction happens.
type place struct {
	dept    *Department
	sealer  *Sealer  // whose chain the original is of, nil if it is of a problem's
	problem *Problem // the same for a problem
	version Version
}

// correctable are the kinds that can be corrected or taken back; all others are
// replaced by newer ones of the same kind, each by its own page.
func correctable(body record.Body) bool {
	switch body.(type) {
	case *record.Check, *record.BadSeal, *record.Packs, *record.PackSettled, *record.Changeover,
		*record.Disturbance, *record.Note, *record.Reading:
		return true
	}
	return false
}

// Correctable reports whether a record can be corrected or taken back at all.
func Correctable(r *record.Record) bool {
	body, err := r.Content()
	return err == nil && correctable(body) && (r.Subject.Type == record.Sealer || r.Subject.Type == record.Problem)
}

func (c *Amending) find(v record.View) (place, error) {
	at := place{dept: GetDepartment(v, c.Original.Dept)}
	if at.dept == nil || !Correctable(c.Original) {
		return at, fault.New(fault.Invalid, "This entry cannot be corrected. Enter what holds now on the page it came from.")
	}
	if strings.TrimSpace(c.Why) == "" {
		return at, fault.Field("why", "Give the reason: it stays with your name.")
	}
	switch c.Original.Subject.Type {
	case record.Sealer:
		at.sealer = GetSealer(v, c.Original.Subject.ID)
	case record.Problem:
		at.problem = GetProblem(v, c.Original.Subject.ID)
	}
	at.version = VersionsOf(v, c.Original.Subject).Of(c.Original.Seq)
	switch {
	case at.sealer == nil && at.problem == nil:
		return at, fault.New(fault.Unknown, "There is no such entry here.")
	case at.version.Gone:
		return at, fault.New(fault.Stale, "This entry was taken back already.")
	case at.version.Newest != c.Current.Seq:
		return at, fault.New(fault.Stale, "Somebody corrected this entry meanwhile. Look at it again.")
	}
	return at, nil
}

// saysNow is what the newest version says.
func (c *Amending) saysNow() (record.Body, error) {
	body, err := c.Original.Content()
	if err != nil || c.Current.Seq == c.Original.Seq {
		return body, err
	}
	newer, err := c.Current.Content()
	if b, ok := newer.(*record.Corrected); ok && err == nil {
		return b.Says(body), nil
	}
	return body, err
}

// fits wants a correction to say something else than is written, of the same
// kind, and nothing of what must stay.
func (b correction) fits(old record.Body) error {
	var said record.Body
	switch o := old.(type) {
	case *record.Check:
		if said = old; b.Check != nil {
			said = b.Check
			if n := b.Check; n.Pouch != o.Pouch || n.Approval != o.Approval || n.Outcome != o.Outcome ||
				!slices.Equal(n.Places, o.Places) || !slices.Equal(n.Tests, o.Tests) {
				return mustStay("outcome, pouch, places and tests")
			}
		}
	case *record.BadSeal:
		if said = old; b.BadSeal != nil {
			said = b.BadSeal
			if n := b.BadSeal; n.MakersSeal != o.MakersSeal || n.Pouch != o.Pouch {
				return mustStay("pouch and whose seal it was")
			}
			if !slices.Contains(record.Faults(), b.BadSeal.Kind) {
				return fault.Field("kind", "Say what you saw, or choose Don't know.")
			}
		}
	case *record.Packs:
		if said = old; b.Packs != nil {
			said = b.Packs
			if b.Packs.Pouch != o.Pouch {
				return mustStay("the pouch")
			}
			if b.Packs.Count < 1 || b.Packs.Count > 10000 {
				return fault.Field("count", "Give the number of packs, 1 to 10,000.")
			}
		}
	case *record.PackSettled:
		if said = old; b.Settled != nil {
			said = b.Settled
			if b.Settled.Packs != o.Packs {
				return mustStay("which packs they were")
			}
			if b.Settled.Count < 1 {
				return fault.Field("count", "Give the number of packs.")
			}
		}
	default:
		said = old
	}
	if b.Happened == nil && !b.Note && same(said, old) {
		return fault.New(fault.Invalid, "Nothing is different. Change what was wrong, or take the entry back.")
	}
	return nil
}

type correction struct{ *record.Corrected }

func mustStay(what string) error {
	return fault.New(fault.Invalid, "A correction cannot change %s. Take the entry back and enter it anew.", what)
}

func same(a, b record.Body) bool {
	x, err1 := json.Marshal(a)
	y, err2 := json.Marshal(b)
	return err1 == nil && err2 == nil && string(x) == string(y)
}

// timeIsSound looks at a corrected time, and carries over one that was corrected
// before.
func (at place) timeIsSound(c *Amending, b *record.Corrected, now record.Time) error {
	if b.Happened == nil {
		if newer, _ := c.Current.Content(); newer != nil {
			if before, ok := newer.(*record.Corrected); ok {
				b.Happened = before.Happened
			}
		}
		return nil
	}
	if b.Happened.To < b.Happened.From {
		return fault.Field("happened", "The end is before the beginning.")
	}
	if b.Happened.To > now || b.Happened.To > c.Original.At {
		return fault.Field("happened", "It was written down on %s: it cannot have happened later.",
			c.Original.At.In(Zone(at.dept.Zone)).Format("2 Jan 15:04"))
	}
	b.Happened.Said = record.Typed
	return nil
}

// keepsConsequence refuses a correction with which the entry would have had
// consequences that a correction cannot bring: then it has to be entered anew.
func (at place) keepsConsequence(v record.View, old record.Body, b *record.Corrected, now record.Time) error {
	switch o := old.(type) {
	case *record.BadSeal:
		n := b.BadSeal
		if n == nil {
			return nil
		}
		if ConsequenceOf(*o) != ConsequenceOf(*n) {
			return fault.Field("kind", "Something else follows from that kind. Take the report back and report the bad seal anew.")
		}
		if ConsequenceOf(*n) == Stops && o.SealedAt != nil && !sameSpan(o.SealedAt, n.SealedAt) && at.sealer != nil {
			good := at.sealer.lastGood(orID(o.Pouch, at.sealer.Readiness.Pouch))
			if good == nil || n.SealedAt == nil || n.SealedAt.To.Add(skew) >= good.Began {
				return fault.Field("sealed_at", "Sealed at that time it would take the sealer out of service. Report the bad seal anew.")
			}
		}
	case *record.Packs:
		h := b.Happened
		if h != nil && at.sealer != nil && !at.sealer.heldAnyway(v, o.Pouch, *h, now) &&
			at.sealer.sealedUnready(o.Pouch, *h, at.dept.dayOf(h.To, now)) {
			return fault.Field("happened", "The sealer was not ready then: take the entry back and enter it anew, so that the packs go on hold.")
		}
	}
	return nil
}

func sameSpan(a, b *record.Span) bool { return a == b || a != nil && b != nil && *a == *b }

// amend makes the record of a correction in a chain.
func (c *Amending) amend(d *Department, s record.Subject, body record.Body, now record.Time) (Draft, error) {
	dr, err := c.draft(d, s, body, now)
	r := &dr.Record
	r.Corrects, r.RestsOn, r.Meaning = c.Current.Seq, []record.Seq{c.Original.Seq}, record.Approved
	return dr, err
}

// drafts are the record of a correction and one for each problem that it touches.
// Away says that what the original proved does not count any more.
func (at place) drafts(v record.View, c *Amending, body record.Body, away bool, now record.Time) ([]Draft, error) {
	first, err := c.amend(at.dept, c.Original.Subject, body, now)
	if err != nil {
		return nil, err
	}
	if at.problem != nil {
		if _, packs := mustContent(c.Original).(*record.PackSettled); packs {
			first.Record.Effect.Joins = at.problem.ID
		}
		return []Draft{first}, nil
	}
	drafts := []Draft{first}
	if away {
		at.takes(v, c.Original, body, &drafts[0].Record, now)
	}
	for _, p := range at.touched(v, c.Original, body, away) {
		dr, err := c.amend(at.dept, record.Subject{Type: record.Problem, ID: p.ID}, body, now)
		if err != nil {
			return nil, err
		}
		dr.Record.Sealed = nil // once is enough
		dr.Record.Effect.Joins = p.ID
		drafts = append(drafts, dr)
	}
	return drafts, nil
}

func mustContent(r *record.Record) record.Body {
	body, _ := r.Content() // read before, see Correctable
	return body
}

// takes takes Ready away, or the count towards it, if the original gave it.
func (at place) takes(v record.View, old *record.Record, body record.Body, r *record.Record, now record.Time) {
	b, ok := mustContent(old).(*record.Check)
	if !ok || b.Outcome != record.Pass {
		return
	}
	st := Standing(v, at.sealer, now)
	why := WhyVoided
	if _, corrected := body.(*record.Corrected); corrected {
		why = WhyCorrected
	}
	switch {
	case st.Pouch != b.Pouch:
	case st.State == record.Ready && old.Seq <= st.Check && old.Happened.From >= st.CheckAt:
		next := due(st, r, why)
		next.Check = record.None
		r.Effect.Takes, r.Effect.Readiness = true, &next
	case st.Good > 0 && old.Happened.To >= st.From && (st.State == record.CheckDue || st.State == record.NotReady):
		next := st
		next.Good = 0
		r.Effect.Takes, r.Effect.Readiness = true, &next
	}
}

// touched are the problems whose facts or windows rest on the original, the
// oldest first.
func (at place) touched(v record.View, old *record.Record, body record.Body, away bool) (list []*Problem) {
	b, check := mustContent(old).(*record.Check)
	good := check && b.Outcome == record.Pass
	packs, isPacks := mustContent(old).(*record.Packs)
	for _, id := range at.sealer.Problems {
		p := GetProblem(v, id)
		if p == nil {
			continue
		}
		fault := slices.ContainsFunc(p.Anchors, func(a Anchor) bool { return a.Seq == old.Seq })
		bound := good && away && (p.SettledAt != 0 && (p.SettledFrom == old.Happened.From || p.SettledTo == old.Happened.From) ||
			p.Closed == 0 && (p.Answer != nil || p.Hold != nil))
		listed := isPacks && (p.ID == old.ID || p.SettledAt != 0 && p.concerns(packs.Pouch) &&
			packsMeet(p, old, body))
		if fault || bound || listed {
			list = append(list, p)
		}
	}
	return list
}

// packsMeet reports whether packs, as they were told or as they are corrected, lie
// in the window that was settled.
func packsMeet(p *Problem, old *record.Record, body record.Body) bool {
	in := func(h record.Span) bool { return h.To >= p.SettledFrom && h.From <= p.SettledTo }
	if b, ok := body.(*record.Corrected); ok {
		return in(old.Happened) || b.Happened != nil && in(*b.Happened)
	}
	return false // what was taken back is no pack any more
}

// releases brings a sealer to its return checks when the last stop that stood was
// taken back. While clinical engineering is at work, that goes on.
func (at place) releases(v record.View, old, r *record.Record, now record.Time) {
	if r.Subject.Type != record.Problem {
		return // it is the problem that kept the sealer
	}
	st := Standing(v, at.sealer, now)
	p := GetProblem(v, st.Problem)
	if p == nil || p.ID != r.Subject.ID || st.State != record.OutOfService {
		return
	}
	mine := false
	for _, a := range p.Anchors {
		mine = mine || a.Seq == old.Seq
		if a.Seq != old.Seq && !a.Gone {
			return
		}
	}
	if !mine {
		return
	}
	next := returnChecks(st, at.sealer.plan(at.dept), WhyStopVoided)
	next.From, next.Day = r.Happened.From, max(r.Day, r.Effect.Arrived)
	r.Effect.Sealer, r.Effect.Takes, r.Effect.Readiness = at.sealer.ID, true, &next
}
