package people

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// WaitError is the cause of a fault that time will mend. Ask with RetryAfter.
type WaitError struct{ For time.Duration }

// Error tells the wait, for the log.
func (e *WaitError) Error() string { return "wait " + e.For.String() }

// RetryAfter returns how long to wait before a try that err refused may
// succeed, and whether err says so.
func RetryAfter(err error) (time.Duration, bool) {
	var wait *WaitError
	if !errors.As(err, &wait) {
		return 0, false
	}
	return wait.For, true
}

// inWords tells a wait as a person would, never shorter than it is.
func inWords(d time.Duration) string {
	switch {
	case d <= 90*time.Second:
		return count(d.Seconds(), "second")
	case d <= 90*time.Minute:
		return count(d.Minutes(), "minute")
	}
	return count(d.Hours(), "hour")
}

func count(n float64, unit string) string {
	whole := max(1, int(math.Ceil(n)))
	if whole == 1 {
		return "1 " + unit
	}
	return fmt.Sprintf("%d %ss", whole, unit)
}

// window counts events in stretches of per and refuses beyond max a stretch.
// It is kept in memory: a restart begins a new stretch. The store's write lock
// guards it.
type window struct {
	max   int
	per   time.Duration
	from  time.Time
	count int
}

// left returns how long the stretch goes on if it is full, else 0.
func (w *window) left(now time.Time) time.Duration {
	if age := now.Sub(w.from); age < 0 || age >= w.per {
		w.from, w.count = now, 0
	}
	if w.count < w.max {
		return 0
	}
	return w.per - now.Sub(w.from)
}
