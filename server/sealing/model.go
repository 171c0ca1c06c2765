package sealing

import (
	"math"
	"slices"

	"tidemark/server/stats"
)

// level is one position with all its readings: their weighted mean and the
// largest uncertainty of the reference among them.
type level struct {
	x, t, u  float64
	readings []reading
}

// levelsOf gathers readings, sorted by position, into levels.
func levelsOf(rs []reading) (levels []level) {
	for _, r := range rs {
		if n := len(levels); n == 0 || levels[n-1].x != r.x {
			levels = append(levels, level{x: r.x})
		}
		l := &levels[len(levels)-1]
		l.readings = append(l.readings, r)
	}
	for i := range levels {
		levels[i].summarize()
	}
	return levels
}

func (l *level) summarize() {
	var w, wt float64
	for _, r := range l.readings {
		w += 1 / (r.u * r.u)
		wt += r.t / (r.u * r.u)
		l.u = max(l.u, r.u)
	}
	l.t = wt / w
	if same(l.readings) { // no rounding where there is nothing to average
		l.t = l.readings[0].t
	}
}

func same(rs []reading) bool {
	return !slices.ContainsFunc(rs, func(r reading) bool { return r.t != rs[0].t })
}

// straight is a line through all readings.
type straight struct{ stats.Line }

func (m straight) at(x float64) (t, s float64) { return m.At(x), m.Spread(x) }
func (m straight) df() int                     { return m.DF() }

// interpolation is a monotone curve through the means of the levels.
type interpolation struct{ *stats.Monotone }

func newInterpolation(levels []level) (interpolation, error) {
	var xs, ts []float64
	for _, l := range levels {
		xs, ts = append(xs, l.x), append(ts, l.t)
	}
	m, err := stats.FitMonotone(xs, ts)
	return interpolation{m}, err
}

func (m interpolation) at(x float64) (t, s float64) { return m.At(x), m.Spread() }
func (m interpolation) df() int                     { return m.DF() }

// switched has the mean of each position of a switch, the spread pooled.
type switched struct {
	means   map[float64]mean
	s       float64
	freedom int
}

type mean struct {
	t float64
	n int
}

func newSwitch(levels []level) switched {
	m := switched{means: make(map[float64]mean)}
	var groups [][]float64
	for _, l := range levels {
		var group []float64
		for _, r := range l.readings {
			group = append(group, r.t)
		}
		groups = append(groups, group)
		m.means[l.x] = mean{l.t, len(group)}
	}
	m.s, m.freedom = stats.PooledSD(groups)
	return m
}

func (m switched) at(x float64) (t, s float64) {
	here := m.means[x]
	return here.t, m.s * math.Sqrt(1+1/float64(here.n))
}

func (m switched) df() int { return m.freedom }
