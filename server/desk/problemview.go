package desk

import (
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// ProblemView is a problem from "something is wrong" to its three endings.
type ProblemView struct {
	Frame
	Problem     rules.Problem      `json:"problem"`
	Ref         ProblemRef         `json:"ref"`
	SealerRow   *SealerRow         `json:"sealer_row"`
	Facts       record.SealerFacts `json:"sealer_facts"`
	PouchName   string             `json:"pouch_name,omitempty"`
	Setting     *Setting           `json:"setting"`               // approved for the pouch
	Engineering string             `json:"engineering,omitempty"` // the department's word for it
	HoldList    HoldView           `json:"hold_list"`
	Endings     []Ending           `json:"endings"` // the three, each apart
	Lines       []Line             `json:"lines"`   // newest first
	Instead     []Ref              `json:"instead"`
	Again       []ProblemRef       `json:"again"`                 // earlier problems of this sealer at the same place
	Mailed      []string           `json:"mailed,omitempty"`      // who gets a mail of it
	Mends       []HeldRow          `json:"mends,omitempty"`       // for lead and engineering: what came after each repair
	AssessedBy  string             `json:"assessed_by,omitempty"` // the first name under an assessment in bulk
	Calibration record.Seq         `json:"calibration"`           // that opened it, None
	FixedAt     record.Time        `json:"fixed_at,omitzero"`     // of the first-line fix for whose sake it is engineering's alone
	Engineers   []Ref              `json:"engineers,omitempty"`   // for whom a lead may speak
	Following
}

// Ending is one of a problem's three endings: the sealer is back, the packs are
// settled, the problem is closed. At is 0 as long as it has not come.
type Ending struct {
	What string      `json:"what"` // returned | settled | closed
	At   record.Time `json:"at,omitzero"`
	By   string      `json:"by,omitempty"`
}

// Line is a record in a history, names revealed.
type Line struct {
	Seq           record.Seq    `json:"seq"`
	ID            record.ID     `json:"id"`
	Kind          record.Kind   `json:"kind"`
	At            record.Time   `json:"at"`
	From          record.Time   `json:"from"`
	To            record.Time   `json:"to"`
	Late          bool          `json:"late,omitempty"`
	Who           string        `json:"who,omitempty"`
	For           string        `json:"for,omitempty"`
	Whom          string        `json:"whom,omitempty"` // who was told
	Note          string        `json:"note,omitempty"`
	Cause         string        `json:"cause,omitempty"`
	Pouch         string        `json:"pouch,omitempty"` // the name of the pouch that Body names
	Task          string        `json:"task,omitempty"`  // the name of the task that Body names
	Body          record.Body   `json:"body"`
	Effect        record.Effect `json:"-"`
	Photos        []record.ID   `json:"photos,omitempty"`
	PhotosRemoved []record.Date `json:"photos_removed,omitempty"` // on which day each was removed for good
	Of            *record.Seq   `json:"of,omitempty"`             // the entry that it corrects
	// Amended is what became of it since, if anything did.
	Amended *Amended `json:"amended,omitempty"`
	// Page reports whether it has a page of its own, on which it can be corrected.
	Page bool `json:"page,omitempty"`
}

// Problem draws a problem.
func (d *Desk) Problem(who Caller, id record.ID) (*ProblemView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	p, err := d.problemOf(who, id)
	if err != nil {
		return nil, err
	}
	view := &ProblemView{Problem: *p}
	d.ledger.View(func(v record.View) { d.problemFacts(v, who, p, view) })
	hold, err := d.told(&view.Ref, p)
	if err != nil {
		return nil, err
	}
	d.ledger.View(func(v record.View) { view.HoldList = d.holdView(v, p, hold, view.Facts.Number) })
	if view.Lines, err = d.linesOf(p); err != nil {
		return nil, err
	}
	view.HoldList.findPlaces(p, view.Lines)
	if view.Calibration, err = d.calibrationOf(p); err != nil {
		return nil, err
	}
	view.Mends, err = d.heldOfProblem(&view.Frame, p)
	return view, err
}

func (d *Desk) problemFacts(v record.View, who Caller, p *rules.Problem, view *ProblemView) {
	view.Frame, view.Ref = d.frame(v, who), *d.problemRef(v, p)
	view.Engineering = view.Dept.Engineering
	view.Engineers, view.Mailed = d.engineers(v, view.Dept)
	view.Calls, view.Watched = d.calls(v, &view.Frame, p), watchedAt(v, p.Sealer, p)
	view.Problem.OnlyCE = rules.OnlyEngineering(v, p)
	if fix := rules.LastFix(v, p); fix != nil && !p.OnlyCE {
		view.FixedAt = fix.At
	}
	if p.Taken != nil {
		view.Taken, view.TakenAt = d.seenBy(v, p.Taken.SeenBy), p.Taken.At
	}
	view.Endings = d.endings(v, p)
	if pouch := rules.GetPouch(v, p.Pouch); pouch != nil {
		view.PouchName = pouch.Name
	}
	if p.Assessed != nil {
		view.AssessedBy = d.name(v, p.Assessed.By)
	}
	s := rules.GetSealer(v, p.Sealer)
	if s == nil {
		return
	}
	row := sealerRow(v, s, rules.Standing(v, s, view.Now))
	view.SealerRow, view.Facts = &row, s.SealerFacts
	if a, _ := s.Approval(v, p.Pouch, view.Day); a != nil {
		view.Setting = d.setting(v, a)
	}
	for _, o := range d.sealersOf(v, view.Dept) {
		if o.ID != s.ID && rules.MaySeal(v, o, p.Pouch, view.Now) {
			view.Instead = append(view.Instead, Ref{Code: o.Code, Text: o.Number})
		}
	}
	for _, other := range s.Problems {
		o := rules.GetProblem(v, other)
		if o != nil && rules.SamePlaceAgain(p, o) {
			view.Again = append(view.Again, *d.problemRef(v, o))
		}
	}
}

// linesOf reads a problem's records: its own chain, the record that opened it
// and those that joined it.
func (d *Desk) linesOf(p *rules.Problem) ([]Line, error) {
	var records []record.Record
	for r, err := range d.ledger.Chain(record.Subject{Type: record.Problem, ID: p.ID}) {
		if err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	for _, seq := range append(slices.Clone(p.Joined), p.Opened) {
		r, err := d.ledger.Read(seq)
		if err != nil {
			return nil, err
		}
		records = append(records, r)
	}
	slices.SortFunc(records, func(a, b record.Record) int { return int(b.Seq - a.Seq) })
	return d.lines(records), nil
}

// lines reveals records, newest first, and hangs photographs on what they
// belong to, if that is among them.
func (d *Desk) lines(records []record.Record) []Line {
	photos, here := map[record.ID][]record.ID{}, map[record.ID]bool{}
	for i := range records {
		here[records[i].ID] = true
	}
	removed := map[record.ID][]record.Date{}
	var list []Line
	d.ledger.View(func(v record.View) {
		for i := range records {
			r := &records[i]
			body, err := r.Content()
			if err != nil {
				continue
			}
			if p, ok := body.(*record.Photograph); ok {
				if on, gone := rules.GetSite(v).Removed(r.Seq); gone {
					removed[p.Of] = append(removed[p.Of], on)
					continue
				}
				if here[p.Of] {
					photos[p.Of] = append(photos[p.Of], r.ID)
					continue
				}
				photos[r.ID] = []record.ID{r.ID}
			}
			list = append(list, d.line(v, r, body))
		}
	})
	for i := range list {
		list[i].Photos, list[i].PhotosRemoved = photos[list[i].ID], removed[list[i].ID]
	}
	if err := d.amendLines(records, list); err != nil {
		d.log.Error("read corrections", "error", err) // the originals stand
	}
	return list
}

func (d *Desk) line(v record.View, r *record.Record, body record.Body) Line {
	l := Line{Seq: r.Seq, ID: r.ID, Kind: r.Kind, At: r.At, From: r.Happened.From, To: r.Happened.To, Late: r.Late,
		Who: d.name(v, r.By), Note: d.reveal(r.Sealed["note"]), Cause: r.Cause, Body: body, Effect: r.Effect, Page: rules.Correctable(r)}
	if r.Corrects != record.None {
		of := r.Original()
		l.Of = &of
	}
	if !r.OnBehalfOf.IsZero() {
		l.For = d.name(v, r.OnBehalfOf)
	}
	if b, ok := body.(*record.Called); ok {
		l.Whom = d.name(v, b.To)
	}
	if p := rules.GetPouch(v, pouchIn(body)); p != nil {
		l.Pouch = p.Name
	}
	l.Task = taskName(v, r, body)
	if r.Via == record.ViaLink {
		l.Who = "by link, says " + d.reveal(r.Sealed["name"])
	}
	return l
}

// pouchIn is the pouch that a record of a sealer speaks of.
func pouchIn(body record.Body) record.ID {
	switch b := body.(type) {
	case *record.Check:
		return b.Pouch
	case *record.CheckAccepted:
		return b.Pouch
	case *record.Changeover:
		return b.Pouch
	case *record.BadSeal:
		return b.Pouch
	case *record.Packs:
		return b.Pouch
	case *record.ApprovalGiven:
		return b.Pouch
	case *record.ApprovalEnded:
		return b.Pouch
	case *record.ApprovalQuestioned:
		return b.Pouch
	case *record.LadderTrial:
		return b.Pouch
	case *record.StrengthTested:
		return b.Pouch
	case *record.WidthMeasured:
		return b.Pouch
	case *record.AfterSterilizing:
		return b.Pouch
	case *record.FoundJudged:
		return b.Pouch
	}
	return record.ID{}
}

// HistoryView is a sealer's records, newest first.
type HistoryView struct {
	Frame
	Code   string     `json:"code"`
	Number string     `json:"number"`
	Lines  []Line     `json:"lines"`
	Older  record.Seq `json:"older"` // where the next page begins, None at the end
}

// historyPage is how many records stand on a page.
const historyPage = 40

// History draws a page of a sealer's records that are older than before; a
// negative before begins with the newest.
func (d *Desk) History(who Caller, code string, before record.Seq) (*HistoryView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &HistoryView{Code: s.Code, Number: s.Number, Older: record.None}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	seq, count := d.ledger.Head(sealerSubject(s)), 0
	if before >= 0 {
		seq = before
	}
	var records []record.Record
	for seq != record.None {
		r, err := d.ledger.Read(seq)
		if err != nil {
			return nil, err
		}
		if r.Subject != sealerSubject(s) {
			return nil, fault.New(fault.Unknown, "There is no such page.")
		}
		if count == historyPage {
			view.Older = seq
			break
		}
		records, seq, count = append(records, r), r.Prev, count+1
	}
	view.Lines = d.lines(records)
	return view, nil
}
