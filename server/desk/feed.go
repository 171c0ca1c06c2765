package desk

import (
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// FeedIn asks for records after one, at most Limit of them; from the first on
// without After.
type FeedIn struct {
	After *record.Seq `query:"after"`
	Limit int         `query:"limit"`
}

// How many records a page of the feed has, and how many are looked at for it.
const (
	feedLimit = 100
	feedMost  = 1000
	feedScan  = 20_000
)

// FeedView is a page of everything that was recorded, in order. The next page is
// asked for with Next as after: no record is left out between two pages and none
// comes twice, also while others are written.
type FeedView struct {
	Size    int64        `json:"size"` // of the ledger
	Records []FeedRecord `json:"records"`
	Next    record.Seq   `json:"next"` // None as long as there is nothing
	More    bool         `json:"more"` // there are more already
}

// FeedRecord is a record for other programs: ids, and the names behind them.
// Photographs are named, not sent.
type FeedRecord struct {
	Line
	V          int               `json:"v"`
	Of         record.ID         `json:"of,omitzero"`
	Day        record.Date       `json:"day,omitzero"`
	Covers     record.Date       `json:"covers,omitzero"`
	Subject    record.Subject    `json:"subject"`
	Sealer     string            `json:"sealer,omitempty"` // number, of what is about a sealer
	By         record.ID         `json:"by,omitzero"`
	OnBehalfOf record.ID         `json:"on_behalf_of,omitzero"`
	Via        record.Via        `json:"via"`
	TimeSaid   record.Source     `json:"time_said"`
	Corrects   record.Seq        `json:"corrects"` // None if it corrects none
	RestsOn    []record.Seq      `json:"rests_on,omitempty"`
	Readiness  *record.Readiness `json:"readiness"` // where it left the sealer
	Problem    record.ID         `json:"problem,omitzero"`
	Nothing    string            `json:"gave_nothing,omitempty"`
}

// Feed lists what was recorded in the caller's department, as far as they may
// see it.
func (d *Desk) Feed(who Caller, in FeedIn) (*FeedView, error) {
	person, err := d.may(who, "Look")
	if err != nil {
		return nil, err
	}
	if in.Limit == 0 {
		in.Limit = feedLimit
	}
	if in.Limit < 1 || in.Limit > feedMost {
		return nil, fault.Field("limit", "Ask for 1 to %d records.", feedMost)
	}
	from := record.Seq(0)
	if in.After != nil {
		from = max(0, *in.After+1)
	}
	view := &FeedView{Size: d.ledger.Size(), Records: []FeedRecord{}, Next: from - 1}
	if from > record.Seq(view.Size) {
		return nil, fault.Field("after", "There is no record %d yet.", from-1)
	}
	err = d.ledger.Range(from, min(from+feedScan, record.Seq(view.Size)), func(r record.Record) error {
		if len(view.Records) == in.Limit {
			return errFeedFull
		}
		view.Next = r.Seq
		if feeds(person, &r) {
			return d.feed(view, &r)
		}
		return nil
	})
	if err != nil && err != errFeedFull {
		return nil, err
	}
	view.More = int64(view.Next)+1 < view.Size
	return view, nil
}

var errFeedFull = fault.New(fault.Internal, "The page is full.") // never shown

// feeds reports whether a record is for a person to see: those of their
// department, and what concerns all; people and devices only for those who see
// to them or make record packs.
func feeds(p *rules.Person, r *record.Record) bool {
	if r.Dept != p.Dept && !r.Dept.IsZero() {
		return false
	}
	kind := string(r.Kind)
	if r.Subject.Type == record.Person || strings.HasPrefix(kind, "device-") || strings.HasPrefix(kind, "webhook-") {
		return p.Has(uses["ManagePeople"]...) || p.Has(uses["RecordPack"]...)
	}
	return true
}

func (d *Desk) feed(view *FeedView, r *record.Record) error {
	body, err := r.Content()
	if err != nil {
		return err
	}
	f := FeedRecord{V: r.V, Of: r.Of, Day: r.Day, Covers: r.Covers, Subject: r.Subject, By: r.By, OnBehalfOf: r.OnBehalfOf, Via: r.Via,
		TimeSaid: r.Happened.Said, Corrects: r.Corrects, RestsOn: r.RestsOn, Readiness: r.Effect.Readiness, Nothing: r.Effect.Nothing}
	d.ledger.View(func(v record.View) {
		f.Line = d.line(v, r, body)
		f.Sealer = sealerNumber(v, r)
		f.Problem = problemIn(r)
	})
	view.Records = append(view.Records, f)
	return nil
}

// problemIn is the problem that a record belongs to.
func problemIn(r *record.Record) record.ID {
	switch {
	case r.Subject.Type == record.Problem:
		return r.Subject.ID
	case r.Effect.Opens > 0:
		return r.ID
	}
	return r.Effect.Joins
}

// sealerNumber is the number of the sealer that a record is about.
func sealerNumber(v record.View, r *record.Record) string {
	id := r.Effect.Sealer
	switch r.Subject.Type {
	case record.Sealer:
		id = r.Subject.ID
	case record.Problem:
		if p := rules.GetProblem(v, r.Subject.ID); p != nil {
			id = p.Sealer
		}
	}
	if s := rules.GetSealer(v, id); s != nil {
		return s.Number
	}
	return ""
}
