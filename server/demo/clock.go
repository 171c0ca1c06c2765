package demo

import (
	"sync"
	"time"
)

// Clock is the clock that a demo's ledger and desk share. It stands where it was
// set while the history is made, and follows the real clock afterwards. It may
// be used from any goroutine.
type Clock struct {
	real func() time.Time

	mu sync.RWMutex
	at time.Time // zero: as real
}

// NewClock makes a clock that stands where a history begins that ends now; real
// is time.Now outside of tests.
func NewClock(real func() time.Time) *Clock {
	c := newChronicle(real())
	return &Clock{real: real, at: c.moment(c.day(Days), opening)}
}

// Now returns the time of the clock.
func (c *Clock) Now() time.Time {
	c.mu.RLock()
	defer c.mu.RUnlock()
	if c.at.IsZero() {
		return c.real()
	}
	return c.at
}

// Set makes the clock stand at t.
func (c *Clock) Set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = t
}

// Follow lets the clock run on with the real one.
func (c *Clock) Follow() { c.Set(time.Time{}) }
