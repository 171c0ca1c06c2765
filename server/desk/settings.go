package desk

import (
	"errors"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// SettingsView is what a lead wants to see before approving a setting of a
// sealer or looking at one again: the evidence behind it. It shows; it changes
// nothing.
type SettingsView struct {
	Frame
	record.SealerFacts
	Code        string       `json:"code"`
	Scale       sealing.Unit `json:"scale"`     // of the texts
	HasTable    bool         `json:"has_table"` // positions of its control mean degrees
	Pouches     []Evidence   `json:"pouches"`
	Shared      *Shared      `json:"shared"` // between the pouches that are approved here
	Table       *TableView   `json:"table"`  // the newest
	Tables      []Line       `json:"tables"`
	Ladders     []Climb      `json:"ladders"`
	Series      []Series     `json:"series"`
	Validations []Validation `json:"validations"`
	Decisions   []Line       `json:"decisions"`
}

// Shared tells whether one temperature serves every pouch that has a setting and a
// window, at the same sealer.
type Shared struct {
	Window string `json:"window,omitempty"` // that they have in common: "165 °C to 180 °C"
	Clash  string `json:"clash,omitempty"`  // or which two have none, in a sentence
}

// Evidence is a pouch on a sealer: what is approved and what is known of it.
type Evidence struct {
	ID       record.ID       `json:"id"`
	Name     string          `json:"name"`
	Material record.Material `json:"material"`
	Window   string          `json:"window,omitempty"` // as the IFU gives it: "165 °C to 200 °C"
	IFU      record.Document `json:"ifu"`
	Setting  *Setting        `json:"setting"`           // approved, also if it does not stand
	Missing  string          `json:"missing,omitempty"` // why none stands, a code
	Approved *AtFace         `json:"approved"`          // what the newest table says of it
	Proposed *Proposed       `json:"proposed"`          // by the newest table
	Unknown  string          `json:"unknown,omitempty"` // why the table says nothing
	window   sealing.Window
}

// Settings draws the evidence behind the settings of a sealer.
func (d *Desk) Settings(who Caller, code string) (*SettingsView, error) {
	if _, err := d.may(who, "Settings"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &SettingsView{SealerFacts: s.SealerFacts, Code: s.Code,
		HasTable: rules.KindOf(s.Type).HasTable()}
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, s.ID)
		view.Frame = d.frame(v, who)
		view.Scale = view.Dept.Scale()
		for _, id := range view.Dept.Pouches {
			if p := rules.GetPouch(v, id); p != nil && !p.Retired {
				view.Pouches = append(view.Pouches, d.evidence(v, s, p, view.Day))
			}
		}
	})
	if view.Table, err = d.newestTable(s, view.Frame); err != nil {
		return nil, err
	}
	for i := range view.Pouches {
		view.Pouches[i].weigh(view.Table)
	}
	if view.HasTable {
		view.Shared = sharedBy(view.Pouches, view.Scale)
	}
	return view, d.filed(s, view)
}

func (d *Desk) evidence(v record.View, s *rules.Sealer, p *rules.Pouch, day record.Date) Evidence {
	e := Evidence{ID: p.ID, Name: p.Name, Material: p.Material, IFU: p.IFU}
	if w, ok := rules.WindowOf(&p.PouchFacts); ok {
		e.window, e.Window = w, w.Low.String()+" to "+w.High.String()
	}
	_, e.Missing = s.Approval(v, p.ID, day)
	for i := range s.Approvals {
		if s.Approvals[i].Pouch == p.ID {
			e.Setting = d.setting(v, &s.Approvals[i])
		}
	}
	return e
}

// sharedBy compares the windows of the pouches that are sealed here; nil if there
// are not two.
func sharedBy(pouches []Evidence, scale sealing.Unit) *Shared {
	var windows []sealing.Window
	for i := range pouches {
		if e := &pouches[i]; e.Setting != nil && e.Window != "" {
			windows = append(windows, e.window)
		}
	}
	if len(windows) < 2 {
		return nil
	}
	limits, err := sealing.Intersect(windows...)
	if clash := (*sealing.Clash)(nil); errors.As(err, &clash) {
		return &Shared{Clash: clash.Error()}
	}
	if err != nil {
		return nil
	}
	return &Shared{Window: limits.Text(scale)}
}

// weigh holds what is approved, and what would suit best, against the window.
func (e *Evidence) weigh(t *TableView) {
	switch {
	case t == nil || t.curve == nil:
		return
	case e.Window == "":
		e.Unknown = "no-window"
		return
	}
	w := weighing{t.curve, &t.Table, e.window, t.Scale}
	var err error
	if e.Proposed, err = w.propose(); err != nil {
		e.Unknown = "no-position"
	}
	if e.Setting == nil {
		return
	}
	set, err := sealing.Q(e.Setting.Value, sealing.Unit(e.Setting.Unit))
	if err == nil {
		e.Approved, err = w.at(set)
	}
	if err != nil {
		e.Unknown = "not-measured"
	}
}
