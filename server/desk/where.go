package desk

import (
	"cmp"
	"slices"
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
	"tidemark/server/stats"
)

// WhereView tells where on a sealer's bar its faults were, what they have in
// common and, for a lead, how sure it is that there are none now.
type WhereView struct {
	Frame
	record.SealerFacts
	Code    string      `json:"code"`
	Faults  []FaultSpot `json:"faults"` // of the sealer in the last 18 months, newest first
	Older   bool        `json:"older"`  // there are faults before that: the parts they came from are gone
	Crowd   *Crowd      `json:"crowd"`  // nil: too few places are known in cm, or the width of the bar is not
	Kinds   []Count     `json:"kinds"`
	Pouches []Count     `json:"pouches"`
	Lots    []Count     `json:"lots"`
	Packing []Count     `json:"packing"` // bad seals that are no fault of the sealer, by kind
	Second  int         `json:"second"`  // second seals found in the last 90 days
	Clean   record.Time `json:"clean_since,omitzero"`
	Sure    []Sure      `json:"sure,omitempty"` // a lead's
}

// FaultSpot is a fault of a sealer that opened a problem.
type FaultSpot struct {
	ProblemRef
	Pouch   string   `json:"pouch"`
	Lot     string   `json:"lot,omitempty"`
	Finding string   `json:"finding,omitempty"` // a code, once it was handed back
	Again   bool     `json:"again"`             // the same place as one before, within 30 days
	CM      *float64 `json:"cm"`                // from the left as one stands, if it is known
}

// Count is how often something was.
type Count struct {
	What string `json:"what"`
	N    int    `json:"n"`
}

// Crowd is the window of the bar that holds the most faults, and how often chance
// alone would crowd as many: the scan statistic.
type Crowd struct {
	K        int     `json:"k"` // faults in the window
	N        int     `json:"n"` // faults with a place known in cm
	From     float64 `json:"from_cm"`
	To       float64 `json:"to_cm"`
	Window   float64 `json:"window_cm"`
	P        float64 `json:"p"` // 0 to 1
	Exact    bool    `json:"exact"`
	ByChance bool    `json:"by_chance"` // chance alone explains it well enough
}

// Sure is what a row of good test seals at a place shows: with 95 % confidence
// fewer than Below of test seals there would fail.
type Sure struct {
	Place record.Place `json:"place"`
	N     int          `json:"n"`
	Below float64      `json:"below"`
}

const (
	crowdWindow = 3.0 // cm, that of "the same place again"
	crowdLeast  = 3   // fewer known places say nothing about where faults are
	crowdChance = .05 // less often than that is more than chance
	crowdSeed   = 20260113
	confidence  = .95
	secondSpan  = 90 * 24 * time.Hour
	whereSpan   = 548 * 24 * time.Hour // how far back faults say something about the bar (common practice, no source)
)

// Where draws where and why a sealer failed.
func (d *Desk) Where(who Caller, code string) (*WhereView, error) {
	if _, err := d.may(who, "Where"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &WhereView{Code: s.Code}
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, s.ID)
		view.Frame, view.SealerFacts, view.Clean = d.frame(v, who), s.SealerFacts, s.Tally.Clean.Since
		d.faults(v, s, view)
		view.symptoms(s)
		if view.Person.Has(record.Lead) {
			view.Sure = sureness(&s.Tally.Clean)
		}
	})
	return view, view.crowd()
}

func (d *Desk) faults(v record.View, s *rules.Sealer, view *WhereView) {
	kinds, pouches, lots := map[string]int{}, map[string]int{}, map[string]int{}
	for i := len(s.Problems) - 1; i >= 0; i-- {
		p := rules.GetProblem(v, s.Problems[i])
		if p == nil || !p.NeedsEngineering() {
			continue
		}
		if view.Now.Sub(p.OpenedAt) > whereSpan {
			view.Older = true
			break // problems stand in the order in which they were opened
		}
		f := FaultSpot{ProblemRef: *d.problemRef(v, p), Lot: p.Lot, Finding: p.Finding, CM: cmOf(p)}
		if pouch := rules.GetPouch(v, p.Pouch); pouch != nil {
			f.Pouch = pouch.Name
		}
		f.Again = again(v, s.Problems[:i], p)
		view.Faults = append(view.Faults, f)
		kinds[string(p.Kind)]++
		pouches[f.Pouch]++
		lots[p.Lot]++
	}
	view.Kinds, view.Pouches, view.Lots = counts(kinds), counts(pouches), counts(lots)
}

// again reports whether one of the problems before p, oldest first, was at the same
// place; those of two months before it and earlier are no matter.
func again(v record.View, before []record.ID, p *rules.Problem) bool {
	for _, id := range slices.Backward(before) {
		earlier := rules.GetProblem(v, id)
		if earlier == nil {
			continue
		}
		if rules.SamePlaceAgain(p, earlier) {
			return true
		}
		if p.OpenedAt.Sub(earlier.OpenedAt) > 60*24*time.Hour {
			return false
		}
	}
	return false
}

// cmOf is where a fault sits, if that is known to the centimetre.
func cmOf(p *rules.Problem) *float64 {
	q, err := sealing.ParseQuantity(p.AtCM, sealing.Centimetres)
	if p.AtCM == "" || err != nil {
		return nil
	}
	cm, err := q.In(sealing.Centimetres)
	if err != nil {
		return nil
	}
	return &cm
}

// counts lists what is named, the most frequent first.
func counts(of map[string]int) (list []Count) {
	for what, n := range of {
		if what != "" {
			list = append(list, Count{what, n})
		}
	}
	slices.SortFunc(list, func(a, b Count) int { return cmp.Or(b.N-a.N, cmp.Compare(a.What, b.What)) })
	return list
}

func (v *WhereView) symptoms(s *rules.Sealer) {
	packing := map[string]int{}
	for kind, n := range s.Tally.Faults {
		if rules.ConsequenceOf(record.BadSeal{Kind: kind}) == rules.Repackage {
			packing[string(kind)] = n
		}
	}
	v.Packing = counts(packing)
	for _, t := range s.Tally.Second {
		if v.Now.Sub(t) <= secondSpan {
			v.Second++
		}
	}
}

func sureness(c *rules.Clean) (list []Sure) {
	for _, p := range []record.Place{record.Left, record.Middle, record.Right} {
		list = append(list, Sure{p, c.At(p), stats.AllPassed(c.At(p), confidence)})
	}
	return list
}

// crowd finds the window with the most faults, where there are enough to say so.
func (v *WhereView) crowd() error {
	var at []float64
	for _, f := range v.Faults {
		if f.CM != nil && *f.CM >= 0 && *f.CM <= float64(v.WidthCM) {
			at = append(at, *f.CM)
		}
	}
	if len(at) < crowdLeast || v.WidthCM == 0 {
		return nil
	}
	slices.Sort(at)
	c := &Crowd{N: len(at), Window: crowdWindow}
	for i := range at {
		j := i
		for j+1 < len(at) && at[j+1]-at[i] <= crowdWindow {
			j++
		}
		if j-i+1 > c.K {
			c.K, c.From, c.To = j-i+1, at[i], at[j]
		}
	}
	p, err := stats.ScanProbability(c.K, c.N, crowdWindow/float64(v.WidthCM), crowdSeed)
	if err != nil {
		return err
	}
	c.P, c.Exact, c.ByChance = p.P, p.Exact, p.P > crowdChance
	v.Crowd = c
	return nil
}
