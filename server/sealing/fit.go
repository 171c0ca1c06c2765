package sealing

import (
	"cmp"
	"fmt"
	"slices"

	"tidemark/server/fault"
	"tidemark/server/stats"
)

// Fit tells how the points of one place were turned into a curve.
type Fit struct {
	Place       Place
	Basis       Basis
	First, Last Quantity      // the ends of what was measured, as typed
	Points      int           // readings
	Positions   int           // different positions
	Misfit      *stats.Misfit // test of the straight line; nil below three positions
	Bent        bool          // the test rejects the straight line at 5 %
}

// Basis is the shape that a curve has.
type Basis string

const (
	EachPosition Basis = "each-position" // means of a switch's positions, nothing between
	TwoPositions Basis = "two-positions" // straight between the two
	StraightLine Basis = "straight-line" // weighted least squares
	Interpolated Basis = "interpolated"  // monotone through the means: the line does not fit
)

const (
	bendLevel     = 0.05 // level of the lack-of-fit test
	bendPositions = 5    // fewer positions cannot tell a bend from scatter
)

// Compile checks the table and fits it. A switch gets the mean of each position,
// with the spread pooled over all. Otherwise two positions are joined, and three
// or more get a weighted straight line; from five on a lack-of-fit test at 5 %
// decides for monotone interpolation through the means instead.
//
// It refuses, as a [fault.Invalid] that names the points: a kind without
// degrees, fewer than two positions (at any place), temperatures that do not
// rise with the position, an uncertainty that is missing or zero.
func (t Table) Compile() (*Curve, error) {
	if !t.Kind.HasTable() {
		return nil, fault.Field("kind",
			"The positions of this kind of sealer mean no degrees. Use a ladder trial.")
	}
	byPlace, err := t.readings()
	if err != nil {
		return nil, err
	}
	c := &Curve{kind: t.Kind}
	for _, place := range places {
		if rs := byPlace[place]; len(rs) > 0 {
			p, err := t.fit(place, rs)
			if err != nil {
				return nil, err
			}
			c.places = append(c.places, p)
		}
		delete(byPlace, place)
	}
	if len(byPlace) > 0 {
		return nil, fault.Field("points", "A place is left, middle, right or the whole bar.")
	}
	if len(c.places) == 0 {
		return nil, tooFewPositions(WholeBar)
	}
	return c, nil
}

func tooFewPositions(place Place) error {
	where := ""
	if place != WholeBar {
		where = " " + string(place)
	}
	return fault.Field("points", "A table needs at least two positions%s. Measure one more.", where)
}

// fit makes the curve of one place.
func (t Table) fit(place Place, rs []reading) (placeCurve, error) {
	slices.SortStableFunc(rs, func(a, b reading) int { return cmp.Compare(a.x, b.x) })
	levels := levelsOf(rs)
	p := placeCurve{Fit: Fit{Place: place, Points: len(rs), Positions: len(levels)}}
	p.First, p.Last = rs[0].Position, rs[len(rs)-1].Position
	for _, l := range levels {
		p.xs, p.us = append(p.xs, l.x), append(p.us, l.u)
	}
	if err := rising(levels); err != nil {
		return p, err
	}
	switch {
	case t.Apart:
		p.Basis, p.model = EachPosition, newSwitch(levels)
	case len(levels) < 2:
		return p, tooFewPositions(place)
	default:
		if err := p.choose(rs, levels); err != nil {
			return p, err
		}
	}
	p.inflate = inflation(p.model.df())
	return p, nil
}

// inflation is t(0.975)/z(0.975): the factor by which a spread known on df
// degrees of freedom is widened, so that 2 U holds 95 % however few the points
// (JCGM 100:2008, G.3). At one degree of freedom it is 6.5.
func inflation(df int) float64 {
	if df == 0 {
		return 1
	}
	return stats.TQuantile(0.975, df) / stats.NormalQuantile(0.975)
}

// choose picks the straight line or, where it does not fit, interpolation.
func (p *placeCurve) choose(rs []reading, levels []level) error {
	var xs, ts, us []float64
	for _, r := range rs {
		xs, ts, us = append(xs, r.x), append(ts, r.t), append(us, r.u)
	}
	line, err := stats.FitLine(xs, ts, us)
	if err != nil {
		return fmt.Errorf("fit table: %w", err)
	}
	p.Basis, p.model = StraightLine, straight{line}
	if len(levels) == 2 {
		p.Basis = TwoPositions
		return nil
	}
	misfit, err := stats.LackOfFit(line, xs, ts, us)
	if err != nil {
		return fmt.Errorf("test table: %w", err)
	}
	p.Misfit, p.Bent = &misfit, misfit.P < bendLevel
	if !p.Bent || len(levels) < bendPositions {
		return nil
	}
	bent, err := newInterpolation(levels)
	if err != nil {
		return fmt.Errorf("interpolate table: %w", err)
	}
	p.Basis, p.model = Interpolated, bent
	return nil
}

// rising refuses temperatures that fall where the position rises, and names the
// two points.
func rising(levels []level) error {
	for i := 1; i < len(levels); i++ {
		below, above := levels[i-1], levels[i]
		if above.t < below.t {
			return fault.Field("points",
				"The face must get hotter as the position rises, but %s is cooler than %s. "+
					"Measure both again.", above.readings[0], below.readings[0])
		}
	}
	return nil
}
