package sealing

import (
	"fmt"
	"math"
	"math/big"

	"gonum.org/v1/gonum/stat"

	"tidemark/server/fault"
	"tidemark/server/stats"
)

// StrengthTest is a validation of seal strength: the greatest force of each
// strip, against the least that the pouch asks for.
type StrengthTest struct {
	Strips            []Quantity // N/15 mm, or lbf/in
	Minimum           Quantity
	Share, Confidence float64 // 0 is 0.95
}

// SealStrength is what the strips show, in newtons per 15 mm.
type SealStrength struct {
	Strips           int
	Mean, SD, Lowest float64
	Factor           float64 // k of the lower bound Mean - k SD
	Bound            float64 // with Confidence, at least Share of all seals are stronger
	Minimum          float64
	Finding          Finding
	Warnings         []Warning
}

// Finding is how strips compare with the least strength.
type Finding string

const (
	StrongEnough Finding = "strong-enough" // the bound is at least the minimum
	NotShown     Finding = "not-shown"     // all strips are, the bound is not: more may show it
	TooWeak      Finding = "too-weak"      // a strip was below the minimum
)

// fewStrips is where the factor of the bound begins to matter more than the
// strips do. Common practice, no source.
const fewStrips = 10

// Assess computes the lower one-sided tolerance bound of normally distributed
// strengths. It refuses fewer than two strips, and strips that all read alike:
// their spread is not zero, it was rounded away.
func (t StrengthTest) Assess() (SealStrength, error) {
	forces, minimum, err := t.newtons()
	if err != nil {
		return SealStrength{}, err
	}
	s := SealStrength{Strips: len(forces), Lowest: math.Inf(1), Minimum: minimum}
	if s.Factor, err = stats.ToleranceFactor(len(forces), orDefault(t.Share),
		orDefault(t.Confidence)); err != nil {
		return SealStrength{}, fault.Wrap(err, fault.Invalid,
			"A bound needs 2 to 250 strips, a share above one half and a confidence below one.")
	}
	for _, f := range forces {
		s.Lowest = min(s.Lowest, f)
	}
	s.Mean, s.SD = stat.MeanStdDev(forces, nil)
	if s.SD == 0 {
		return SealStrength{}, fault.Field("strips",
			"All strips read the same. Type them with one more digit.")
	}
	s.Bound = s.Mean - s.Factor*s.SD
	s.Finding = s.finding()
	if s.Strips < fewStrips {
		s.Warnings = append(s.Warnings, Warning{FewStrips,
			fmt.Sprintf("%d strips are few: the bound lies %.1f standard deviations below "+
				"the mean.", s.Strips, s.Factor)})
	}
	return s, nil
}

func (s SealStrength) finding() Finding {
	switch {
	case s.Lowest < s.Minimum:
		return TooWeak
	case s.Bound >= s.Minimum:
		return StrongEnough
	}
	return NotShown
}

func (t StrengthTest) newtons() (forces []float64, minimum float64, err error) {
	for i, q := range t.Strips {
		f, err := q.In(NewtonsPer15mm)
		if err != nil || q.Missing() || f <= 0 {
			return nil, 0, fault.Field("strips",
				"Strip %d: type its strength in N/15 mm or lbf/in, above zero.", i+1)
		}
		forces = append(forces, f)
	}
	if minimum, err = t.Minimum.In(NewtonsPer15mm); err != nil || minimum <= 0 {
		return nil, 0, fault.Field("minimum",
			"Type the least strength that the pouch asks for, in N/15 mm or lbf/in.")
	}
	return forces, minimum, nil
}

func orDefault(share float64) float64 {
	if share == 0 {
		return 0.95
	}
	return share
}

// SealWidth adds up the ribs of a seal (EN 868-5, 4.3.2: at least 6 mm in all)
// and compares exactly. The total is in millimetres, to a thousandth.
func SealWidth(ribs []Quantity, least Quantity) (total Quantity, enough bool, err error) {
	sum := new(big.Rat)
	for i, r := range ribs {
		mm, err := r.Exact(Millimetres)
		if err != nil || r.Missing() || mm.Sign() <= 0 {
			return Quantity{}, false, fault.Field("ribs", "Rib %d: type its width.", i+1)
		}
		sum.Add(sum, mm)
	}
	required, err := least.Exact(Millimetres)
	if err != nil || least.Missing() {
		return Quantity{}, false, fault.Field("least", "Type the least width of the seal.")
	}
	f, _ := sum.Float64()
	return Quantity{Value: Rounded(f, 3), Unit: Millimetres}, sum.Cmp(required) >= 0, nil
}
