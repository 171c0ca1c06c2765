package desk

import (
	"context"
	"encoding/json"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Codes of why an entry of a phone waits for a lead.
const (
	WaitsUnconfirmed = "unconfirmed" // nobody knows for sure who made it
	WaitsDevice      = "device"      // the device was shut out before it arrived
	WaitsLeft        = "left"        // its person was not here any more
	WaitsForbidden   = "forbidden"   // its person may not do that
	WaitsHanded      = "handed"      // given to a lead on the phone
)

// leftOut derives the id of the record that says an entry was left out.
const leftOut = "left-out"

// WaitingView lists what phones sent that a lead has to take or leave out, the
// oldest first.
type WaitingView struct {
	Frame
	Entries []WaitingEntry `json:"entries"`
	Missing []Missing      `json:"missing,omitempty"`
}

// WaitingEntry is one of them. Who is a name that nobody has confirmed.
type WaitingEntry struct {
	Kept
	Report   record.ID   `json:"report"`
	Who      string      `json:"who,omitempty"`
	Why      string      `json:"why"`
	Happened record.Time `json:"happened"`
	Doubtful bool        `json:"doubtful,omitempty"` // the phone's clock made no sense
	Arrived  record.Time `json:"arrived"`
}

// inboxItem is a waiting entry with the report that holds it.
type inboxItem struct {
	waiting
	people.Report
}

// Waiting lists the entries that wait in the caller's department.
func (d *Desk) Waiting(who Caller) (*WaitingView, error) {
	if _, err := d.may(who, "AcceptKept"); err != nil {
		return nil, err
	}
	items, err := d.waitingIn(who.Dept)
	if err != nil {
		return nil, err
	}
	view := &WaitingView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, it := range items {
			view.Entries = append(view.Entries, d.waitingEntry(v, it))
		}
	})
	view.Missing, err = d.missing(&view.Frame, who)
	return view, err
}

func (d *Desk) waitingEntry(v record.View, it inboxItem) WaitingEntry {
	e := WaitingEntry{Kept: it.Kept, Report: it.Report.ID, Who: it.Kept.Says, Why: it.Why, Arrived: record.TimeOf(it.At)}
	if e.Who == "" {
		e.Who = d.name(v, it.Person)
	}
	span := queuedSpan(From{Made: e.Made, Sent: e.Sent}, e.Arrived, d.senderOf(it))
	e.Happened, e.Doubtful = span.To, span.Said == record.Doubtful
	return e
}

func (d *Desk) senderOf(it inboxItem) *sender {
	t, _ := d.openTicket(it.Kept.Ticket)
	return &sender{issued: t.issued, size: t.size, arrived: record.TimeOf(it.At), says: it.Kept.Says}
}

// waitingIn reads the inbox. Reports of another kind lie there, too.
func (d *Desk) waitingIn(dept record.ID) (list []inboxItem, err error) {
	reports, err := d.people.Reports(dept)
	for _, r := range reports {
		var w waiting
		if json.Unmarshal(r.Body, &w) == nil && w.Kept.V > 0 {
			list = append(list, inboxItem{w, r})
		}
	}
	return list, err
}

// AcceptKept lets a lead take an entry: it is written down as theirs, for the
// person who is said to have made it, and is worth what a fact of that time is.
// do carries it out.
func (d *Desk) AcceptKept(ctx context.Context, who Caller, report record.ID, do func(context.Context, Caller, Kept) (Done, error)) (Done, error) {
	it, err := d.takeKept(who, "AcceptKept", report)
	if err != nil {
		return Done{}, err
	}
	who.Queued, who.sender = true, d.senderOf(it)
	who.sender.onBehalfOf = it.Person
	done, err := do(ctx, who, it.Kept)
	if err != nil {
		return done, err
	}
	return done, d.people.FinishReport(report)
}

// LeaveOutIn leaves an entry out.
type LeaveOutIn struct {
	Report record.ID `param:"report" json:"-"`
	Reason string    `form:"reason" json:"reason"`
}

// LeaveOutKept records that a lead did not take an entry, and why.
func (d *Desk) LeaveOutKept(ctx context.Context, who Caller, in LeaveOutIn) (Done, error) {
	it, err := d.takeKept(who, "LeaveOutKept", in.Report)
	if err != nil {
		return Done{}, err
	}
	if in.Reason == "" {
		return Done{}, fault.Field("reason", "Give the reason: it stays with your name.")
	}
	from := From{ID: it.Kept.ID.Derive(leftOut), Seen: d.ledger.Size(),
		Note: "Left out: " + it.Kept.To + " " + it.Kept.Form + ". " + in.Reason}
	e, err := d.entry(who, from)
	if err != nil {
		return Done{}, err
	}
	subject := record.Subject{Type: record.Department, ID: who.Dept}
	note := &record.Note{}
	done, err := d.write(ctx, who, from, e, subject, note, func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
		return rules.Attach(v, e, subject, who.Dept, note, now)
	})
	if err != nil {
		return done, err
	}
	return done, d.people.FinishReport(in.Report)
}

func (d *Desk) takeKept(who Caller, what use, report record.ID) (inboxItem, error) {
	if _, err := d.may(who, what); err != nil {
		return inboxItem{}, err
	}
	items, err := d.waitingIn(who.Dept)
	if err != nil {
		return inboxItem{}, err
	}
	for _, it := range items {
		if it.Report.ID == report {
			_, err := d.people.TakeReport(report, who.Person, d.clock())
			return it, err
		}
	}
	return inboxItem{}, fault.New(fault.Gone, "Somebody has seen to this entry already.")
}
