package web

import (
	"tidemark/server/desk"
	"tidemark/server/sealing"
)

// curvePlot draws a temperature table: what was measured with its uncertainty,
// the curve with its prediction band, the windows of the pouches and where their
// approved settings lie. It is nil for a table that makes no curve.
func curvePlot(v *desk.TableView) *plot {
	if len(v.Places) == 0 {
		return nil
	}
	p := newPlot("Temperature at the sealing face by position; the numbers stand in the table below.")
	a := curveAxes(v)
	fahrenheit := v.Scale == sealing.Fahrenheit
	p.vertical(a, fahrenheit)
	p.horizontal(a, v.Control, fahrenheit)
	for _, w := range v.Windows {
		p.pane(a, w.Low, w.High, w.Pouch)
		if w.At != nil {
			p.mark(a, *w.At, w.Approved)
		}
	}
	for _, place := range v.Places {
		p.place(a, place)
	}
	return p
}

// curveAxes cover all that is drawn of a table.
func curveAxes(v *desk.TableView) axes {
	var xs, ts []float64
	for _, place := range v.Places {
		for _, c := range append(append([]desk.CurvePoint{}, place.Points...), place.Samples...) {
			xs, ts = append(xs, c.X), append(ts, c.T-c.U, c.T+c.U)
		}
	}
	for _, w := range v.Windows {
		ts = append(ts, w.Low, w.High)
	}
	return axes{spanOf(.06, xs...), spanOf(.04, ts...)}
}

// horizontal labels the positions of a control.
func (p *plot) horizontal(a axes, control sealing.Unit, fahrenheit bool) {
	if control == sealing.Mark {
		p.XTitle = "position of the control"
		for _, x := range a.x.round(8) {
			cx, _ := a.at(x, a.y.low)
			p.XTicks = append(p.XTicks, tick{coord(cx), number(x)})
		}
		return
	}
	shown, back := a.x, func(t float64) float64 { return t }
	p.XTitle = "°C on the display"
	if fahrenheit {
		shown, p.XTitle = span{a.x.low*9/5 + 32, a.x.high*9/5 + 32}, "°F on the display"
		back = func(t float64) float64 { return (t - 32) * 5 / 9 }
	}
	for _, x := range shown.round(6) {
		cx, _ := a.at(back(x), a.y.low)
		p.XTicks = append(p.XTicks, tick{coord(cx), number(x)})
	}
}

func (p *plot) place(a axes, c desk.PlaceCurve) {
	name := string(c.Place)
	if name == "" {
		name = "whole bar"
	}
	kind := p.key(name)
	if c.Basis == sealing.EachPosition {
		for _, s := range c.Samples {
			p.dot(a, s.X, s.T, s.U, kind)
		}
		return
	}
	var xs, ts, low, high []float64
	for _, s := range c.Samples {
		xs, ts, low, high = append(xs, s.X), append(ts, s.T), append(low, s.T-s.U), append(high, s.T+s.U)
	}
	p.band(a, xs, low, high)
	p.line(a, xs, ts, kind)
	for _, m := range c.Points {
		p.dot(a, m.X, m.T, m.U, kind)
	}
}
