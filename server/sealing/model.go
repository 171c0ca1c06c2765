package sealing

import (
	"math"

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

// summarize takes the mean from the first reading on, so that readings which
// are alike have exactly that mean.
func (l *level) summarize() {
	first := l.readings[0].t
	var w, wd float64
	for _, r := range l.readings {
		w += 1 / (r.u * r.u)
		wd += (r.t - first) / (r.u * r.u)
		l.u = max(l.u, r.u)
	}
	l.t = first + wd/w
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
