package web

import (
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// seriesPlot draws readings over time, their moving average and its limits; nil
// as long as there are too few to say anything.
func seriesPlot(f *desk.Frame, s *desk.Series) *plot {
	if len(s.Chart) == 0 {
		return nil
	}
	p := newPlot("Readings over time; they are listed below.")
	a := seriesAxes(s)
	p.vertical(a, f.Dept.Fahrenheit)
	p.dates(a, f)
	var xs, average, low, high []float64
	for _, c := range s.Chart {
		xs, average = append(xs, float64(c.At)), append(average, c.Average)
		low, high = append(low, c.Low), append(high, c.High)
	}
	p.band(a, xs, low, high)
	p.line(a, xs, average, p.key("moving average"))
	for _, r := range s.Readings {
		p.dot(a, float64(r.Line.From), r.T, 0, "a")
	}
	return p
}

func seriesAxes(s *desk.Series) axes {
	var xs, ts []float64
	for _, c := range s.Chart {
		xs, ts = append(xs, float64(c.At)), append(ts, c.Low, c.High, c.Average)
	}
	for _, r := range s.Readings {
		ts = append(ts, r.T)
	}
	return axes{spanOf(.04, xs...), spanOf(.08, ts...)}
}

// dates labels the ends and the middle of a time axis.
func (p *plot) dates(a axes, f *desk.Frame) {
	p.XTitle = "measured on"
	layout := "2 Jan"
	if time.Duration(a.x.high-a.x.low)*time.Millisecond > 330*24*time.Hour {
		layout = "Jan 2006"
	}
	for i := range 3 {
		x := a.x.low + (a.x.high-a.x.low)*(.1+.4*float64(i))
		cx, _ := a.at(x, a.y.low)
		p.XTicks = append(p.XTicks, tick{coord(cx), f.In(record.Time(x)).Format(layout)})
	}
}
