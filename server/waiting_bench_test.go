package server_test

import (
	"context"
	"net"
	"net/http"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server"
	"tidemark/server/desk"
	"tidemark/server/ledger"
	"tidemark/server/record"
)

// BenchmarkTenThousandMessagesWait starts a server and draws pages with nothing in
// the outbox, with a dozen messages and with 10,000 that no mail server takes, by
// turns in one go, and tells the ratios of the medians. The worker runs all the
// while. The page of the messages lists the oldest twelve, so that of a dozen says
// what their number costs, that of none what listing them does.
func BenchmarkTenThousandMessagesWait(b *testing.B) {
	none, dozen, many := newWaiting(b, 0), newWaiting(b, 12), newWaiting(b, 10_000)
	all := []*waiting{none, dozen, many}
	for range b.N {
		for range 15 {
			for _, w := range all {
				w.start(b)
			}
		}
		var stops []func()
		for _, w := range all {
			stops = append(stops, w.serve(b))
		}
		for _, path := range []string{"/hand-over", "/", "/outbox"} {
			for range 60 {
				for _, w := range all {
					w.get(b, path)
				}
			}
		}
		for _, stop := range stops {
			stop()
		}
	}
	for what := range none.took {
		a, d, z := median(none.took[what]), median(dozen.took[what]), median(many.took[what])
		b.ReportMetric(float64(a.Microseconds())/1000, what+"-none-ms")
		b.ReportMetric(float64(z.Microseconds())/1000, what+"-10000-ms")
		b.ReportMetric(float64(z)/float64(a), what+"-10000/none")
		b.ReportMetric(float64(z)/float64(d), what+"-10000/12")
	}
}

func median(list []time.Duration) time.Duration {
	slices.Sort(list)
	return list[len(list)/2]
}

type waiting struct {
	config  server.Config
	session string
	device  string
	url     string
	took    map[string][]time.Duration
}

// newWaiting makes a folder of 500 records with so many messages to people who have
// a mail address.
func newWaiting(b *testing.B, messages int) *waiting {
	w := &waiting{config: server.Config{Dir: b.TempDir(), PublicURL: officeURL, Argon: cheap}, took: map[string][]time.Duration{}}
	s, err := server.New(w.config)
	require.NoError(b, err)
	token, err := s.Desk.MakeSetUp()
	require.NoError(b, err)
	in := desk.FirstIn{Token: token, Person: "V. Costa", PIN: "481516"}
	in.ID, in.Name, in.Zone = s.Desk.NewID(), "Packing room", "America/New_York"
	first, err := s.Desk.Begin(b.Context(), in)
	require.NoError(b, err)
	w.session, w.device = first.Session.Token, first.Device
	who, _ := s.Desk.Who(w.session, w.device)
	_, err = s.Desk.ChangePerson(b.Context(), who, desk.PersonIn{From: desk.From{ID: s.Desk.NewID()}, Person: first.Person, Name: "V. Costa",
		Mail: "v.costa@lanternfield.example", Roles: []record.Role{record.Lead, record.Administrator}})
	require.NoError(b, err)
	require.NoError(b, s.Close())

	book, err := ledger.Open(ledger.Options{Dir: w.config.Dir, Fold: desk.Fold()})
	require.NoError(b, err)
	const records = 500
	left, each := messages, max(messages/records, 12)
	for range records {
		var to []ledger.Message
		for n := range min(left, each) {
			to = append(to, ledger.Message{Route: "step-" + strconv.Itoa(n), To: first.Person})
		}
		left -= len(to)
		r, err := record.New(&record.Note{})
		require.NoError(b, err)
		r.Subject, r.Dept, r.By = record.Subject{Type: record.Department, ID: first.Dept}, first.Dept, first.Person
		_, err = book.Append(b.Context(), ledger.Command{ID: s.Desk.NewID(), Decide: func(record.View, record.Time) ([]ledger.Draft, error) {
			return []ledger.Draft{{Record: r, Outbox: to}}, nil
		}})
		require.NoError(b, err)
	}
	require.NoError(b, book.Close())
	return w
}

func (w *waiting) start(b *testing.B) {
	began := time.Now()
	s, err := server.New(w.config)
	require.NoError(b, err)
	w.took["start"] = append(w.took["start"], time.Since(began))
	require.NoError(b, s.Close())
}

// serve runs a server, and its worker, until stop.
func (w *waiting) serve(b *testing.B) (stop func()) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	w.url = "http://" + l.Addr().String()
	config := w.config
	config.PublicURL = w.url
	s, err := server.New(config)
	require.NoError(b, err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx, l) }()
	return func() {
		cancel()
		require.NoError(b, <-ended)
		require.NoError(b, s.Close())
	}
}

func (w *waiting) get(b *testing.B, path string) {
	r, err := http.NewRequest(http.MethodGet, w.url+path, nil)
	require.NoError(b, err)
	r.Header.Set("Authorization", "Bearer "+w.session)
	r.Header.Set("X-Tide-Device", w.device)
	began := time.Now()
	answer, err := http.DefaultTransport.RoundTrip(r)
	require.NoError(b, err)
	require.Equal(b, http.StatusOK, answer.StatusCode, path)
	require.NoError(b, answer.Body.Close())
	w.took["page"+path] = append(w.took["page"+path], time.Since(began))
}
