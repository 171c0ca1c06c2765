package desk

import (
	"time"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// OnPhone marks a view that a phone keeps to open it without contact. It names
// nobody, no problem and no photograph: the phone may be anybody's by then.
type OnPhone struct {
	Ends record.Time // until then a Ready may be told "as of"; after it nothing good
}

// cardAge is how long a kept page may say Ready at the longest: about as long as
// somebody would trust a sealer that nobody has looked at.
const cardAge = 2 * time.Hour

// PhoneCards are the sealers of a department as a phone may keep them.
type PhoneCards struct {
	Frame
	Sealers []*SealerView
}

// Cards draws every sealer of a device's department for keeping. No person is
// needed; a device that nobody let in sees none.
func (d *Desk) Cards(dev Device) (*PhoneCards, error) {
	if dev.ID == (people.ID{}) {
		return nil, fault.New(fault.SignIn, "Let this device in first.")
	}
	view := &PhoneCards{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, Caller{Dept: dev.Dept})
		view.Phone = &OnPhone{Ends: view.Now.Add(cardAge)}
		for _, s := range d.sealersOf(v, view.Dept) {
			view.Sealers = append(view.Sealers, d.phoneView(v, s, view.Frame))
		}
	})
	return view, nil
}

// phoneView is the view of a sealer page with what may be kept, and no more.
func (d *Desk) phoneView(v record.View, s *rules.Sealer, f Frame) *SealerView {
	st := rules.Standing(v, s, f.Now)
	ends := min(f.Phone.Ends, rules.Begin(rules.Zone(f.Dept.Zone), f.Dept.DayStart, st.Day+1))
	if st.State == record.Ready && st.Until != 0 {
		ends = min(ends, st.Until)
	}
	f.Phone = &OnPhone{Ends: ends}
	view := &SealerView{Frame: f, Code: s.Code, Standing: st, Plan: f.Dept.Plan(s.Type),
		SealerFacts: record.SealerFacts{Number: s.Number, Type: s.Type, Place: s.Place}}
	view.Pouches = d.pouchesHere(v, s, view)
	for i := range view.Pouches {
		if set := view.Pouches[i].Setting; set != nil {
			nameless := *set
			nameless.By = ""
			view.Pouches[i].Setting = &nameless
		}
	}
	view.choose(record.ID{})
	return view
}

// For is the same view with another pouch in hand.
func (view *SealerView) For(pouch record.ID) *SealerView {
	other := *view
	other.Pouch = nil
	other.choose(pouch)
	return &other
}
