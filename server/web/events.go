package web

import (
	"crypto/sha256"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// How many boards may be open: for one sign-in, and in all.
const (
	streamsEach = 3
	streamsAll  = 400
)

// How long one write to an open stream may take, and how much time lies between
// two messages at least.
const (
	streamWrite = 10 * time.Second
	streamPause = time.Second
)

// streams counts the open event streams.
type streams struct {
	mu   sync.Mutex
	all  int
	each map[string]int
}

func (s *streams) enter(session string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all >= streamsAll || s.each[session] >= streamsEach {
		return false
	}
	if s.each == nil {
		s.each = map[string]int{}
	}
	s.all++
	s.each[session]++
	return true
}

func (s *streams) leave(session string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all--
	if s.each[session]--; s.each[session] == 0 {
		delete(s.each, session)
	}
}

// events tells an open board that something changed, and nothing more: what has
// changed is fetched under the normal check. The session is asked for again at
// every change and every half minute; each write has a deadline of its own, so a
// reader that has gone or hangs is dropped. A browser that comes back fetches
// all anew.
func (h *house) events(c echo.Context) error {
	who := caller(c)
	if _, err := h.desk.Glance(who); err != nil {
		return err
	}
	if !h.streams.enter(who.Session()) {
		return fault.New(fault.TooMany, "Too many boards are open. Close one, then load this page again.")
	}
	defer h.streams.leave(who.Session())
	signal, leave := h.boards.join(who.Dept)
	defer leave()
	header := c.Response().Header()
	header.Set("Content-Type", "text/event-stream")
	header.Set("X-Accel-Buffering", "no")
	c.Response().WriteHeader(http.StatusOK)
	s := stream{h: h, who: who, w: c.Response()}
	for s.next() {
		select {
		case <-c.Request().Context().Done():
			return nil
		case <-h.closing:
			return nil
		case <-signal:
		}
	}
	return nil
}

// stream is one open board.
type stream struct {
	h    *house
	who  desk.Caller
	w    http.ResponseWriter
	says [sha256.Size]byte // what the reader was told of last
	sent bool
}

// next tells the reader where the board is; false if the stream is over.
func (s *stream) next() bool {
	if s.sent && !s.h.desk.StillIn(s.who) {
		return false
	}
	d, err := s.h.boards.at(s.who.Dept, 1)
	if err != nil {
		return false
	}
	text := "event: alive\ndata: " + d.Clock + "\n\n"
	if !s.sent || d.says != s.says {
		text = fmt.Sprintf("id: %d\ndata: board\n\n", d.Size)
	}
	s.says, s.sent = d.says, true
	return send(s.w, text)
}

// send writes to the stream; false if the reader is gone or too slow.
func send(w http.ResponseWriter, text string) bool {
	control := http.NewResponseController(w)
	if err := control.SetWriteDeadline(time.Now().Add(streamWrite)); err != nil {
		return false
	}
	if _, err := w.Write([]byte(text)); err != nil {
		return false
	}
	return control.Flush() == nil
}
