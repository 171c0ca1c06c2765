package desk

import (
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// sealerTypes are the types of sealers in the order of a form.
var sealerTypes = record.SealerTypes()

// SetUpView tells how far a department's set-up has come.
type SetUpView struct {
	Frame
	Pouches  int           `json:"pouches"`
	Sealers  []SetUpSealer `json:"sealers"`
	People   int           `json:"people"`
	Devices  int           `json:"devices"`
	Plans    []SetUpPlan   `json:"plans"` // of the types in use
	Fallback string        `json:"fallback,omitempty"`
	Route    bool          `json:"route"`  // it was chosen whom to tell
	Poster   bool          `json:"poster"` // there is one for bad packs
}

// SetUpSealer is a sealer on its way to its first Ready.
type SetUpSealer struct {
	Code     string `json:"code"`
	Number   string `json:"number"`
	Approved bool   `json:"approved"` // for one pouch at least
	Checked  bool   `json:"checked"`  // had a good check
}

// SetUpPlan tells whether the department has set the plan of a type itself.
type SetUpPlan struct {
	Type record.SealerType `json:"type"`
	Own  bool              `json:"own"`
}

// SetUp draws the checklist of a department's set-up.
func (d *Desk) SetUp(who Caller) (*SetUpView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &SetUpView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Fallback = view.Dept.Fallback
		view.Route, view.Poster = view.Dept.Route != nil, view.Dept.FoundCode != ""
		for _, id := range view.Dept.Pouches {
			if p := rules.GetPouch(v, id); p != nil && !p.Retired {
				view.Pouches++
			}
		}
		for _, s := range d.sealersOf(v, view.Dept) {
			view.Sealers = append(view.Sealers,
				SetUpSealer{s.Code, s.Number, len(s.Approvals) > 0, len(s.Good) > 0})
			_, own := view.Dept.Plans[s.Type]
			if p := (SetUpPlan{s.Type, own}); !slices.Contains(view.Plans, p) {
				view.Plans = append(view.Plans, p)
			}
		}
		for _, id := range view.Dept.People {
			if p := rules.GetPerson(v, id); p != nil && !p.Left {
				view.People++
			}
		}
		for _, dev := range view.Dept.Devices {
			if !dev.Revoked {
				view.Devices++
			}
		}
	})
	return view, nil
}

// DepartmentView are a department's settings.
type DepartmentView struct {
	Frame
	Name      string                    `json:"name"`
	Settings  record.DepartmentSettings `json:"settings"`
	Engineers []Ref                     `json:"engineers"` // who could be told first
}

// Department draws the settings of the caller's department.
func (d *Desk) Department(who Caller) (*DepartmentView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &DepartmentView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Name, view.Settings = view.Dept.Name, view.Dept.DepartmentSettings
		for _, id := range view.Dept.People {
			if p := rules.GetPerson(v, id); p != nil && p.Has(record.Engineering) {
				view.Engineers = append(view.Engineers, Ref{ID: id, Text: d.reveal(p.Name)})
			}
		}
	})
	return view, nil
}

// PlanView is how sealers of one type are checked.
type PlanView struct {
	Frame
	Type record.SealerType `json:"type"`
	Plan record.Plan       `json:"plan"`
	Own  bool              `json:"own"` // false: the default of the trade
	// Changes are the newest of this plan, newest first: who set it, when and why.
	Changes []Line `json:"changes,omitempty"`
}

// planChanges is how many changes of a plan its page shows, and how far back in
// the department's records they are looked for.
const (
	planChanges = 5
	planReach   = 4000
)

// Plan draws how sealers of a type are checked.
func (d *Desk) Plan(who Caller, t record.SealerType) (*PlanView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	if !slices.Contains(sealerTypes, t) {
		return nil, noSuchType()
	}
	view := &PlanView{Type: t}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		view.Plan = view.Dept.Plan(t)
		_, view.Own = view.Dept.Plans[t]
	})
	if !view.Own {
		return view, nil
	}
	var records []record.Record
	looked := 0
	for r, err := range d.ledger.Chain(record.Subject{Type: record.Department, ID: who.Dept}) {
		if err != nil {
			return nil, err
		}
		if body, _ := r.Content(); isPlanOf(body, t) {
			records = append(records, r)
		}
		if looked++; len(records) == planChanges || looked == planReach {
			break
		}
	}
	view.Changes = d.lines(records)
	return view, nil
}

func isPlanOf(body record.Body, t record.SealerType) bool {
	b, ok := body.(*record.PlanSet)
	return ok && b.SealerType == t
}

func noSuchType() error { return fault.New(fault.Unknown, "There is no such type of sealer.") }
