package desk

import (
	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PhoneCard is what a phone may keep of a sealer to open it without a signal:
// code, number, how it is checked, its settings and where it stands. No names,
// no problems, no photographs: the phone may be anybody's by then.
type PhoneCard struct {
	Code     string            `json:"code"`
	Number   string            `json:"number"`
	Type     record.SealerType `json:"type"`
	Standing record.Readiness  `json:"standing"`
	Plan     record.Plan       `json:"plan"`
	Pouches  []PouchHere       `json:"pouches"`
	Ends     record.Time       `json:"ends"` // when a Ready ends at the latest
}

// PhoneCards are the cards of a department, as of Now.
type PhoneCards struct {
	Frame
	Cards []PhoneCard `json:"cards"`
}

// Cards draws the card of every sealer of a device's department. No person is
// needed; a device that nobody let in sees none.
func (d *Desk) Cards(dev Device) (*PhoneCards, error) {
	if dev.ID == (people.ID{}) {
		return nil, fault.New(fault.SignIn, "Let this device in first.")
	}
	view := &PhoneCards{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, Caller{Dept: dev.Dept})
		for _, s := range d.sealersOf(v, view.Dept) {
			view.Cards = append(view.Cards, d.phoneCard(v, s, &view.Frame))
		}
	})
	return view, nil
}

func (d *Desk) phoneCard(v record.View, s *rules.Sealer, f *Frame) PhoneCard {
	st := rules.Standing(v, s, f.Now)
	c := PhoneCard{Code: s.Code, Number: s.Number, Type: s.Type, Plan: f.Dept.Plan(s.Type), Standing: st,
		Ends: rules.Begin(rules.Zone(f.Dept.Zone), f.Dept.DayStart, st.Day+1)}
	if st.Until != 0 && st.State == record.Ready {
		c.Ends = min(c.Ends, st.Until)
	}
	c.Pouches = d.pouchesHere(v, s, &SealerView{Frame: *f, Standing: st})
	for i := range c.Pouches {
		c.Pouches[i].Held = nil
		if set := c.Pouches[i].Setting; set != nil {
			nameless := *set
			nameless.By = ""
			c.Pouches[i].Setting = &nameless
		}
	}
	return c
}
