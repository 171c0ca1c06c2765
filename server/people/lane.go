package people

import (
	"time"

	"tidemark/server/fault"
)

const (
	argonRunning = 2 // of 19 MiB and about 90 ms each
	argonWaiting = 8
)

// lane lets a few run, a few more wait, and sends the rest away, so that
// guesses cannot take all memory or all cores.
type lane struct{ places, running chan struct{} }

func newLane(running, waiting int) lane {
	return lane{make(chan struct{}, running+waiting), make(chan struct{}, running)}
}

// enter waits for its turn; the caller calls leave when done. With the queue
// full it is fault.Busy.
func (l lane) enter() (leave func(), err error) {
	select {
	case l.places <- struct{}{}:
	default:
		return nil, fault.Wrap(&WaitError{time.Second}, fault.Busy,
			"Many people are signing in right now. Try again in a moment.")
	}
	l.running <- struct{}{}
	return func() { <-l.running; <-l.places }, nil
}
