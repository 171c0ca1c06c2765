package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// AnswersView answers, from the records as they stand, what surveyors ask. Code
// and Number name the sealer that was asked about; without one it is all.
type AnswersView struct {
	Frame
	Code     string           `json:"code,omitempty"`
	Number   string           `json:"number,omitempty"`
	Choose   []Ref            `json:"choose"` // sealers to ask about
	Plans    []PlanAnswer     `json:"plans"`
	Works    []WorksAnswer    `json:"works"`
	Failed   []FailedAnswer   `json:"failed"` // newest first
	Approved []ApprovedAnswer `json:"approved"`
	Kept     []KeptAnswer     `json:"kept"` // calibration and maintenance
	From     record.Date      `json:"from"` // of the days below
	To       record.Date      `json:"to"`
	Days     []SealerRecords  `json:"days"`
	Late     int              `json:"late"` // entries written down late in those days
	Training *TrainingView    `json:"training"`
}

// PlanAnswer is how sealers of a type are tested here.
type PlanAnswer struct {
	Type record.SealerType `json:"type"`
	record.Plan
}

// WorksAnswer is how it is known that a sealer works.
type WorksAnswer struct {
	SealerRow
	At     record.Time    `json:"at,omitzero"` // of the last good check, 0: none
	By     string         `json:"by,omitempty"`
	With   string         `json:"with,omitempty"` // pouch
	Tests  []record.Test  `json:"tests,omitempty"`
	Places []record.Place `json:"places,omitempty"`
	Kit    string         `json:"kit,omitempty"`
	seq    record.Seq
}

// FailedAnswer is a problem with its three endings.
type FailedAnswer struct {
	ProblemRef
	Sealer  string   `json:"sealer"`
	Finding string   `json:"finding,omitempty"`
	Action  string   `json:"action,omitempty"`
	Endings []Ending `json:"endings"`
}

// ApprovedAnswer is who approved a setting, and why.
type ApprovedAnswer struct {
	Sealer Ref     `json:"sealer"`
	Pouch  string  `json:"pouch"`
	Set    Setting `json:"setting"`
}

// KeptAnswer is a task of maintenance, when it was done last and when it is due.
type KeptAnswer struct {
	Sealer   Ref           `json:"sealer"`
	Task     string        `json:"task"` // its name
	Code     string        `json:"code"` // record.CalibrationTask for the calibration
	Standing rules.Dueness `json:"standing"`
	Due      record.Date   `json:"due"`
	Done     record.Date   `json:"done,omitzero"`
	By       string        `json:"by,omitempty"`
	// Against is the reference instrument of a calibration.
	Against *record.Instrument `json:"against,omitempty"`
	seq     record.Seq
}

const (
	answerDays  = 90
	answerFails = 12
)

// Answers answers a surveyor's questions about one sealer or about all of them.
func (d *Desk) Answers(who Caller, code string) (*AnswersView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &AnswersView{}
	var only record.ID
	if code != "" {
		s, err := d.sealerOf(who, code)
		if err != nil {
			return nil, err
		}
		only, view.Code, view.Number = s.ID, s.Code, s.Number
	}
	d.ledger.View(func(v record.View) { d.answer(v, who, only, view) })
	if err := d.howKnown(view); err != nil {
		return nil, err
	}
	if err := d.answerDays(who, view); err != nil {
		return nil, err
	}
	if view.Can("Training") {
		var err error
		if view.Training, err = d.Training(who); err != nil {
			return nil, err
		}
	}
	return view, nil
}

func (d *Desk) answer(v record.View, who Caller, only record.ID, view *AnswersView) {
	view.Frame = d.frame(v, who)
	types := map[record.SealerType]bool{}
	for _, s := range d.sealersOf(v, view.Dept) {
		view.Choose = append(view.Choose, Ref{Code: s.Code, Text: s.Number})
		if !only.IsZero() && s.ID != only {
			continue
		}
		types[s.Type] = true
		d.works(v, s, view)
		d.approved(v, s, view)
		d.kept(v, s, view)
	}
	for _, t := range sealerTypes {
		if types[t] {
			view.Plans = append(view.Plans, PlanAnswer{t, view.Dept.Plan(t)})
		}
	}
	d.failed(v, only, view)
}

func (d *Desk) works(v record.View, s *rules.Sealer, view *AnswersView) {
	a := WorksAnswer{SealerRow: sealerRow(v, s, rules.Standing(v, s, view.Now)), seq: record.None}
	for _, g := range s.Good {
		if g.Began >= a.At {
			a.At, a.By, a.seq = g.Began, d.name(v, g.By), g.Seq
			if p := rules.GetPouch(v, g.Pouch); p != nil {
				a.With = p.Name
			}
		}
	}
	view.Works = append(view.Works, a)
}

func (d *Desk) approved(v record.View, s *rules.Sealer, view *AnswersView) {
	for i := range s.Approvals {
		a, p := &s.Approvals[i], rules.GetPouch(v, s.Approvals[i].Pouch)
		if standing, _ := s.Approval(v, a.Pouch, view.Day); standing != nil && p != nil {
			view.Approved = append(view.Approved, ApprovedAnswer{Ref{Code: s.Code, Text: s.Number}, p.Name, *d.setting(v, a)})
		}
	}
}

func (d *Desk) kept(v record.View, s *rules.Sealer, view *AnswersView) {
	for _, t := range rules.Due(v, s, view.Day) {
		k := KeptAnswer{Sealer: Ref{Code: s.Code, Text: s.Number}, Task: t.Name, Code: t.Code, Standing: t.Standing, Due: t.Due, seq: record.None}
		if t.Last != nil && t.Last.Day != 0 {
			k.Done, k.By, k.seq = t.Last.Day, d.name(v, t.Last.By), t.Last.Seq
		}
		view.Kept = append(view.Kept, k)
	}
}

func (d *Desk) failed(v record.View, only record.ID, view *AnswersView) {
	all := problemsOf(v, view.Dept)
	slices.SortFunc(all, func(a, b *rules.Problem) int { return b.Number - a.Number })
	for _, p := range all {
		s := rules.GetSealer(v, p.Sealer)
		if !p.NeedsEngineering() || s == nil || !only.IsZero() && s.ID != only {
			continue
		}
		view.Failed = append(view.Failed, FailedAnswer{ProblemRef: *d.problemRef(v, p), Sealer: s.Number, Finding: p.Finding, Action: p.Action,
			Endings: d.endings(v, p)})
		if len(view.Failed) == answerFails {
			return
		}
	}
}

// endings are the three endings of a problem, apart, each with its name.
func (d *Desk) endings(v record.View, p *rules.Problem) []Ending {
	return []Ending{{"returned", p.Returned, d.name(v, p.ReturnedBy)},
		{"settled", p.SettledAt, d.name(v, p.SettledBy)}, {"closed", p.Closed, d.name(v, p.ClosedBy)}}
}

// howKnown reads what the last good checks tested, and what calibrations were
// made against.
func (d *Desk) howKnown(view *AnswersView) error {
	for i := range view.Works {
		w := &view.Works[i]
		body, err := d.contentOf(w.seq)
		if err != nil {
			return err
		}
		if b, ok := body.(*record.Check); ok {
			w.Tests, w.Places, w.Kit = b.Tests, b.Places, b.Kit
		}
	}
	for i := range view.Kept {
		k := &view.Kept[i]
		if k.Code != record.CalibrationTask {
			continue
		}
		body, err := d.contentOf(k.seq)
		if err != nil {
			return err
		}
		if b, ok := body.(*record.Calibrated); ok {
			k.Against = &b.Instrument
		}
	}
	return nil
}

// contentOf reads what a record says; nil for None.
func (d *Desk) contentOf(seq record.Seq) (record.Body, error) {
	if seq == record.None {
		return nil, nil
	}
	r, err := d.ledger.Read(seq)
	if err != nil {
		return nil, err
	}
	return r.Content()
}

func (d *Desk) answerDays(who Caller, view *AnswersView) error {
	days, err := d.Records(who, PeriodIn{From: view.Day - answerDays + 1, To: view.Day})
	if err != nil {
		return err
	}
	view.From, view.To = days.From, days.To
	for _, s := range days.Sealers {
		if view.Code == "" || s.Code == view.Code {
			view.Days = append(view.Days, s)
		}
	}
	for _, l := range days.Late {
		if view.Number == "" || l.Sealer == view.Number {
			view.Late++
		}
	}
	return nil
}
