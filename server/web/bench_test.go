package web_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tidemark/server"
	"tidemark/server/desk"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/web"
)

// roundTime is how long each side of a round runs.
const roundTime = time.Second

// BenchmarkCheck compares checks that are on disk when they are answered with
// the same POST whose use case answers at once: the same route, binding and
// middleware, on the same machine in the same run. Each iteration is one round
// of both sides; durable/bare is the median of the rounds' ratios.
// work-bare/durable is the same of the processor's time for one check: what the
// ratio would be with a disk that takes no time. Both sides run on as many threads
// as serve does.
//
//	go test -run xxx -bench Check -benchtime 9x ./server/web
func BenchmarkCheck(b *testing.B) {
	for _, callers := range []int{1, 64, 256} {
		b.Run(fmt.Sprintf("callers=%d", callers), func(b *testing.B) {
			server.SpareProcessor()
			s := newStation(b)
			var ratios, durables, bares, work []float64
			for b.Loop() {
				durable, durableWork := s.perSecond(s.durable, callers)
				bare, bareWork := s.perSecond(s.bare, callers)
				durables, bares = append(durables, durable), append(bares, bare)
				ratios, work = append(ratios, durable/bare), append(work, bareWork/durableWork)
			}
			b.ReportMetric(middle(ratios), "durable/bare")
			b.ReportMetric(middle(work), "work-bare/durable")
			b.ReportMetric(middle(durables), "durable/s")
			b.ReportMetric(middle(bares), "bare/s")
			b.ReportMetric(0, "ns/op")
		})
	}
}

// BenchmarkSealerPage opens the page of a sealer with 90 days of checks behind it
// on one connection:
//
//	go test -run xxx -bench SealerPage -benchtime 3000x ./server/web
func BenchmarkSealerPage(b *testing.B) {
	s, took := newStation(b), []time.Duration{}
	c := dial(s.durable)
	for seen := s.size; len(took) < 90; took = append(took, 0) {
		seen = s.send(c, 0, seen)
	}
	took = took[:0]
	page := fmt.Sprintf("GET /S/%s HTTP/1.1\r\nHost: tide.test\r\n%s\r\n", s.codes[0], s.headers)
	var size int
	for b.Loop() {
		began := time.Now()
		status, body := c.send(page)
		took = append(took, time.Since(began))
		if size = len(body); status != http.StatusOK {
			b.Fatal(status, string(body))
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-us")
	b.ReportMetric(float64(size), "bytes")
}

func middle(all []float64) float64 {
	slices.Sort(all)
	return all[len(all)/2]
}

// station is a department with a ready sealer for each caller, served twice: with
// its store, and bare.
type station struct {
	durable, bare  string // addresses
	headers, pouch string
	codes          []string     // of the sealers' labels
	approvals      []record.Seq // of their settings
	size           int64        // of the ledger, as far as a caller has been told
	ids            atomic.Int64
}

const maxCallers = 256

func newStation(b *testing.B) *station {
	b.Helper()
	s, err := server.New(server.Config{Dir: b.TempDir(), PublicURL: officeURL, Argon: people.Argon{Memory: 64, Time: 1, Threads: 1}})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	bare, err := web.Bare(web.Options{Desk: s.Desk, PublicURL: officeURL})
	require.NoError(b, err)
	st := &station{durable: listen(b, s.Handler), bare: listen(b, bare)}
	st.furnish(b, s.Desk)
	return st
}

func listen(b *testing.B, h http.Handler) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	web := &http.Server{Handler: h}
	go web.Serve(l)
	b.Cleanup(func() { web.Close() })
	return l.Addr().String()
}

func (s *station) furnish(b *testing.B, d *desk.Desk) {
	token, err := d.MakeSetUp()
	require.NoError(b, err)
	first, err := d.Begin(b.Context(), desk.FirstIn{Token: token, Person: "V. Costa", PIN: "481516",
		DepartmentIn: desk.DepartmentIn{Name: "Packing room", Zone: "America/New_York", DayStart: "05:00"}})
	require.NoError(b, err)
	who, _ := d.Who(first.Session.Token, first.Device)
	pouch, err := d.AddPouch(b.Context(), who, desk.PouchIn{Name: "Paper/film", Material: record.PaperFilm})
	require.NoError(b, err)
	s.pouch = pouch.Subject.String()
	s.headers = fmt.Sprintf("Authorization: Bearer %s\r\nX-Tide-Device: %s\r\n", first.Session.Token, first.Device)
	for n := range maxCallers {
		sealer, err := d.AddSealer(b.Context(), who, desk.SealerIn{Number: strconv.Itoa(n + 1), Type: record.BarDial})
		require.NoError(b, err)
		approval, err := d.Approve(b.Context(), who, desk.ApproveIn{Code: sealer.Code, Pouch: pouch.Subject, Value: "6", Unit: "mark",
			IFUIn: desk.IFUIn{Title: "Manual", Page: "9"}})
		require.NoError(b, err)
		s.codes, s.approvals = append(s.codes, sealer.Code), append(s.approvals, approval.Seq)
		s.size = approval.Size
	}
}

// send sends a check of a caller's sealer, with an id of its own, and returns how
// much there was to see afterwards.
func (s *station) send(c *wire, caller int, seen int64) int64 {
	body := fmt.Sprintf(`{"id":"%032x","seen":%d,"pouch":"%s","approval":%d,"outcome":"pass"}`,
		s.ids.Add(1), seen, s.pouch, s.approvals[caller])
	status, answer := c.send(fmt.Sprintf("POST /api/v1/sealers/%s/checks HTTP/1.1\r\nHost: tide.test\r\n"+
		"Content-Type: application/json\r\nContent-Length: %d\r\n%s\r\n%s", s.codes[caller], len(body), s.headers, body))
	if status != http.StatusCreated {
		panic(string(answer))
	}
	_, size, _ := strings.Cut(string(answer), `"size":`)
	seen, err := strconv.ParseInt(size[:strings.IndexAny(size, ",}")], 10, 64)
	if err != nil {
		panic(err)
	}
	return seen
}

// perSecond sends checks on many connections at once. It returns how many were
// taken in a second, and the seconds of processor time of each, the caller's too.
func (s *station) perSecond(address string, callers int) (rate, work float64) {
	var done atomic.Int64
	var wait sync.WaitGroup
	told := make([]int64, callers)
	began, worked := time.Now(), processorTime()
	for caller := range callers {
		wait.Go(func() {
			c := dial(address)
			defer c.Close()
			seen := s.size
			for ; time.Since(began) < roundTime; done.Add(1) {
				seen = s.send(c, caller, seen)
			}
			told[caller] = seen
		})
	}
	wait.Wait()
	if address == s.durable {
		s.size = slices.Max(told)
	}
	count := float64(done.Load())
	return count / time.Since(began).Seconds(), (processorTime() - worked).Seconds() / count
}

func processorTime() time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// wire is a connection that costs as little as it can, so that what is measured
// is the server.
type wire struct {
	net.Conn
	in *bufio.Reader
}

func dial(address string) *wire {
	c, err := net.Dial("tcp", address)
	if err != nil {
		panic(err)
	}
	return &wire{c, bufio.NewReaderSize(c, 64<<10)}
}

// send sends a request and reads status and body of the answer.
func (w *wire) send(request string) (status int, body []byte) {
	if _, err := io.WriteString(w, request); err != nil {
		panic(err)
	}
	line, length, chunked := w.line(), 0, false
	status, _ = strconv.Atoi(line[9:12])
	for {
		line = w.line()
		switch name, value, _ := strings.Cut(line, ": "); {
		case line == "":
			if !chunked {
				return status, w.read(length)
			}
			return status, w.chunks()
		case strings.EqualFold(name, "Content-Length"):
			length, _ = strconv.Atoi(value)
		case strings.EqualFold(name, "Transfer-Encoding"):
			chunked = true
		}
	}
}

func (w *wire) line() string {
	line, err := w.in.ReadString('\n')
	if err != nil {
		panic(err)
	}
	return strings.TrimSuffix(line, "\r\n")
}

func (w *wire) read(n int) []byte {
	b := make([]byte, n)
	if _, err := io.ReadFull(w.in, b); err != nil {
		panic(err)
	}
	return b
}

func (w *wire) chunks() (all []byte) {
	for {
		n, err := strconv.ParseInt(w.line(), 16, 64)
		if err != nil {
			panic(err)
		}
		all = append(all, w.read(int(n))...)
		if w.line(); n == 0 {
			return all
		}
	}
}
