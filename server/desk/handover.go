package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// HandOverView is what the next shift has to know, at this moment.
type HandOverView struct {
	Frame
	Sealers     []SealerRow      `json:"sealers"`
	Problems    []HandOverRow    `json:"problems"` // open, the newest first
	Provisional []ProvisionalRow `json:"provisional"`
	Lots        []LotRow         `json:"lots"`        // on hold
	Training    []TrainingDue    `json:"training"`    // sign-offs that end soon
	Waiting     []Ref            `json:"waiting"`     // sealers with a good check that a lead may let count
	Due         []DueSealer      `json:"due"`         // maintenance that waits to be done
	OldCards    []Ref            `json:"old_cards"`   // beside sealers whose settings changed
	Found       int              `json:"found"`       // reports from elsewhere that nobody has taken
	Parked      int              `json:"parked"`      // messages that wait for somebody to decide
	Watched     []WatchedRow     `json:"watched"`     // sealers in which no fault was found
	Quiet       []QuietRow       `json:"quiet"`       // of the last day: changed nothing, and should be known
	FromPhones  int              `json:"from_phones"` // entries that wait for a lead
	Missing     []Missing        `json:"missing,omitempty"`
}

// WatchedRow is a sealer that is watched.
type WatchedRow struct {
	Sealer Ref `json:"sealer"`
	WatchView
}

// HandOverRow is an open problem and what is still to be done about it.
type HandOverRow struct {
	NeedRow
	Left     int         `json:"left"`     // known packs without an end
	Unsure   bool        `json:"unsure"`   // a lead has to answer for the wider window
	Settled  record.Time `json:"settled"`  // 0: not yet
	Returned record.Time `json:"returned"` // the sealer is back, 0: not yet
	ForCE    bool        `json:"for_engineering"`
	Order    string      `json:"order,omitempty"`
	Expected record.Date `json:"expected,omitzero"`
}

// ProvisionalRow is an approved setting that stands for a time only.
type ProvisionalRow struct {
	Sealer Ref         `json:"sealer"`
	Pouch  string      `json:"pouch"`
	Until  record.Date `json:"until"`
	Over   bool        `json:"over"` // it stands no longer
}

// LotRow is a lot of pouches on hold.
type LotRow struct {
	Pouch string `json:"pouch"`
	Lot   string `json:"lot"`
}

// HandOver draws the hand-over for the next shift.
func (d *Desk) HandOver(who Caller) (*HandOverView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	view := &HandOverView{}
	var open []*rules.Problem
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, s := range d.sealersOf(v, view.Dept) {
			view.Sealers = append(view.Sealers, sealerRow(v, s, rules.Standing(v, s, view.Now)))
			view.provisional(v, s)
			if s.OldCard != 0 {
				view.OldCards = append(view.OldCards, Ref{Code: s.Code, Text: s.Number})
			}
			if w := watchedNow(v, s, view.Now); w != nil {
				view.Watched = append(view.Watched, WatchedRow{Ref{Code: s.Code, Text: s.Number}, *w})
			}
			if len(s.Waiting) > 0 {
				view.Waiting = append(view.Waiting, Ref{Code: s.Code, Text: s.Number})
			}
			view.due(v, d, s)
		}
		view.lots(v)
		view.Training = d.trainingDue(v, view.Dept, view.Day)
		for _, id := range slices.Backward(view.Dept.Open) {
			if p := rules.GetProblem(v, id); p != nil {
				open = append(open, p)
				view.Problems = append(view.Problems, HandOverRow{
					NeedRow: d.needRow(v, &view.Frame, p), Settled: p.SettledAt, Returned: p.Returned,
					ForCE: p.NeedsEngineering(), Order: p.Order, Expected: p.Expected})
			}
		}
	})
	var err error
	if view.Found, err = d.foundUntaken(who.Dept); err != nil {
		return nil, err
	}
	if _, view.Parked, err = d.ledger.Messages(); err != nil {
		return nil, err
	}
	for i, p := range open {
		hold, err := d.hold(p)
		if err != nil {
			return nil, err
		}
		row := &view.Problems[i]
		row.Problem.Packs, row.Unsure = hold.Total, hold.Open
		row.Left, _ = leftOf(p, hold)
	}
	phones, err := d.waitingIn(who.Dept)
	if err != nil {
		return nil, err
	}
	view.FromPhones = len(phones)
	if view.Missing, err = d.missing(&view.Frame, who); err != nil {
		return nil, err
	}
	view.Quiet, err = d.quiet(&view.Frame)
	return view, err
}

func (view *HandOverView) provisional(v record.View, s *rules.Sealer) {
	for _, a := range s.Approvals {
		if p := rules.GetPouch(v, a.Pouch); p != nil && a.Provisional != 0 && !p.Retired {
			view.Provisional = append(view.Provisional, ProvisionalRow{
				Sealer: Ref{Code: s.Code, Text: s.Number}, Pouch: p.Name, Until: a.Provisional,
				Over: a.Provisional < view.Day})
		}
	}
}

func (view *HandOverView) due(v record.View, d *Desk, s *rules.Sealer) {
	here := DueSealer{SealerRow: view.Sealers[len(view.Sealers)-1], Asset: s.Asset}
	for _, t := range openTasks(v, s, view.Day) {
		here.Tasks = append(here.Tasks, d.taskRow(v, &view.Frame, t))
	}
	if len(here.Tasks) > 0 {
		view.Due = append(view.Due, here)
	}
}

func (view *HandOverView) lots(v record.View) {
	for _, id := range view.Dept.Pouches {
		p := rules.GetPouch(v, id)
		if p == nil {
			continue
		}
		var lots []string
		for lot := range p.Held {
			lots = append(lots, lot)
		}
		slices.Sort(lots)
		for _, lot := range lots {
			view.Lots = append(view.Lots, LotRow{Pouch: p.Name, Lot: lot})
		}
	}
}
