package web

import (
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// How many boards may be open: for one person, and in all.
const (
	streamsEach = 3
	streamsAll  = 400
)

// How often an open stream is looked after, how long one write may take, and
// how much time lies between two messages at least.
const (
	streamPulse = 30 * time.Second
	streamWrite = 10 * time.Second
	streamPause = time.Second
)

// streams counts the open event streams.
type streams struct {
	mu   sync.Mutex
	all  int
	each map[record.ID]int
}

func (s *streams) enter(who record.ID) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all >= streamsAll || s.each[who] >= streamsEach {
		return false
	}
	if s.each == nil {
		s.each = map[record.ID]int{}
	}
	s.all++
	s.each[who]++
	return true
}

func (s *streams) leave(who record.ID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all--
	if s.each[who]--; s.each[who] == 0 {
		delete(s.each, who)
	}
}

// events tells an open board that something changed, and nothing more: what has
// changed is fetched under the normal check. Each write has a deadline of its
// own, so a reader that has gone holds nothing up.
func (h *house) events(c echo.Context) error {
	who := caller(c)
	changed, stop, err := h.desk.Watch(who)
	if err != nil {
		return err
	}
	defer stop()
	if !h.streams.enter(who.Person) {
		return fault.New(fault.TooMany, "Too many boards are open. Close one, then load this page again.")
	}
	defer h.streams.leave(who.Person)
	header := c.Response().Header()
	header.Set("Content-Type", "text/event-stream")
	header.Set("X-Accel-Buffering", "no")
	c.Response().WriteHeader(http.StatusOK)
	return h.stream(c, who, changed)
}

func (h *house) stream(c echo.Context, who desk.Caller, changed <-chan struct{}) error {
	pulse := time.NewTicker(streamPulse)
	defer pulse.Stop()
	text := fmt.Sprintf("id: %d\ndata: board\n\n", h.desk.Size())
	for {
		if !send(c, text) {
			return nil
		}
		select {
		case <-c.Request().Context().Done():
			return nil
		case <-h.closing:
			return nil
		case <-pulse.C:
			text = ": still here\n\n"
		case <-changed:
			time.Sleep(streamPause) // a burst makes one message
			text = fmt.Sprintf("id: %d\ndata: board\n\n", h.desk.Size())
		}
		if !h.desk.StillIn(who) {
			return nil
		}
	}
}

// send writes to the stream; false if the reader is gone or too slow.
func send(c echo.Context, text string) bool {
	control := http.NewResponseController(c.Response())
	if err := control.SetWriteDeadline(time.Now().Add(streamWrite)); err != nil {
		return false
	}
	if _, err := c.Response().Write([]byte(text)); err != nil {
		return false
	}
	return control.Flush() == nil
}
