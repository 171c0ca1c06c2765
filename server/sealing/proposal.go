package sealing

import (
	"cmp"
	"math"
	"slices"

	"tidemark/server/fault"
)

// DefaultEnough is the probability of conformity from which a position is taken
// as known well enough. Common practice, no source: a department sets its own.
const DefaultEnough = 0.90

// Request asks which position of a control suits a window.
type Request struct {
	Curve     *Curve
	Limits    Limits
	Positions []Quantity // what the control can take: marks and halves, or what a display shows
	Enough    float64    // least probability of conformity; 0 is DefaultEnough
	Guard     float64    // r of the guard band, 0 to 1; advice only
}

// Proposal is the position most probably within the window. For a display it is
// what the display must READ. It proposes to whoever approves; it changes
// nothing by itself.
type Proposal struct {
	Verdict  Verdict
	Position Quantity
	Places   []Conformity // all places at Position
	Worst    Conformity   // the place that decides
	Advice   Acceptance   // the guard band at the worst place
	WouldDo  float64      // see NotKnown; 0 otherwise
	limits   Limits
}

// Verdict is how far a proposal carries.
type Verdict string

const (
	Proposed   Verdict = "proposed"              // well enough known
	NotKnown   Verdict = "not-known-well-enough" // a standard uncertainty of WouldDo °C would do
	OutOfReach Verdict = "out-of-reach"          // no position brings every place into the window
)

// Propose weighs every position that lies within what was measured. The
// greatest probability of conformity wins; where the probabilities of lying
// outside agree to 1e-6, the one nearer the middle of the window; then the lower
// position. It refuses a request in which no position was measured.
func (r Request) Propose() (Proposal, error) {
	if err := r.check(); err != nil {
		return Proposal{}, err
	}
	candidates, err := r.candidates()
	if err != nil {
		return Proposal{}, err
	}
	best := slices.MinFunc(candidates, candidate.compare)
	p := Proposal{Verdict: Proposed, Position: best.position, Places: best.places, limits: r.Limits}
	p.Worst = worst(best.places)
	p.Advice = p.Worst.Guarded(r.Limits, r.Guard)
	if p.Worst.Probability() >= r.enough() {
		return p, nil
	}
	p.Verdict = OutOfReach
	for _, c := range candidates {
		p.WouldDo = max(p.WouldDo, c.wouldDo(r.Limits, r.enough()))
	}
	if p.WouldDo > 0 {
		p.Verdict = NotKnown
	}
	return p, nil
}

// candidates weighs the positions that were measured or lie between.
func (r Request) candidates() (cs []candidate, err error) {
	for _, position := range r.Positions {
		x, err := r.Curve.kind.position(position)
		if err != nil {
			return nil, err
		}
		if r.Curve.known(x) {
			cs = append(cs, r.weigh(position, x))
		}
	}
	if len(cs) == 0 {
		fit := r.Curve.places[0].Fit
		return nil, fault.Field("positions",
			"None of the positions lies within what was measured, %s to %s.", fit.First, fit.Last)
	}
	return cs, nil
}

func (r Request) check() error {
	switch {
	case r.Curve == nil || !(r.Limits.Low < r.Limits.High):
		return fault.New(fault.Invalid, "A proposal needs a temperature table and a window.")
	case r.Enough < 0 || r.Enough >= 1:
		return fault.Field("enough", "The least probability lies between 0 and 1.")
	case r.Guard < 0 || r.Guard > 1:
		return fault.Field("guard", "The guard band factor lies between 0 and 1.")
	}
	return nil
}

func (r Request) enough() float64 {
	if r.Enough == 0 {
		return DefaultEnough
	}
	return r.Enough
}

// candidate is one position and what decides between positions, rounded to 1e-6
// so that the last bit of a float, which differs between machines, never
// decides.
type candidate struct {
	position Quantity
	x        float64
	places   []Conformity
	tails    int64 // millionths
	off      int64 // millionths of a degree from the middle, at the place farthest off
}

func (r Request) weigh(position Quantity, x float64) candidate {
	c := candidate{position: position, x: x, places: against(r.Curve.at(x), r.Limits)}
	w := worst(c.places)
	c.tails = millionths(w.Below + w.Above)
	for _, p := range c.places {
		c.off = max(c.off, millionths(math.Abs(p.T-r.Limits.Middle())))
	}
	return c
}

func millionths(x float64) int64 { return int64(math.Round(x * 1e6)) }

// compare orders candidates, the best first.
func (c candidate) compare(d candidate) int {
	return cmp.Or(cmp.Compare(c.tails, d.tails), cmp.Compare(c.off, d.off), cmp.Compare(c.x, d.x))
}

// wouldDo is the uncertainty that would do at every place of the candidate.
func (c candidate) wouldDo(l Limits, enough float64) float64 {
	least := math.Inf(1)
	for _, p := range c.places {
		least = min(least, WouldDo(p.T, l, enough))
	}
	return least
}
