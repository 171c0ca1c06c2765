package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// plot is a drawing of numbers: see static/templates/partials/plot.html. Its
// coordinates are those of a box of plotWidth by plotHeight.
type plot struct {
	Label          string // what a screen reader says of it
	W, H           int
	Panes          []pane
	Bands          []string
	Lines          []stroke
	Dots           []dot
	Marks          []mark
	Keys           []key
	XTicks, YTicks []tick
	Left, Right    string
	Top, Bottom    string
	XTitle, YTitle string
}

// pane is a range of the vertical axis.
type pane struct{ Y, H, Text, TextX, TextY, Anchor string }

type stroke struct{ D, Kind string }

// dot is a point; Low and High are the ends of its bar, empty without one.
type dot struct{ X, Y, Kind, Low, High string }

// mark is a position that matters.
type mark struct{ X, Text string }

// key tells what a kind of line and dot stands for.
type key struct{ X, TextX, Text, Kind string }

type tick struct{ At, Text string }

// The box of a plot, and the field within it that the axes frame.
const (
	plotWidth, plotHeight = 360, 280
	fieldLeft, fieldRight = 48.0, 352.0
	fieldTop, fieldBottom = 44.0, 232.0
)

// kindsOfLine tell several lines apart without colour.
var kindsOfLine = []string{"a", "b", "c", "d"}

// axes turn numbers into coordinates.
type axes struct{ x, y span }

// span is a range of numbers.
type span struct{ low, high float64 }

func newPlot(label string) *plot {
	return &plot{Label: label, W: plotWidth, H: plotHeight, Left: coord(fieldLeft), Right: coord(fieldRight),
		Top: coord(fieldTop), Bottom: coord(fieldBottom)}
}

func (a axes) at(x, y float64) (cx, cy float64) {
	cx = fieldLeft + (x-a.x.low)/(a.x.high-a.x.low)*(fieldRight-fieldLeft)
	cy = fieldBottom - (y-a.y.low)/(a.y.high-a.y.low)*(fieldBottom-fieldTop)
	return cx, cy
}

// spanOf covers values with a margin on either side.
func spanOf(margin float64, values ...float64) span {
	s := span{math.Inf(1), math.Inf(-1)}
	for _, v := range values {
		s.low, s.high = min(s.low, v), max(s.high, v)
	}
	if s.high == s.low {
		s.low, s.high = s.low-1, s.high+1
	}
	wide := s.high - s.low
	return span{s.low - margin*wide, s.high + margin*wide}
}

// round lists round numbers within s, at most n of them.
func (s span) round(n int) (list []float64) {
	step := math.Pow(10, math.Floor(math.Log10((s.high-s.low)/float64(n))))
	for _, factor := range []float64{1, 2, 5, 10} {
		if (s.high-s.low)/(factor*step) <= float64(n) {
			step *= factor
			break
		}
	}
	for i := math.Ceil(s.low / step); i*step <= s.high; i++ {
		list = append(list, i*step)
	}
	return list
}

// vertical labels the vertical axis with temperatures in the scale that a reader
// chose.
func (p *plot) vertical(a axes, fahrenheit bool) {
	shown, back := a.y, func(t float64) float64 { return t }
	p.YTitle = "°C at the sealing face"
	if fahrenheit {
		shown = span{a.y.low*9/5 + 32, a.y.high*9/5 + 32}
		back = func(t float64) float64 { return (t - 32) * 5 / 9 }
		p.YTitle = "°F at the sealing face"
	}
	for _, t := range shown.round(6) {
		_, y := a.at(a.x.low, back(t))
		p.YTicks = append(p.YTicks, tick{coord(y), number(t)})
	}
}

// pane draws a range of temperatures; its words stand where they cross none of
// the others'.
func (p *plot) pane(a axes, low, high float64, text string) {
	_, top := a.at(a.x.low, min(high, a.y.high))
	_, bottom := a.at(a.x.low, max(low, a.y.low))
	w := pane{Y: coord(top), H: coord(bottom - top), Text: text, TextX: coord(fieldLeft + 6), Anchor: "start",
		TextY: coord(top + 16)}
	if len(p.Panes)%2 == 1 {
		w.TextX, w.Anchor, w.TextY = coord(fieldRight-6), "end", coord(bottom-6)
	}
	p.Panes = append(p.Panes, w)
}

// band is the area between two lines over the same positions.
func (p *plot) band(a axes, xs, low, high []float64) {
	var d strings.Builder
	for i := range xs {
		point(&d, a, i == 0, xs[i], high[i])
	}
	for i := len(xs) - 1; i >= 0; i-- {
		point(&d, a, false, xs[i], low[i])
	}
	p.Bands = append(p.Bands, d.String()+"Z")
}

func (p *plot) line(a axes, xs, ys []float64, kind string) {
	var d strings.Builder
	for i := range xs {
		point(&d, a, i == 0, xs[i], ys[i])
	}
	p.Lines = append(p.Lines, stroke{d.String(), kind})
}

func point(d *strings.Builder, a axes, first bool, x, y float64) {
	verb := "L"
	if first {
		verb = "M"
	}
	cx, cy := a.at(x, min(max(y, a.y.low), a.y.high))
	fmt.Fprintf(d, "%s%s %s", verb, coord(cx), coord(cy))
}

// dot draws a point, with a bar of u on either side unless u is 0.
func (p *plot) dot(a axes, x, y, u float64, kind string) {
	cx, cy := a.at(x, y)
	d := dot{X: coord(cx), Y: coord(cy), Kind: kind}
	if u > 0 {
		_, low := a.at(x, max(y-u, a.y.low))
		_, high := a.at(x, min(y+u, a.y.high))
		d.Low, d.High = coord(low), coord(high)
	}
	p.Dots = append(p.Dots, d)
}

// mark draws a position that matters, once however often it is asked for.
func (p *plot) mark(a axes, x float64, text string) {
	cx, _ := a.at(x, a.y.low)
	for _, m := range p.Marks {
		if m.X == coord(cx) {
			return
		}
	}
	if x >= a.x.low && x <= a.x.high {
		p.Marks = append(p.Marks, mark{coord(cx), text})
	}
}

// key names the next kind of line and returns it.
func (p *plot) key(text string) (kind string) {
	kind = kindsOfLine[len(p.Keys)%len(kindsOfLine)]
	x := fieldLeft + 4 + 100*float64(len(p.Keys))
	p.Keys = append(p.Keys, key{coord(x + 6), coord(x + 18), text, kind})
	return kind
}

// coord is a coordinate, to a tenth of a unit.
func coord(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

// number is a round number of an axis.
func number(x float64) string { return strconv.FormatFloat(math.Round(x*1e6)/1e6, 'f', -1, 64) }
