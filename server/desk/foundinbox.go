package desk

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// FoundInboxView lists the reports of bad packs found elsewhere that wait, the
// oldest first.
type FoundInboxView struct {
	Frame
	Reports []FoundRow `json:"reports"`
	Poster  bool       `json:"poster"` // there is one to write from
}

// FoundRow is a report in short.
type FoundRow struct {
	Report   record.ID    `json:"report"`
	At       record.Time  `json:"at"`
	Kind     record.Fault `json:"kind"`
	Whose    string       `json:"whose,omitempty"`
	Number   string       `json:"number,omitempty"`
	SealedOn record.Date  `json:"sealed_on,omitzero"`
	Where    string       `json:"where,omitempty"`
	Used     string       `json:"used,omitempty"`
	TakenBy  string       `json:"taken_by,omitempty"`
	TakenAt  record.Time  `json:"taken_at,omitzero"`
	Mine     bool         `json:"mine,omitempty"` // the caller has it
}

// FoundReportView is one report, and what the numbers on the pack lead to. What a
// stranger wrote is not believed: it only fills a form in.
type FoundReportView struct {
	Frame
	FoundRow
	Load     string     `json:"load,omitempty"`
	Initials string     `json:"initials,omitempty"`
	Reach    string     `json:"reach,omitempty"`
	Note     string     `json:"note,omitempty"`
	Photo    bool       `json:"photo"`
	Proposed []Proposal `json:"proposed"` // sealers that had the number then
	Sealers  []Ref      `json:"sealers"`  // all of the department, retired ones too
	Pouches  []Ref      `json:"pouches"`
	MayPass  bool       `json:"may_pass"` // the caller may take it over
}

// Proposal is a sealer that had the number on the pack when it was sealed.
type Proposal struct {
	Ref
	Dept string `json:"department"`
	Here bool   `json:"here"`          // in the caller's department
	Now  string `json:"now,omitempty"` // its number now, if it is another one
}

// foundItem is a report of the inbox, read.
type foundItem struct {
	foundReport
	Report people.Report
}

// foundIn reads the reports of bad packs in a department's inbox; entries of
// phones lie there, too.
func (d *Desk) foundIn(dept record.ID) (list []foundItem, err error) {
	reports, err := d.people.Reports(dept)
	for _, r := range reports {
		var body foundBody
		if json.Unmarshal(r.Body, &body) == nil && body.Found != nil {
			list = append(list, foundItem{*body.Found, r})
		}
	}
	return list, err
}

// FoundInbox draws the inbox of the caller's department.
func (d *Desk) FoundInbox(who Caller) (*FoundInboxView, error) {
	if _, err := d.may(who, "TakeFound"); err != nil {
		return nil, err
	}
	items, err := d.foundIn(who.Dept)
	if err != nil {
		return nil, err
	}
	view := &FoundInboxView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Poster = view.Dept.FoundCode != ""
		for _, it := range items {
			view.Reports = append(view.Reports, d.foundRow(v, who, it))
		}
	})
	return view, nil
}

// foundUntaken counts the reports that nobody has taken yet.
func (d *Desk) foundUntaken(dept record.ID) (n int, err error) {
	items, err := d.foundIn(dept)
	for _, it := range items {
		if it.Report.TakenAt.IsZero() {
			n++
		}
	}
	return n, err
}

func (d *Desk) foundRow(v record.View, who Caller, it foundItem) FoundRow {
	row := FoundRow{Report: it.Report.ID, At: record.TimeOf(it.Report.At), Kind: it.Kind, Whose: it.Whose,
		Number: it.Number, Where: it.Where, Used: it.Used}
	row.SealedOn, _ = record.ParseDate(it.SealedOn)
	if !it.Report.TakenAt.IsZero() {
		row.TakenBy, row.TakenAt = d.name(v, it.Report.TakenBy), record.TimeOf(it.Report.TakenAt)
		row.Mine = record.ID(it.Report.TakenBy) == who.Person
	}
	return row
}

// FoundReport draws one report of the inbox.
func (d *Desk) FoundReport(who Caller, report record.ID) (*FoundReportView, error) {
	person, err := d.may(who, "TakeFound")
	if err != nil {
		return nil, err
	}
	it, err := d.foundItem(who, report)
	if err != nil {
		return nil, err
	}
	view := &FoundReportView{Load: it.Load, Initials: it.Initials, Reach: it.Reach, Note: it.Note, Photo: it.Photo != nil}
	d.ledger.View(func(v record.View) {
		view.Frame, view.FoundRow = d.frame(v, who), d.foundRow(v, who, it)
		view.Proposed = d.proposals(v, view)
		for _, id := range view.Dept.Sealers {
			if s := rules.GetSealer(v, id); s != nil {
				view.Sealers = append(view.Sealers, Ref{ID: s.ID, Code: s.Code, Text: s.Number})
			}
		}
		for _, id := range view.Dept.Pouches {
			if p := rules.GetPouch(v, id); p != nil {
				view.Pouches = append(view.Pouches, Ref{ID: p.ID, Text: p.Name})
			}
		}
	})
	view.MayPass = !view.Mine && view.TakenAt != 0 && person.Has(record.Lead)
	return view, nil
}

// proposals are the sealers that had the number on the pack on its date; without
// a date, at any time.
func (d *Desk) proposals(v record.View, view *FoundReportView) (list []Proposal) {
	number := strings.ToUpper(strings.TrimSpace(view.Number))
	if number == "" {
		return nil
	}
	span := record.Span{From: 0, To: view.Now}
	if view.SealedOn != 0 {
		span = wholeDay(view.Dept, view.SealedOn)
	}
	for _, s := range rules.SealersNumbered(v, number, span) {
		p := Proposal{Ref: Ref{ID: s.ID, Code: s.Code, Text: number}, Here: s.Dept == view.Dept.ID}
		if dept := rules.GetDepartment(v, s.Dept); dept != nil {
			p.Dept = dept.Name
		}
		if s.Number != number {
			p.Now = s.Number
		}
		list = append(list, p)
	}
	return list
}

// wholeDay is a calendar day of the department.
func wholeDay(dept *rules.Department, day record.Date) record.Span {
	zone := rules.Zone(dept.Zone)
	return record.Span{From: rules.Begin(zone, 0, day), To: rules.Begin(zone, 0, day+1).Add(-time.Millisecond),
		Said: record.Typed}
}

func (d *Desk) foundItem(who Caller, report record.ID) (foundItem, error) {
	items, err := d.foundIn(who.Dept)
	if err != nil {
		return foundItem{}, err
	}
	for _, it := range items {
		if it.Report.ID == report {
			return it, nil
		}
	}
	return foundItem{}, fault.New(fault.Gone, "This report is no longer in the inbox: somebody has seen to it.")
}

// FoundPhotograph returns the photograph of a report.
func (d *Desk) FoundPhotograph(who Caller, report record.ID) ([]byte, error) {
	if _, err := d.may(who, "TakeFound"); err != nil {
		return nil, err
	}
	it, err := d.foundItem(who, report)
	if err != nil {
		return nil, err
	}
	if it.Photo == nil {
		return nil, fault.New(fault.Unknown, "There is no photograph with this report.")
	}
	return d.photos.Read(it.Photo.SHA256)
}

// TakeFoundIn takes a report in hand. Over takes it from somebody else: a lead's
// word, as when a shift has ended.
type TakeFoundIn struct {
	Report record.ID `param:"report" json:"-"`
	Over   bool      `form:"over" json:"over,omitempty"`
}

// TakeFound takes a report in hand; of two who do, the second is told who was
// first.
func (d *Desk) TakeFound(_ context.Context, who Caller, in TakeFoundIn) (Done, error) {
	person, err := d.may(who, "TakeFound")
	if err != nil {
		return Done{}, err
	}
	if _, err := d.foundItem(who, in.Report); err != nil {
		return Done{}, err
	}
	if in.Over && person.Has(record.Lead) {
		err = d.people.PassReport(in.Report, who.Person, d.clock())
	} else {
		_, err = d.people.TakeReport(in.Report, who.Person, d.clock())
	}
	if err == nil {
		d.bell.ring()
	}
	return Done{Subject: in.Report}, d.whoTook(err)
}

// whoTook names whoever was first.
func (d *Desk) whoTook(err error) error {
	var by record.ID
	var at record.Time
	name := ""
	var report *people.TakenError
	var problem *rules.TakenError
	switch {
	case errors.As(err, &report):
		by, at = report.By, record.TimeOf(report.At)
	case errors.As(err, &problem):
		by, at = problem.By, problem.At
		d.ledger.View(func(v record.View) { name = d.seenBy(v, problem.SeenBy) })
	default:
		return err
	}
	var dept *rules.Department
	d.ledger.View(func(v record.View) {
		if p := rules.GetPerson(v, by); p != nil {
			dept = rules.GetDepartment(v, p.Dept)
			if name == "" {
				name = d.reveal(p.Name)
			}
		}
	})
	if dept == nil {
		return err
	}
	return fault.Wrap(err, fault.Stale, "%s has it since %s. Look at it again before you go on.", name, clockText(dept, at, d.now()))
}

// RecordFoundIn puts a report on record as a bad seal of a sealer: what the form
// was filled in with, or as whoever took it has put it right.
type RecordFoundIn struct {
	Report record.ID `param:"report" json:"-"`
	Sealer string    `form:"sealer" json:"sealer"` // code of its label
	BadSealIn
}

// RecordFound records a report that the caller has taken. What follows is decided
// as for any bad seal; it leaves the inbox.
func (d *Desk) RecordFound(ctx context.Context, who Caller, in RecordFoundIn) (Done, error) {
	if _, err := d.may(who, "RecordFound"); err != nil {
		return Done{}, err
	}
	it, err := d.foundItem(who, in.Report)
	if err != nil {
		return d.seenTo(in.ID, record.ID{}, err)
	}
	if in.Sealer == "" {
		return Done{}, fault.Field("sealer", "Choose the sealer, or say that it is not ours.")
	}
	if _, err := d.people.TakeReport(in.Report, who.Person, d.clock()); err != nil {
		return Done{}, d.whoTook(err)
	}
	in.Code, in.Cause = in.Sealer, "found-elsewhere"
	in.Note = strings.TrimSpace(in.Note + "\n" + it.words())
	done, err := d.ReportBadSeal(ctx, who, in.BadSealIn)
	if err != nil {
		return done, err
	}
	if err := d.foundPhotoTo(ctx, who, it, done); err != nil {
		return done, err
	}
	d.bell.ring()
	return done, d.people.FinishReport(in.Report)
}

// seenTo answers for a report that has left the inbox: with the receipt, if this
// very form was sent before, else with gone.
func (d *Desk) seenTo(form, subject record.ID, gone error) (Done, error) {
	done, known, err := d.recordedBefore(form)
	if !known && err == nil {
		err = gone
	}
	done.Subject = subject
	return done, err
}

// recordedBefore finds what a report became when it was sent before.
func (d *Desk) recordedBefore(id record.ID) (Done, bool, error) {
	r, found, err := d.ledger.Find(id)
	if err != nil || !found {
		return Done{}, false, err
	}
	done := Done{ID: id, Seq: r.Seq, Count: 1, At: r.At.String(), Repeat: true, Size: d.ledger.Size()}
	return done, true, d.tellEffect(&done)
}

// foundPhotoTo hangs the photograph of a report on the record that was made of it.
func (d *Desk) foundPhotoTo(ctx context.Context, who Caller, it foundItem, done Done) error {
	if it.Photo == nil {
		return nil
	}
	of, err := d.ledger.Read(done.Seq)
	if err != nil {
		return err
	}
	p := *it.Photo
	p.Of = of.ID
	_, err = d.attach(ctx, who, From{ID: of.ID.Derive("photograph"), Seen: d.ledger.Size()}, of, &p)
	return err
}

// words are what the finder wrote, for the note of the record: private, erasable.
func (it *foundItem) words() string {
	lines := []string{"Found elsewhere, as its finder wrote:"}
	for _, l := range []struct{ term, text string }{{"sealer", it.Number}, {"date", it.SealedOn}, {"load", it.Load},
		{"initials", it.Initials}, {"where", it.Where}, {"used", it.Used}, {"reach", it.Reach}, {"note", it.Note}} {
		if l.text != "" {
			lines = append(lines, l.term+" "+l.text)
		}
	}
	text := strings.Join(lines, "; ")
	return text[:min(len(text), maxText/2)]
}

// NotOursIn ends a report that is not about a sealer of the department.
type NotOursIn struct {
	From
	Report record.ID `param:"report" json:"-"`
	Why    string    `form:"why" json:"why"`
}

// NotOurs records that a report is not about a sealer here, and why.
func (d *Desk) NotOurs(ctx context.Context, who Caller, in NotOursIn) (Done, error) {
	if _, err := d.may(who, "NotOurs"); err != nil {
		return Done{}, err
	}
	if _, err := d.foundItem(who, in.Report); err != nil {
		return d.seenTo(in.ID, who.Dept, err)
	}
	if _, err := d.people.TakeReport(in.Report, who.Person, d.clock()); err != nil {
		return Done{}, d.whoTook(err)
	}
	done, err := d.facts(ctx, who, "NotOurs", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.NotOurs{Report: in.Report, Why: strings.TrimSpace(in.Why)}, nil)
	if err != nil {
		return done, err
	}
	d.bell.ring()
	return done, d.people.FinishReport(in.Report)
}
