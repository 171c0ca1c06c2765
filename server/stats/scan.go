package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
)

// Scan is the probability that chance alone puts so many points so close.
type Scan struct {
	P      float64 // 0 to 1
	StdErr float64 // standard error of P; 0 when Exact
	Exact  bool
}

const (
	scanWork   = 1e8       // multiplications that an exact sum may cost: a few tenths of a second
	scanTrials = 200_000   // of the simulation: a standard error of at most 0.0012
	scanPoints = 4_000_000 // thrown in all: beyond 20 points the trials become fewer
)

// ScanProbability returns P(k; n, w): of n points thrown at random on a line of
// length 1, some window of length w holds k or more (Naus, J. Am. Stat. Assoc.
// 60 (1965) 532; Huntington and Naus, Ann. Probab. 3 (1975) 894). It is exact
// where the sum is short enough, else simulated from the seed: the same seed
// gives the same answer.
func ScanProbability(k, n int, w float64, seed uint64) (Scan, error) {
	switch {
	case k < 1 || n < 0 || !(w > 0):
		return Scan{}, errors.New("scan: counts or window out of range")
	case k > n:
		return Scan{Exact: true}, nil
	case k == 1 || w >= 1:
		return Scan{P: 1, Exact: true}, nil
	case k == 2:
		gap := max(0, 1-float64(n-1)*w)
		return Scan{P: 1 - math.Pow(gap, float64(n)), Exact: true}, nil
	case 2*k > n && w <= 0.5:
		return Scan{P: majority(k, n, w), Exact: true}, nil
	}
	if float64(n)/w <= 600 { // else even the estimate of the cost is long
		if c := newCells(k, n, w); c.cost() <= scanWork {
			return Scan{P: unit(1 - c.without()), Exact: true}, nil
		}
	}
	return simulate(k, n, w, seed), nil
}

// majority is the closed form for more than half of the points in a window of
// at most half the line: (k/w - n - 1) b(k) + 2 B(k), with the binomial
// probability b of k points in the window and B of k or more (Naus 1965).
func majority(k, n int, w float64) float64 {
	p := (float64(k)/w - float64(n) - 1) * binomial(k, n, w)
	for j := k; j <= n; j++ {
		p += 2 * binomial(j, n, w)
	}
	return unit(p)
}

func binomial(k, n int, p float64) float64 {
	lnCk := logFactorial(n) - logFactorial(k) - logFactorial(n-k)
	return math.Exp(lnCk + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

func logFactorial(n int) float64 {
	l, _ := math.Lgamma(float64(n) + 1)
	return l
}

// unit keeps rounding from carrying a probability past its ends.
func unit(p float64) float64 { return min(1, max(0, p)) }

func simulate(k, n int, w float64, seed uint64) Scan {
	r := rand.New(rand.NewPCG(seed, uint64(k)<<32|uint64(n)))
	points := make([]float64, n)
	trials, hits := min(scanTrials, scanPoints/n), 0
	for range trials {
		for i := range points {
			points[i] = r.Float64()
		}
		slices.Sort(points)
		if crowded(points, k, w) {
			hits++
		}
	}
	p := float64(hits) / float64(trials)
	return Scan{P: p, StdErr: math.Sqrt(p * (1 - p) / float64(trials))}
}

// crowded reports whether k neighbours of the sorted points fit into w.
func crowded(points []float64, k int, w float64) bool {
	for i := k - 1; i < len(points); i++ {
		if points[i]-points[i-k+1] <= w {
			return true
		}
	}
	return false
}
