package desk

import (
	"fmt"
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

// Series is what a reference instrument measured over time at one setting and
// place.
type Series struct {
	Setting  string         `json:"setting"` // as a person reads it
	Place    record.Place   `json:"place,omitempty"`
	Readings []ReadingView  `json:"readings"` // newest first
	Course   sealing.Course `json:"course"`
	Missing  int            `json:"missing"`             // readings until a trend is stated
	PerMonth string         `json:"per_month,omitempty"` // median slope, with its sign
	Between  string         `json:"between,omitempty"`   // its 95 % limits
	Chart    []SeriesPoint  `json:"chart"`               // in order of time
	set      sealing.Quantity
	typed    sealing.Series
}

// ReadingView is one reading.
type ReadingView struct {
	Line Line    `json:"line"`
	Face string  `json:"face"` // as typed
	T    float64 `json:"t"`    // in degrees Celsius
}

// SeriesPoint is the moving average at an instant and its limits, in degrees
// Celsius.
type SeriesPoint struct {
	At      record.Time `json:"at"`
	Average float64     `json:"average"`
	Low     float64     `json:"low"`
	High    float64     `json:"high"`
}

// seriesOf sorts readings, newest first, by setting and place.
func seriesOf(lines []Line, scale sealing.Unit) (list []Series) {
	for _, l := range lines {
		b := l.Body.(*record.Reading)
		set, err1 := rules.Read(b.Set)
		face, err2 := rules.Read(b.Face)
		if err1 != nil || err2 != nil {
			continue
		}
		i := slices.IndexFunc(list, func(s Series) bool {
			return s.set.Same(set) && s.Place == b.Place
		})
		if i < 0 {
			i, list = len(list), append(list, Series{Setting: set.String(), Place: b.Place, set: set})
		}
		list[i].Readings = append(list[i].Readings, ReadingView{l, face.String(), base(b.Face)})
		list[i].typed.Readings = append(list[i].typed.Readings,
			sealing.TimedReading{At: l.From.Time(), Face: face})
	}
	for i := range list {
		list[i].assess(scale)
	}
	return list
}

func (s *Series) assess(scale sealing.Unit) {
	d, err := s.typed.Assess()
	if err != nil {
		return
	}
	s.Course, s.Missing = d.Course, max(0, sealing.LeastReadings-d.Readings)
	if d.Course == sealing.TooFew {
		return
	}
	s.PerMonth = signed(d.PerMonth, scale)
	s.Between = signed(d.Low, scale) + " to " + signed(d.High, scale)
	times := s.times()
	for i, p := range d.Chart {
		s.Chart = append(s.Chart, SeriesPoint{times[i], p.Z, p.Low, p.High})
	}
}

// times are the instants of the readings in order, each once, as Assess joins
// readings of one instant.
func (s *Series) times() (list []record.Time) {
	for _, r := range s.Readings {
		list = append(list, r.Line.From)
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// signed is a difference of temperature with its sign: "+0.4 °C".
func signed(celsius float64, scale sealing.Unit) string {
	if scale == sealing.Fahrenheit {
		celsius = celsius * 9 / 5
	}
	return fmt.Sprintf("%+.1f %s", celsius, scale.Symbol())
}
