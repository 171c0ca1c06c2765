package server_test

import (
	"context"
	"net"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server"
	"tidemark/server/people"
)

const officeURL = "http://tide.test"

// cheap is a cost for PINs that tests can pay.
var cheap = people.Argon{Memory: 64, Time: 1, Threads: 1}

// office is a server on a folder of its own with a clock that is moved by hand,
// reached by name over a real connection. When the test is over, the folder is
// verified.
type office struct {
	*server.Server
	t     *testing.T
	dir   string
	addr  string
	said  *description
	close func() // of one that was reopened
	mutex sync.Mutex
	now   time.Time
}

// newOffice opens a folder in which nothing is set up, at a local time of New
// York such as "2026-01-13 07:05".
func newOffice(t *testing.T, now string) *office {
	t.Helper()
	return newOfficeBy(t, now, server.Config{PublicURL: officeURL})
}

// newOfficeBy opens one with some settings of its own, and runs it as a command
// does: pages, delivery of mails and console.
func newOfficeBy(t *testing.T, now string, c server.Config) *office {
	t.Helper()
	o := &office{t: t, dir: t.TempDir()}
	o.at(now)
	c.Dir, c.Clock, c.Argon = o.dir, o.clock, cheap
	var err error
	o.Server, err = server.New(c)
	require.NoError(t, err)
	o.serve(c.PublicURL)
	return o
}

// serve runs the server until the test is over, and then verifies its folder.
func (o *office) serve(publicURL string) {
	t := o.t
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	o.addr = l.Addr().String()
	o.said = readDescription(t, o.Handler, publicURL)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- o.Run(ctx, l) }()
	t.Cleanup(func() {
		stop()
		require.NoError(t, <-ended)
		require.NoError(t, o.Close())
		requireVerified(t, o.dir)
	})
}

func requireVerified(t *testing.T, dir string) {
	report, err := server.Verify(dir, "", nil)
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
}

func (o *office) clock() time.Time {
	o.mutex.Lock()
	defer o.mutex.Unlock()
	return o.now
}

// at moves the clock to a local time of New York.
func (o *office) at(local string) {
	o.t.Helper()
	now := newYork(o.t, local)
	o.mutex.Lock()
	defer o.mutex.Unlock()
	o.now = now
}

func newYork(t *testing.T, local string) time.Time {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	at, err := time.ParseInLocation("2006-01-02 15:04", local, zone)
	require.NoError(t, err)
	return at
}

// client is an HTTP client for which the office is the whole network; it follows
// no redirects.
func (o *office) client() *http.Client {
	c := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }, Transport: &http.Transport{DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, network, o.addr)
	}}}
	o.t.Cleanup(c.CloseIdleConnections)
	return c
}
