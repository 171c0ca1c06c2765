package sealing

import (
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"tidemark/server/fault"
	"tidemark/server/stats"
)

// Series is what a reference instrument measured over time, always at the same
// setting and place. Neither what was set nor what was shown belongs here.
type Series struct {
	Readings []TimedReading
	Expected Quantity // where the face should be; missing: the mean of the readings
	Spread   Quantity // standard deviation of one reading, a difference; missing: from the steps
}

// TimedReading is one measured face temperature.
type TimedReading struct {
	At   time.Time
	Face Quantity
}

// LeastReadings is how many readings, at different times, a trend is stated
// from.
const LeastReadings = 6

const (
	driftLambda = 0.2  // weight of the newest reading in the moving average
	driftWidth  = 3    // of its limits, in standard deviations
	driftLevel  = 0.05 // of the test for a trend, and of the limits of its slope
)

// Drift is what a series shows. Temperatures are degrees Celsius. With too few
// readings only Readings and Course are set.
type Drift struct {
	Readings  int // at different times; those of one time are averaged
	Course    Course
	Chart     []stats.EWMAPoint // in order of time
	FirstOut  int               // index in Chart of the first average beyond its limits, -1 if none
	PerMonth  float64           // median slope, °C in 30 days
	Low, High float64           // its 95 % limits
	P         float64           // of the Mann-Kendall test for a trend
	Exact     bool              // P counted out; else normal with continuity correction

	last        time.Time
	atLast, day float64 // height of the median line at the last reading, and its slope a day
}

// Course is what the measured temperature does.
type Course string

const (
	TooFew   Course = "too-few"  // fewer than six readings: nothing is said
	Steady   Course = "steady"   // neither of these two
	Shifted  Course = "shifted"  // the moving average left its limits, without a trend
	Drifting Course = "drifting" // a trend at the 5 % level
)

// Assess charts the series (EWMA, lambda 0.2, limits at 3 standard deviations)
// and tests it for a trend (Theil-Sen, Mann-Kendall). It refuses a reading that
// is no temperature.
func (s Series) Assess() (Drift, error) {
	days, temps, last, err := s.averaged()
	if err != nil {
		return Drift{}, err
	}
	d := Drift{Readings: len(temps), Course: TooFew, FirstOut: -1, last: last}
	if d.Readings < LeastReadings {
		return d, nil
	}
	chart, err := s.chart(temps)
	if err != nil {
		return Drift{}, err
	}
	d.Chart = chart.Run(temps)
	d.FirstOut = slices.IndexFunc(d.Chart, stats.EWMAPoint.Outside)
	return d, d.trend(days, temps)
}

// trend fills in slope, test and course.
func (d *Drift) trend(days, temps []float64) error {
	slope, err := stats.TheilSen(days, temps, 1-driftLevel)
	if err != nil {
		return err
	}
	test, err := stats.TestTrend(temps)
	if err != nil {
		return err
	}
	d.PerMonth, d.Low, d.High = 30*slope.B, 30*slope.Low, 30*slope.High
	d.P, d.Exact = test.P, test.Exact
	d.atLast, d.day = slope.A+slope.B*days[len(days)-1], slope.B
	switch {
	case d.P < driftLevel:
		d.Course = Drifting
	case d.FirstOut >= 0:
		d.Course = Shifted
	default:
		d.Course = Steady
	}
	return nil
}

// farthest is how far ahead a date is stated. Common practice, no source: a
// slope of months tells nothing of years.
const farthest = 366

// Leaves returns when a drifting temperature leaves the limits if it goes on as
// it did, its last reading's day at the earliest. ok is false when it does not
// drift, does not leave within a year, or there are too few readings.
func (d Drift) Leaves(l Limits) (at time.Time, ok bool) {
	if d.Course != Drifting || d.day == 0 {
		return time.Time{}, false
	}
	limit := l.High
	if d.day < 0 {
		limit = l.Low
	}
	days := max(0, (limit-d.atLast)/d.day)
	if days > farthest {
		return time.Time{}, false
	}
	return d.last.Add(time.Duration(days * 24 * float64(time.Hour))), true
}

// averaged sorts the readings, averages those of one time, and returns their
// times in days since the first.
func (s Series) averaged() (days, temps []float64, last time.Time, err error) {
	rs := slices.Clone(s.Readings)
	slices.SortStableFunc(rs, func(a, b TimedReading) int { return a.At.Compare(b.At) })
	count := 0.0
	for _, r := range rs {
		t, err := temperature("face", r.Face)
		if err != nil {
			return nil, nil, last, err
		}
		day := r.At.Sub(rs[0].At).Hours() / 24
		if n := len(days); n > 0 && days[n-1] == day {
			count++
			temps[n-1] += (t - temps[n-1]) / count
			continue
		}
		days, temps, count, last = append(days, day), append(temps, t), 1, r.At
	}
	return days, temps, last, nil
}

// chart sets up the moving average from what was given, or from the readings.
func (s Series) chart(temps []float64) (stats.EWMA, error) {
	e := stats.EWMA{Lambda: driftLambda, Width: driftWidth}
	e.Center, e.Sigma = stat.Mean(temps, nil), stats.MovingRangeSD(temps)
	var err error
	if !s.Expected.Missing() {
		if e.Center, err = temperature("expected", s.Expected); err != nil {
			return e, err
		}
	}
	if !s.Spread.Missing() {
		if e.Sigma, err = s.Spread.DifferenceIn(Celsius); err != nil || e.Sigma <= 0 {
			return e, fault.Field("spread",
				"Type the spread of a reading in °C or °F, above zero.")
		}
	}
	return e, nil
}
