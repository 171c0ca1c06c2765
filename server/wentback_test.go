package server_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
)

// takeKeysTo puts the keys of an office into another folder.
func (o *office) takeKeysTo(dir string) {
	o.t.Helper()
	require.NoError(o.t, os.CopyFS(filepath.Join(dir, "keys"), os.DirFS(filepath.Join(o.dir, "keys"))))
}

// reopened is an office on another folder, with the clock of this one.
func (o *office) reopened(dir string) *office {
	o.t.Helper()
	n := &office{t: o.t, dir: dir, now: o.clock()}
	var err error
	n.Server, err = server.New(server.Config{Dir: dir, PublicURL: officeURL, Clock: n.clock, Argon: cheap})
	require.NoError(o.t, err)
	web := httptest.NewServer(n.Handler)
	n.addr = web.Listener.Addr().String()
	n.said = readDescription(o.t, n.Handler, officeURL)
	n.close = sync.OnceFunc(func() {
		web.Close()
		require.NoError(o.t, n.Close())
	})
	o.t.Cleanup(n.close)
	return n
}

// signsInAt is the same person on the same device at another office.
func (p *program) signsInAt(o *office, pin string) *program {
	p.t.Helper()
	n := &program{office: o, name: p.name, http: o.client(), device: p.device, person: p.person}
	n.say("/sign-in", object{"person": p.person, "pin": pin}).done()
	n.session = n.text("token")
	return n
}

func (o *office) ready() (int, string) {
	w := httptest.NewRecorder()
	o.Handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, officeURL+"/readyz", nil))
	return w.Code, w.Body.String()
}

func TestAServerThatWentBackStoresNothingUntilALossIsAccepted(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	pouch := lead.addPouch("Paper/film 20 cm", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"width_cm": 45})
	lead.approve(code, pouch, "7 1/2", "mark")
	var backup bytes.Buffer
	_, err := o.Backup(&backup)
	require.NoError(t, err)
	before := lead.get("/board").reply.header.Get("Tidemark-Sight")
	good := object{"places": []string{"left", "middle", "right"}, "tests": []string{"look", "dye"}}
	lead.check(code, pouch, "pass", good).done()
	require.Regexp(t, `^\d+$`, lead.reply.header.Get("Tidemark-Size"))
	require.Len(t, lead.reply.header.Get("Tidemark-Root"), 64)
	seen := lead.reply.header.Get("Tidemark-Sight")
	require.NotEqual(t, before, seen)

	dir := filepath.Join(t.TempDir(), "restored")
	_, err = server.Restore(&backup, dir, "", nil)
	require.NoError(t, err)
	o.takeKeysTo(dir)
	older := o.reopened(dir)
	again := lead.signsInAt(older, pin) // sessions do not come back

	// What was seen before the backup says nothing.
	again.sight = before
	again.get("/board")
	status, _ := older.ready()
	require.Equal(t, http.StatusOK, status)

	// A phone that has seen the check does: reading goes on, storing does not.
	again.sight = seen
	again.get("/board")
	again.sight = ""
	again.check(code, pouch, "pass", good).refused(http.StatusServiceUnavailable, "busy")
	require.Contains(t, again.text("detail"), "older than what was seen")
	again.browse(http.MethodGet, "/", "", strings.NewReader(""))
	require.Equal(t, http.StatusOK, again.reply.status)
	require.Contains(t, string(again.reply.raw), "Nothing is stored at the moment: the records here are older")
	status, text := older.ready()
	require.Equal(t, http.StatusServiceUnavailable, status)
	require.Contains(t, text, "The ledger went back: it holds")
	require.Contains(t, text, "tidemark accept-loss -data DIR")

	// A restart forgets nothing; accepting the loss ends it.
	older.close()
	older = older.reopened(dir)
	status, _ = older.ready()
	require.Equal(t, http.StatusServiceUnavailable, status)
	older.close()
	said, err := server.AcceptLoss(dir)
	require.NoError(t, err)
	require.Contains(t, said, "Records are stored again")
	older = older.reopened(dir)
	again = lead.signsInAt(older, pin)
	again.sight = seen
	again.check(code, pouch, "pass", good).done()
	status, _ = older.ready()
	require.Equal(t, http.StatusOK, status)
}

func TestABrowserBringsBackByItselfWhatItHasSeen(t *testing.T) {
	o := newOffice(t, "2026-03-03 06:00")
	lead := o.begin("V. Costa")
	lead.browse(http.MethodGet, "/", "", strings.NewReader(""))
	cookie := lead.reply.header.Get("Set-Cookie")
	require.Contains(t, cookie, "tide-sight="+lead.reply.header.Get("Tidemark-Sight"))
	require.Contains(t, cookie, "HttpOnly")

	r, err := http.NewRequest(http.MethodGet, officeURL+"/", nil)
	require.NoError(t, err)
	r.Header.Set("X-Tide-Device", lead.device)
	r.Header.Set("Cookie", "tide-sight="+lead.reply.header.Get("Tidemark-Sight"))
	lead.do(r)
	require.NotContains(t, lead.reply.header.Get("Set-Cookie"), "tide-sight", "it has it already")

	// Strangers learn nothing, and static files stay cacheable.
	stranger := o.stranger()
	stranger.browse(http.MethodGet, "/sign-in", "", strings.NewReader(""))
	require.Empty(t, stranger.reply.header.Get("Tidemark-Size"))
	lead.browse(http.MethodGet, "/livez", "", strings.NewReader(""))
	require.Empty(t, lead.reply.header.Get("Tidemark-Size"))
}
