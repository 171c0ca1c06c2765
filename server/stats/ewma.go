package stats

import "math"

// EWMA is an exponentially weighted moving average chart (NIST/SEMATECH
// e-Handbook 6.3.2.4). Lambda is the weight of the newest value, 0 < Lambda <=
// 1; the limits stand Width standard deviations from Center. Sigma is the
// standard deviation of one value.
type EWMA struct{ Lambda, Width, Center, Sigma float64 }

// EWMAPoint is the average after a value, and its limits there.
type EWMAPoint struct{ Z, Low, High float64 }

// Outside reports whether the average is beyond its limits.
func (p EWMAPoint) Outside() bool { return p.Z < p.Low || p.Z > p.High }

// Run returns the chart of values in order of time. The limits are the exact
// ones of each step, which open from the first value on towards Limits.
func (e EWMA) Run(values []float64) []EWMAPoint {
	points := make([]EWMAPoint, len(values))
	z, fade := e.Center, 1.0
	for i, v := range values {
		z = e.Lambda*v + (1-e.Lambda)*z
		fade *= (1 - e.Lambda) * (1 - e.Lambda)
		half := e.halfWidth() * math.Sqrt(1-fade)
		points[i] = EWMAPoint{Z: z, Low: e.Center - half, High: e.Center + half}
	}
	return points
}

// Limits returns the limits after many values.
func (e EWMA) Limits() (low, high float64) {
	return e.Center - e.halfWidth(), e.Center + e.halfWidth()
}

func (e EWMA) halfWidth() float64 {
	return e.Width * e.Sigma * math.Sqrt(e.Lambda/(2-e.Lambda))
}

// MovingRangeSD estimates the standard deviation of single values from the
// steps between neighbours, which a slow drift hardly widens: mean step over
// 1.128 (e-Handbook 6.3.2.2). It is 0 for fewer than two values.
func MovingRangeSD(values []float64) float64 {
	if len(values) < 2 {
		return 0
	}
	var sum float64
	for i := 1; i < len(values); i++ {
		sum += math.Abs(values[i] - values[i-1])
	}
	return sum / float64(len(values)-1) / 1.128
}
