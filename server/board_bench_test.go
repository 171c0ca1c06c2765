package server_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"runtime"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server"
	"tidemark/server/desk"
	"tidemark/server/record"
)

// crowd is a department of many sealers, each ready for one pouch.
type crowd struct {
	*server.Server
	b       *testing.B
	who     desk.Caller
	device  string
	session string
	pouch   record.ID
	code    string // of one sealer
	bad     bool   // which of two changes comes next
}

func newCrowd(b *testing.B, sealers int) *crowd {
	b.Helper()
	s, err := server.New(server.Config{Dir: b.TempDir(), PublicURL: officeURL, Argon: cheap})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	c := &crowd{Server: s, b: b}
	token, err := s.Desk.MakeSetUp()
	require.NoError(b, err)
	first, err := s.Desk.Begin(b.Context(), desk.FirstIn{DepartmentIn: desk.DepartmentIn{From: c.from(), Name: "Packing room",
		Zone: "America/New_York", DayStart: "05:00"}, Token: token, Person: "V. Costa", PIN: pin})
	require.NoError(b, err)
	c.device, c.session = first.Device, first.Session.Token
	c.who, _ = s.Desk.Who(c.session, c.device)
	pouch, err := s.Desk.AddPouch(b.Context(), c.who, desk.PouchIn{From: c.from(), Name: "Paper/film 20 cm", Material: record.PaperFilm})
	require.NoError(b, err)
	c.pouch = pouch.Subject
	for n := range sealers {
		_, err := s.Desk.AddSealer(b.Context(), c.who, desk.SealerIn{From: c.from(), Number: fmt.Sprint(n + 1), Type: record.BarDial})
		require.NoError(b, err)
	}
	board, err := s.Desk.Board(c.who)
	require.NoError(b, err)
	require.Len(b, board.Sealers, sealers)
	for _, row := range board.Sealers {
		_, err := s.Desk.Approve(b.Context(), c.who, desk.ApproveIn{From: c.from(), Code: row.Code, Pouch: c.pouch, Value: "6",
			Unit: "mark", IFUIn: desk.IFUIn{Title: "IFU of the sealer", Page: "7"}})
		require.NoError(b, err)
		c.code = row.Code
	}
	return c
}

func (c *crowd) from() desk.From { return desk.From{ID: c.Desk.NewID(), Seen: c.Desk.Size()} }

func (c *crowd) request(path string) *http.Request {
	r := httptest.NewRequest(http.MethodGet, officeURL+path, nil)
	r.Header.Set("X-Tide-Device", c.device)
	r.Header.Set("Authorization", "Bearer "+c.session)
	r.Header.Set("Accept-Encoding", "gzip")
	return r
}

// openAll opens boards, three for a sign-in, and waits until each was told once.
func (c *crowd) openAll(n int) (sinks []*sink, end func()) {
	c.b.Helper()
	ctx, end := context.WithCancel(c.b.Context())
	_, device := c.Desk.Who("", c.device)
	for len(sinks) < n {
		if len(sinks)%3 == 0 {
			signed, err := c.Desk.SignIn(ctx, device, desk.SignInIn{Person: c.who.Person, PIN: pin})
			require.NoError(c.b, err)
			c.session = signed.Token
		}
		s := &sink{header: http.Header{}, events: make(chan struct{}, 64)}
		sinks = append(sinks, s)
		go c.Handler.ServeHTTP(s, c.request("/events").WithContext(ctx))
	}
	for _, s := range sinks {
		<-s.events
	}
	return sinks, end
}

// change changes the board and has every open one fetch it. It returns the
// processor time of all that.
func (c *crowd) change(open []*sink) time.Duration {
	c.b.Helper()
	what := record.PowerOff
	if c.bad = !c.bad; c.bad {
		what = record.KnobMoved
	}
	runtime.GC() // of what was opened before
	before := processorTime()
	_, err := c.Desk.Disturb(c.b.Context(), c.who, desk.DisturbIn{From: c.from(), Code: c.code, What: what})
	require.NoError(c.b, err)
	size := c.Desk.Size()
	for _, s := range open {
		<-s.events
		c.Handler.ServeHTTP(&sink{header: http.Header{}}, c.request(fmt.Sprintf("/board/part?seen=%d", size)))
	}
	return processorTime() - before
}

// sink is where an open board or an answer goes: nowhere, but counted.
type sink struct {
	header http.Header
	events chan struct{} // a signal for each write; nil for an answer
}

func (s *sink) Header() http.Header              { return s.header }
func (s *sink) WriteHeader(int)                  {}
func (s *sink) SetWriteDeadline(time.Time) error { return nil }
func (s *sink) Flush()                           {}
func (s *sink) Write(b []byte) (int, error) {
	if s.events != nil {
		s.events <- struct{}{}
	}
	return len(b), nil
}

// What one change costs for each open board of a department with 200 sealers:
// telling it, and sending it what it then fetches. It is processor time with 220
// boards open, less that with 20: the change itself and its one drawing are in
// both.
func BenchmarkOpenBoards(b *testing.B) {
	const sealers, few, more = 200, 20, 200
	c := newCrowd(b, sealers)
	var base, cost []float64
	for b.Loop() {
		one, end := c.openAll(few)
		small := c.change(one)
		end()
		all, end := c.openAll(few + more)
		cost = append(cost, float64((c.change(all)-small).Nanoseconds())/1e3/more)
		base = append(base, float64(small.Microseconds())/1e3)
		end()
	}
	b.ReportMetric(middleOf(cost), "us/board")
	b.ReportMetric(middleOf(base), "ms/change")
}

func middleOf(list []float64) float64 {
	slices.Sort(list)
	return list[len(list)/2]
}

func processorTime() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u) // of this process: never fails
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
