package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Tails are the probabilities that a quantity lies below and above its limits.
type Tails struct{ Below, Above float64 }

// Inside returns the probability of conformity, 0 to 1.
func (t Tails) Inside() float64 { return max(0, 1-t.Below-t.Above) }

// Conformity returns the tails beyond low and high of a quantity that is
// estimated as y with standard uncertainty u (JCGM 106:2012, 7.4:
// Phi((low-y)/u) and Phi((y-high)/u)), each exact to its own last digits. An
// infinite limit is no limit. With u = 0 the answer is certain, the limits
// themselves lying inside.
func Conformity(y, u, low, high float64) Tails {
	if u == 0 {
		return Tails{Below: certain(y < low), Above: certain(y > high)}
	}
	return Tails{Below: Phi((low - y) / u), Above: Phi((y - high) / u)}
}

func certain(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// Phi is the standard normal distribution function.
func Phi(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// NormalQuantile is the inverse of Phi, for 0 < p < 1.
func NormalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// TQuantile returns the point below which Student's t on df degrees of freedom
// lies with probability p.
func TQuantile(p float64, df int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(df)}.Quantile(p)
}
