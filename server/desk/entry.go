package desk

import (
	"context"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// From is what every form and every command carries beside what it says.
// Happened and HappenedTo are local times of the department, "2026-03-04T03:36",
// or RFC 3339; empty means just now.
type From struct {
	ID         record.ID   `form:"id" json:"id"`
	Seen       int64       `form:"seen" json:"seen"`
	Dev        record.ID   `form:"dev" json:"dev,omitzero"`
	DevN       int64       `form:"dev_n" json:"dev_n,omitempty"`
	Made       record.Time `form:"made" json:"made,omitzero"`
	Sent       record.Time `form:"sent" json:"sent,omitzero"`
	Happened   string      `form:"happened" json:"happened,omitempty"`
	HappenedTo string      `form:"happened_to" json:"happened_to,omitempty"`
	OnBehalfOf record.ID   `form:"on_behalf_of" json:"on_behalf_of,omitzero"`
	Keep       bool        `form:"keep" json:"keep,omitempty"`
	Cause      string      `form:"cause" json:"cause,omitempty"`
	Note       string      `form:"note" json:"note,omitempty"`
}

// Done tells what became of a command.
type Done struct {
	ID      record.ID  `json:"id"`
	Seq     record.Seq `json:"seq"`
	Count   int        `json:"count"`
	At      string     `json:"at"`
	Repeat  bool       `json:"repeat"`
	Size    int64      `json:"size"`
	Subject record.ID  `json:"subject,omitzero"`  // what was made, if something was
	Code    string     `json:"code,omitempty"`    // of the label that was made
	Problem record.ID  `json:"problem,omitzero"`  // the problem it opened or belongs to
	Nothing string     `json:"nothing,omitempty"` // why a good fact gave nothing
	Waits   string     `json:"waits,omitempty"`   // why it waits for a lead instead
}

// maxText is how long a note may be, in bytes.
const maxText = 2000

// entry makes of a form what the rules want to know of its sender.
func (d *Desk) entry(who Caller, in From) (rules.Entry, error) {
	if len(in.Note) > maxText {
		return rules.Entry{}, fault.Field("note", "Please keep the note under %d characters.", maxText)
	}
	e := rules.Entry{ID: in.ID, By: who.Person, OnBehalfOf: in.OnBehalfOf, Via: who.Via, Dev: in.Dev, DevN: in.DevN,
		Seen: in.Seen, Made: in.Made, Sent: in.Sent, Keep: in.Keep, Cause: in.Cause, Queued: who.Queued}
	if from := who.sender; from != nil {
		e.SentBy = from.by
		if e.OnBehalfOf.IsZero() {
			e.OnBehalfOf = from.onBehalfOf
		}
	}
	if e.ID.IsZero() {
		e.ID = d.NewID()
	}
	dept := d.department(who.Dept)
	var err error
	if e.Happened, err = happened(dept, in, d.now(), who); err != nil {
		return e, err
	}
	return e, nil
}

// atSealer is how an entry about one sealer begins: who may, which sealer, and what
// the form says of its sender.
func (d *Desk) atSealer(who Caller, what use, code string, in From) (s *rules.Sealer, e rules.Entry, err error) {
	if _, err = d.may(who, what); err != nil {
		return nil, e, err
	}
	if s, err = d.sealerOf(who, code); err != nil {
		return nil, e, err
	}
	e, err = d.entry(who, in)
	return s, e, err
}

// maxAge is how old an entry of a queue may be before its time is doubtful;
// clockSkew how far a phone's clock may drift between a page and an entry.
const (
	maxAge    = 14 * 24 * time.Hour
	clockSkew = 2 * time.Minute
)

// happened works out when something happened: as typed, or for what a phone
// kept, the age that its own clock gives, off the server's clock.
func happened(dept *rules.Department, in From, now record.Time, who Caller) (record.Span, error) {
	if in.Happened != "" {
		from, err := localTime(dept, in.Happened)
		if err != nil {
			return record.Span{}, fault.Field("happened", "Type the date and time it happened.")
		}
		to := from
		if in.HappenedTo != "" {
			if to, err = localTime(dept, in.HappenedTo); err != nil {
				return record.Span{}, fault.Field("happened_to", "Type the date and time it ended.")
			}
		}
		return record.Span{From: from, To: to, Said: record.Typed}, nil
	}
	if !who.Queued {
		return record.Span{}, nil
	}
	return queuedSpan(in, now, who.sender), nil
}

// queuedSpan is the moment of an entry by its age. It is doubtful where the age
// makes no sense, or leads back to before its maker had signed in.
func queuedSpan(in From, now record.Time, from *sender) record.Span {
	arrived, since := now, record.Time(0)
	if from != nil {
		since = from.issued
		if from.arrived != 0 {
			arrived = from.arrived
		}
	}
	age := in.Sent.Sub(in.Made)
	at := arrived.Add(-age)
	if in.Made == 0 || in.Sent == 0 || age < 0 || age > maxAge || at.Add(clockSkew) < since {
		return record.Span{From: arrived, To: arrived, Said: record.Doubtful}
	}
	return record.Moment(at)
}

func localTime(dept *rules.Department, text string) (record.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return record.TimeOf(t), nil
	}
	zone := time.UTC
	if dept != nil {
		zone = rules.Zone(dept.Zone)
	}
	t, err := time.ParseInLocation("2006-01-02T15:04", text, zone)
	return record.TimeOf(t), err
}

// seal stores private words before the record that commits to them.
func (d *Desk) seal(e *rules.Entry, values map[string]string) error {
	var names []string
	var list []people.Value
	for name, text := range values {
		if text = strings.TrimSpace(text); text != "" {
			names, list = append(names, name), append(list, people.Value{Domain: name, Bytes: []byte(text)})
		}
	}
	if len(list) == 0 {
		return nil
	}
	sums, err := d.people.Seal(d.clock(), list...)
	if err != nil {
		return err
	}
	if e.Sealed == nil {
		e.Sealed = record.Sealed{}
	}
	for i, name := range names {
		e.Sealed[name] = sums[i]
	}
	return nil
}

// reveal returns a private word, or what became of it.
func (d *Desk) reveal(c record.Commitment) string {
	if c == (record.Commitment{}) {
		return ""
	}
	r, err := d.people.Reveal(c)
	switch {
	case err != nil:
		return "(not readable)"
	case r.Status == people.Erased:
		return "removed on " + r.At.Format("2 Jan 2006")
	case r.Status == people.Missing:
		return "(missing)"
	}
	return string(r.Value.Bytes)
}

// write seals the entry's note, lets the rules decide and has it written down.
// said is the body as it was said, on its subject: it tells a repetition from
// other content under the same id.
func (d *Desk) write(ctx context.Context, who Caller, in From, e rules.Entry, subject record.Subject, said record.Body,
	decide func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error)) (Done, error) {
	private := map[string]string{"note": in.Note}
	if who.sender != nil {
		private["says"] = who.sender.says
	}
	if err := d.seal(&e, private); err != nil {
		return Done{}, err
	}
	content, err := record.New(said)
	if err != nil {
		return Done{}, fault.Wrap(err, fault.Internal, "This could not be written down.")
	}
	content.Subject, content.By, content.Made, content.Happened, content.Seen = subject, e.By, e.Made, e.Happened, e.Seen
	if content.Happened.Said == "" {
		content.Happened.Said = record.Clock
	}
	if who.sender != nil {
		content.Seen = min(content.Seen, who.sender.size) // what a phone claims is not believed
	}
	done := Done{ID: e.ID}
	var decided record.Record // as the writer saw it last; its own once Append has returned
	receipt, err := d.ledger.Append(ctx, ledger.Command{ID: e.ID, Content: &content,
		Decide: func(v record.View, now record.Time) ([]ledger.Draft, error) {
			drafts, err := decide(v, e, now)
			if err == nil && len(drafts) > 0 {
				decided = drafts[0].Record
			}
			return forLedger(v, drafts), err
		}})
	if err != nil {
		return done, err
	}
	done.Seq, done.Count, done.Repeat, done.Size = receipt.First, receipt.Count, receipt.Repeat, receipt.Size
	done.At = receipt.At.String()
	if done.Repeat || done.Count == 0 {
		return done, d.tellEffect(&done)
	}
	decided.ID = e.ID
	done.tell(&decided)
	return done, nil
}

// tellEffect reads back what was decided before.
func (d *Desk) tellEffect(done *Done) error {
	if done.Seq == record.None || done.Count == 0 {
		return nil
	}
	r, err := d.ledger.Read(done.Seq)
	if err == nil {
		done.tell(&r)
	}
	return err
}

// byClock writes down what nobody said: a time had come. Its id is younger than
// what the ledger has in memory, so the past is not searched for it.
func (d *Desk) byClock(ctx context.Context, e rules.Entry, subject record.Subject, said record.Body,
	decide func(v record.View, now record.Time) ([]rules.Draft, error)) error {
	content, err := record.New(said)
	if err != nil {
		return fault.Wrap(err, fault.Internal, "This could not be written down.")
	}
	content.Subject, content.Seen = subject, d.ledger.Size()
	content.Happened.Said = record.Clock
	_, err = d.ledger.Append(ctx, ledger.Command{ID: e.ID, Content: &content,
		Decide: func(v record.View, now record.Time) ([]ledger.Draft, error) {
			drafts, err := decide(v, now)
			return forLedger(v, drafts), err
		}})
	return err
}

// tell fills in what was decided.
func (done *Done) tell(r *record.Record) {
	done.Nothing, done.Problem = r.Effect.Nothing, r.Effect.Joins
	if r.Effect.Opens > 0 {
		done.Problem = r.ID
	}
	if r.Subject.Type == record.Problem {
		done.Problem = r.Subject.ID
	}
}

func forLedger(v record.View, drafts []rules.Draft) []ledger.Draft {
	list := make([]ledger.Draft, 0, len(drafts))
	for _, dr := range drafts {
		out := ledger.Draft{Record: dr.Record}
		for _, t := range dr.Tell {
			out.Outbox = append(out.Outbox, addressees(v, dr.Record.Dept, t)...)
		}
		out.Outbox = append(out.Outbox, eventsOf(v, &out.Record)...)
		list = append(list, out)
	}
	return list
}
