package server_test

import (
	"context"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server"
	"tidemark/server/desk"
	"tidemark/server/record"
)

// ward is a department with a line that can be cut: a real listener on loopback
// that is closed, or whose handler hangs or breaks off. Its clock is the
// machine's, as the browser's is.
type ward struct {
	*server.Server
	t        *testing.T
	ctx      context.Context
	dir, url string
	addr     string
	cert     string // TLS with this certificate and key, none if empty
	key      string
	web      *http.Server
	fault    atomic.Pointer[breakage]
	up, down atomic.Int64 // bytes to and from the server
	asked    sync.Map     // addresses

	lead            desk.Caller
	device, session string // of the lead's phone
	pouch           record.ID
	codes           []string // of the sealers 1 and 2
	ended           chan struct{}
}

// breakage answers instead of the server; it tells whether it did.
type breakage func(w http.ResponseWriter, r *http.Request, serve http.Handler) bool

func newWard(t *testing.T, options ...func(*ward)) *ward {
	t.Helper()
	w := &ward{t: t, ctx: t.Context(), dir: t.TempDir(), ended: make(chan struct{})}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	w.addr = l.Addr().String()
	w.url = "http://" + w.addr
	for _, o := range options {
		o(w)
	}
	w.open()
	w.listen(l)
	t.Cleanup(func() {
		close(w.ended)
		_ = w.web.Close()
		require.NoError(t, w.Close())
		requireVerified(t, w.dir)
	})
	w.furnish()
	return w
}

func (w *ward) open() {
	var err error
	w.Server, err = server.New(server.Config{Dir: w.dir, PublicURL: w.url, Argon: cheap})
	require.NoError(w.t, err)
}

func (w *ward) listen(l net.Listener) {
	l = counting{l, w}
	w.web = &http.Server{Handler: http.HandlerFunc(w.serve)}
	if w.cert != "" {
		go w.web.ServeTLS(l, w.cert, w.key)
		return
	}
	go w.web.Serve(l)
}

func (w *ward) serve(out http.ResponseWriter, r *http.Request) {
	w.asked.Store(r.URL.Path, true)
	if broken := w.fault.Load(); broken != nil && (*broken)(out, r, w.Handler) {
		return
	}
	w.Handler.ServeHTTP(out, r)
}

// cut closes the listener and every connection.
func (w *ward) cut() { require.NoError(w.t, w.web.Close()) }

// mend listens again at the same address.
func (w *ward) mend() {
	w.t.Helper()
	var l net.Listener
	require.Eventually(w.t, func() (ok bool) {
		var err error
		l, err = net.Listen("tcp", w.addr)
		return err == nil
	}, 10*time.Second, 20*time.Millisecond)
	w.fault.Store(nil)
	w.listen(l)
}

// breaks puts something between phone and server.
func (w *ward) breaks(with breakage) { w.fault.Store(&with) }

// hangs answers nothing, as bad Wi-Fi does.
func (w *ward) hangs() {
	w.breaks(func(_ http.ResponseWriter, r *http.Request, _ http.Handler) bool {
		select {
		case <-r.Context().Done():
		case <-w.ended:
		}
		return true
	})
}

func (w *ward) heals() { w.fault.Store(nil) }

// furnish opens a department whose day began some hours ago, with two sealers
// for one pouch.
func (w *ward) furnish() {
	token, err := w.Desk.MakeSetUp()
	require.NoError(w.t, err)
	began := time.Now().UTC().Add(-6 * time.Hour).Format("15:00")
	first, err := w.Desk.Begin(w.ctx, desk.FirstIn{DepartmentIn: desk.DepartmentIn{From: w.from(), Name: "Packing room",
		Zone: "UTC", DayStart: began}, Token: token, Person: "V. Castellune", PIN: "402917"})
	require.NoError(w.t, err)
	w.device, w.session = first.Device, first.Session.Token
	w.lead, _ = w.Desk.Who(w.session, w.device)
	pouch, err := w.Desk.AddPouch(w.ctx, w.lead, desk.PouchIn{From: w.from(), Name: "Paper/film 20 cm", Material: record.PaperFilm})
	require.NoError(w.t, err)
	w.pouch = pouch.Subject
	for _, number := range []string{"1", "2"} {
		w.codes = append(w.codes, w.addSealer(number))
	}
}

func (w *ward) addSealer(number string) string {
	_, err := w.Desk.AddSealer(w.ctx, w.lead, desk.SealerIn{From: w.from(), Number: number, Type: record.BarDial, Place: "Room 3"})
	require.NoError(w.t, err)
	board, err := w.Desk.Board(w.lead)
	require.NoError(w.t, err)
	for _, row := range board.Sealers {
		if row.Number == number {
			_, err = w.Desk.Approve(w.ctx, w.lead, desk.ApproveIn{From: w.from(), Code: row.Code, Pouch: w.pouch, Value: "7 1/2",
				Unit: "mark", Hold: "2 s", IFUIn: desk.IFUIn{Title: "IFU of the sealer", Page: "7"}})
			require.NoError(w.t, err)
			return row.Code
		}
	}
	w.t.Fatalf("sealer %s is not on the board", number)
	return ""
}

func (w *ward) from() desk.From { return desk.From{ID: w.Desk.NewID(), Seen: w.Desk.Size()} }

// hire adds a technician and returns who they are, signed in on the ward's phone.
func (w *ward) hire(name string) (who desk.Caller, session string) {
	added, err := w.Desk.AddPerson(w.ctx, w.lead, desk.PersonIn{From: w.from(), Name: name, Roles: []record.Role{record.Technician}})
	require.NoError(w.t, err)
	_, dev := w.Desk.Who("", w.device)
	in, err := w.Desk.SignIn(w.ctx, dev, desk.SignInIn{Person: added.Subject, PIN: added.PIN})
	require.NoError(w.t, err)
	who, _ = w.Desk.Who(in.Token, w.device)
	return who, in.Token
}

// pass makes a sealer ready.
func (w *ward) pass(code string) {
	v, err := w.Desk.Sealer(w.lead, code, w.pouch)
	require.NoError(w.t, err)
	_, err = w.Desk.Check(w.ctx, w.lead, desk.CheckIn{From: w.from(), Code: code, Pouch: w.pouch,
		Approval: v.Pouch.Setting.Approval, Outcome: record.Pass})
	require.NoError(w.t, err)
}

// stands tells where a sealer stands.
func (w *ward) stands(code string) record.State {
	v, err := w.Desk.Sealer(w.lead, code, w.pouch)
	require.NoError(w.t, err)
	return v.Standing.State
}

// lines are the records of a sealer's history of some kind, the newest first.
func (w *ward) lines(code string, kind record.Kind) (list []desk.Line) {
	w.t.Helper()
	for before := record.None; ; {
		v, err := w.Desk.History(w.lead, code, before)
		require.NoError(w.t, err)
		for _, l := range v.Lines {
			if l.Kind == kind {
				list = append(list, l)
			}
		}
		if v.Older == record.None {
			return list
		}
		before = v.Older
	}
}

// counting counts every byte of every connection.
type counting struct {
	net.Listener
	w *ward
}

func (l counting) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	return counted{c, l.w}, err
}

type counted struct {
	net.Conn
	w *ward
}

func (c counted) Read(b []byte) (int, error) {
	n, err := c.Conn.Read(b)
	c.w.up.Add(int64(n))
	return n, err
}

func (c counted) Write(b []byte) (int, error) {
	n, err := c.Conn.Write(b)
	c.w.down.Add(int64(n))
	return n, err
}
