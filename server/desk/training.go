package desk

import (
	"context"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// TrainedIn signs a person off. Who showed or assessed it is somebody of the
// department, or a name that is typed.
type TrainedIn struct {
	From
	Person       record.ID           `param:"person" json:"-"`
	Types        []record.SealerType `form:"types" json:"types"`
	For          []record.Skill      `form:"for" json:"for"`
	ShownBy      record.ID           `form:"shown_by" json:"shown_by,omitzero"`
	ShownByName  string              `form:"shown_by_name" json:"shown_by_name,omitempty"`
	AssessedBy   record.ID           `form:"assessed_by" json:"assessed_by,omitzero"`
	AssessedName string              `form:"assessed_by_name" json:"assessed_by_name,omitempty"`
	On           record.Date         `form:"on" json:"on"`
	DueAgain     record.Date         `form:"due_again" json:"due_again,omitzero"`
}

// SignOff records that a person was shown and assessed, and for what.
func (d *Desk) SignOff(ctx context.Context, who Caller, in TrainedIn) (Done, error) {
	if err := d.colleague(who, in.Person); err != nil {
		return Done{}, err
	}
	b := record.Trained{Types: in.Types, For: in.For, ShownBy: in.ShownBy, AssessedBy: in.AssessedBy, On: in.On, DueAgain: in.DueAgain}
	names := map[string]string{}
	if b.ShownBy.IsZero() {
		names["shown_by"] = in.ShownByName
	}
	if b.AssessedBy.IsZero() {
		names["assessed_by"] = in.AssessedName
		if strings.TrimSpace(in.AssessedName) == "" {
			return Done{}, fault.Field("assessed_by", "Say who assessed it: choose a colleague, or type a name.")
		}
	}
	return d.facts(ctx, who, "SignOff", in.From, personSubject(in.Person), &b, names)
}

// EndSignOffIn takes sign-offs back.
type EndSignOffIn struct {
	From
	Person record.ID           `param:"person" json:"-"`
	Types  []record.SealerType `form:"end_types" json:"types"`
	For    []record.Skill      `form:"end_for" json:"for"`
	Why    string              `form:"why" json:"why"`
}

// EndSignOff records that sign-offs of a person no longer stand.
func (d *Desk) EndSignOff(ctx context.Context, who Caller, in EndSignOffIn) (Done, error) {
	if err := d.colleague(who, in.Person); err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "EndSignOff", in.From, personSubject(in.Person),
		&record.TrainingEnded{Types: in.Types, For: in.For, Why: in.Why}, nil)
}

// AskTrainingIn turns asking for sign-offs on or off.
type AskTrainingIn struct {
	From
	Ask    bool   `form:"ask" json:"ask"`
	Reason string `form:"reason" json:"reason,omitempty"`
}

// AskTraining records whether the department asks for sign-offs.
func (d *Desk) AskTraining(ctx context.Context, who Caller, in AskTrainingIn) (Done, error) {
	return d.facts(ctx, who, "AskTraining", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.TrainingAsked{Ask: in.Ask, Reason: in.Reason}, nil)
}

// AcceptCheckIn lets a check of somebody who was not signed off count.
type AcceptCheckIn struct {
	From
	Code   string     `param:"code" json:"-"`
	Check  record.Seq `form:"check" json:"check"`
	Reason string     `form:"reason" json:"reason"`
}

// AcceptCheck records a lead's word for such a check.
func (d *Desk) AcceptCheck(ctx context.Context, who Caller, in AcceptCheckIn) (Done, error) {
	s, e, err := d.atSealer(who, "AcceptCheck", in.Code, in.From)
	if err != nil {
		return Done{}, err
	}
	check, err := d.ledger.Read(in.Check)
	if err != nil || check.Subject != sealerSubject(s) {
		return Done{}, noSuchRecord()
	}
	said := &record.CheckAccepted{Check: in.Check, Reason: in.Reason}
	if b, _ := check.Content(); b != nil {
		said.Pouch = pouchIn(b)
	}
	return d.write(ctx, who, in.From, e, sealerSubject(s), said,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.AcceptCheck(v, rules.SaidAccept{Entry: e, Sealer: s.ID, Check: check, Reason: in.Reason}, now)
		})
}

func (d *Desk) colleague(who Caller, id record.ID) error {
	if p := d.person(id); p == nil || p.Dept != who.Dept {
		return fault.New(fault.Unknown, "There is no such person here.")
	}
	return nil
}

func personSubject(id record.ID) record.Subject { return record.Subject{Type: record.Person, ID: id} }

// TrainingView tells who is signed off for what: people by types of sealers.
type TrainingView struct {
	Frame
	Ask   bool                `json:"ask"`   // a good check counts only from who is signed off
	Types []record.SealerType `json:"types"` // of the department's sealers
	Rows  []TrainingRow       `json:"rows"`  // technicians and leads, by name
}

// TrainingRow is one person; Cells are in the order of the view's types.
type TrainingRow struct {
	Person Ref            `json:"person"`
	Lead   bool           `json:"lead,omitempty"`
	Cells  []TrainingCell `json:"cells"`
}

// TrainingCell is what one person is signed off for at one type.
type TrainingCell struct {
	Check SignedOff `json:"check"`
	Fix   SignedOff `json:"first_line"`
}

// SignedOff is a sign-off as it stands today.
type SignedOff struct {
	On   record.Date `json:"on,omitzero"` // 0: none
	Due  record.Date `json:"due,omitzero"`
	Over bool        `json:"over,omitempty"` // it has run out
}

// Training draws who is signed off for what.
func (d *Desk) Training(who Caller) (*TrainingView, error) {
	if _, err := d.may(who, "Training"); err != nil {
		return nil, err
	}
	view := &TrainingView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Ask, view.Types = view.Dept.AskTraining, typesInUse(v, view.Dept)
		for _, id := range view.Dept.People {
			p := rules.GetPerson(v, id)
			if p == nil || !p.Has(record.Technician, record.Lead) {
				continue
			}
			row := TrainingRow{Person: Ref{ID: id, Text: d.reveal(p.Name)}, Lead: p.Has(record.Lead)}
			for _, t := range view.Types {
				row.Cells = append(row.Cells, TrainingCell{
					Check: signedOff(p, record.ToCheck, t, view.Day), Fix: signedOff(p, record.ToFix, t, view.Day)})
			}
			view.Rows = append(view.Rows, row)
		}
	})
	slices.SortFunc(view.Rows, func(a, b TrainingRow) int { return strings.Compare(a.Person.Text, b.Person.Text) })
	return view, nil
}

func signedOff(p *rules.Person, what record.Skill, t record.SealerType, day record.Date) SignedOff {
	s := p.Training(what, t)
	if s == nil {
		return SignedOff{}
	}
	return SignedOff{On: s.On, Due: s.Due, Over: s.Due != 0 && s.Due < day}
}

// typesInUse are the types of the sealers that were not retired; all of them as
// long as there is no sealer.
func typesInUse(v record.View, dept *rules.Department) (list []record.SealerType) {
	for _, t := range sealerTypes {
		for _, id := range dept.Sealers {
			if s := rules.GetSealer(v, id); s != nil && s.Type == t && s.Readiness.State != record.Retired {
				list = append(list, t)
				break
			}
		}
	}
	if list == nil {
		return sealerTypes
	}
	return list
}

// SignOffRow is a sign-off on a person's page.
type SignOffRow struct {
	Type       record.SealerType `json:"type"`
	For        record.Skill      `json:"for"`
	ShownBy    string            `json:"shown_by,omitempty"`
	AssessedBy string            `json:"assessed_by"`
	EnteredBy  string            `json:"entered_by"`
	Note       string            `json:"note,omitempty"`
	SignedOff
}

// signOffs are a person's sign-offs with the names behind them.
func (d *Desk) signOffs(p *rules.Person, day record.Date) ([]SignOffRow, error) {
	var rows []SignOffRow
	for _, t := range p.Trained {
		r, err := d.ledger.Read(t.Seq)
		if err != nil {
			return nil, err
		}
		row := SignOffRow{Type: t.Type, For: t.For, Note: d.reveal(r.Sealed["note"]),
			ShownBy: d.reveal(r.Sealed["shown_by"]), AssessedBy: d.reveal(r.Sealed["assessed_by"]),
			SignedOff: signedOff(p, t.For, t.Type, day)}
		body, _ := r.Content()
		b, ok := body.(*record.Trained)
		d.ledger.View(func(v record.View) {
			row.EnteredBy = d.name(v, r.By)
			if ok && !b.ShownBy.IsZero() {
				row.ShownBy = d.name(v, b.ShownBy)
			}
			if ok && !b.AssessedBy.IsZero() {
				row.AssessedBy = d.name(v, b.AssessedBy)
			}
		})
		rows = append(rows, row)
	}
	return rows, nil
}

// dueSoon is how long before its end a sign-off is spoken of, in days.
const dueSoon = 30

// TrainingDue is a sign-off that ends soon or has run out.
type TrainingDue struct {
	Person Ref               `json:"person"`
	Type   record.SealerType `json:"type"`
	For    record.Skill      `json:"for"`
	Due    record.Date       `json:"due"`
	Over   bool              `json:"over"`
}

// trainingDue lists them, the earliest first.
func (d *Desk) trainingDue(v record.View, dept *rules.Department, day record.Date) (list []TrainingDue) {
	types := typesInUse(v, dept)
	for _, id := range dept.People {
		p := rules.GetPerson(v, id)
		if p == nil || !p.Has(record.Technician, record.Lead) {
			continue
		}
		for _, t := range p.Trained {
			if t.Due != 0 && t.Due < day+dueSoon && slices.Contains(types, t.Type) {
				list = append(list, TrainingDue{Person: Ref{ID: id, Text: d.reveal(p.Name)}, Type: t.Type, For: t.For,
					Due: t.Due, Over: t.Due < day})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b TrainingDue) int { return int(a.Due - b.Due) })
	return list
}

// Trained tells on a sealer's page whether a good check of this person counts.
type Trained struct {
	Missing bool          `json:"missing"`           // it does not: nobody signed them off
	Ask     []string      `json:"ask,omitempty"`     // who could make the check instead, or sign them off
	Until   record.Date   `json:"until,omitzero"`    // it does until this day, which is near
	Waiting []WaitingGood `json:"waiting,omitempty"` // good checks that a lead may let count
}

// WaitingGood is a good check by somebody who was not signed off.
type WaitingGood struct {
	Seq record.Seq  `json:"seq"`
	At  record.Time `json:"at"`
	By  string      `json:"by"`
}

// trained fills in what the sealer page says before anybody tests anything.
func (d *Desk) trained(v record.View, s *rules.Sealer, f *Frame) Trained {
	t := Trained{Missing: f.Can("Check") && !f.Dept.SignedOff(f.Person, record.ToCheck, s.Type, f.Day)}
	if f.Person != nil {
		if own := f.Person.Training(record.ToCheck, s.Type); own != nil && f.Dept.AskTraining && !t.Missing && own.Due != 0 && own.Due < f.Day+dueSoon {
			t.Until = own.Due
		}
	}
	if !t.Missing {
		return t
	}
	for _, id := range f.Dept.People {
		p := rules.GetPerson(v, id)
		if p != nil && p.Has(record.Technician, record.Lead) && f.Dept.SignedOff(p, record.ToCheck, s.Type, f.Day) {
			t.Ask = append(t.Ask, d.reveal(p.Name))
		}
	}
	slices.Sort(t.Ask)
	if len(t.Ask) == 0 {
		t.Ask = d.leads(v, f.Dept)
	}
	return t
}

// waitingGood reads the checks that wait for a lead.
func (d *Desk) waitingGood(s *rules.Sealer) (list []WaitingGood, err error) {
	for _, seq := range s.Waiting {
		r, err := d.ledger.Read(seq)
		if err != nil {
			return nil, err
		}
		w := WaitingGood{Seq: seq, At: r.Happened.From}
		made := r.By
		if !r.OnBehalfOf.IsZero() {
			made = r.OnBehalfOf
		}
		d.ledger.View(func(v record.View) { w.By = d.name(v, made) })
		list = append(list, w)
	}
	return list, nil
}
