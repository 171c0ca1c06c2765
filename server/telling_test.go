package server_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"
	"github.com/stretchr/testify/require"

	"tidemark/server"
)

func TestSomebodyWithoutAnAccountTellsOfABadPackAndTheLeadsAreMailed(t *testing.T) {
	mails := newMailbox(t)
	o := newOfficeBy(t, "2026-01-13 07:05", server.Config{PublicURL: officeURL, Mail: mails.way})
	lead := o.begin("V. Costa")
	lead.post("/people/"+lead.person, object{"name": "V. Costa", "mail": "v.costa@lanternfield.example",
		"roles": []string{"lead", "administrator"}}).done()
	pouch := lead.addPouch("Paper/film", "paper-film")
	code := lead.addSealer("2", "bar-dial", nil)
	lead.approve(code, pouch, "6", "mark")
	lead.check(code, pouch, "pass", nil).done()
	lead.post("/poster", object{}).done()
	poster := lead.get("/poster").text("code")

	finder := o.stranger()
	finder.browse(http.MethodGet, "/F/"+poster, "", nil)
	require.Equal(t, http.StatusOK, finder.reply.status)
	require.Contains(t, string(finder.reply.raw), "No account is needed")
	form := url.Values{"id": {newID()}, "kind": {"channel"}, "number": {"2"}, "sealed_on": {"2026-01-13"}, "used": {"no"}}
	finder.browse(http.MethodPost, "/F/"+poster, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
	require.Equal(t, http.StatusSeeOther, finder.reply.status)
	finder.browse(http.MethodGet, finder.reply.header.Get("Location"), "", nil)
	require.Contains(t, string(finder.reply.raw), "Thank you")
	lead.requireReady(code, pouch)
	require.Contains(t, mails.wait(1)[0], "1 report waits")

	lead.get("/found")
	report := lead.list("reports")[0]["report"].(string)
	lead.say("/found/"+report+"/take", object{}).done()
	lead.get("/found/" + report)
	require.Equal(t, code, lead.text("proposed.0.code"))
	lead.post("/found/"+report+"/record", object{"sealer": code, "kind": "channel", "sealed_at": "2026-01-13", "found": "operating-room"}).done()
	lead.requireStands(code, "out-of-service", "")
}

func TestPostersThatNobodyHasLookAlikeToStrangers(t *testing.T) {
	o := newOffice(t, "2026-01-13 07:05")
	lead := o.begin("V. Costa")
	code := lead.addSealer("2", "bar-dial", nil)
	lead.post("/poster", object{}).done()
	finder, pages := o.stranger(), map[string]bool{}
	for _, guess := range []string{"K7QM3XK", "K7QM3XX", "x", code} {
		finder.browse(http.MethodGet, "/F/"+guess, "", nil)
		require.Equal(t, http.StatusNotFound, finder.reply.status)
		pages[string(finder.reply.raw)] = true
	}
	require.Len(t, pages, 1, "one page for all of them")
	for _, inside := range []string{"/found", "/poster", "/outbox", "/webhooks", "/set-up/route"} {
		finder.browse(http.MethodGet, inside, "", nil)
		require.Equal(t, http.StatusSeeOther, finder.reply.status, "to sign in")
	}
}

// receiver is a program that webhooks lead to. It believes nothing that the public
// library of Standard Webhooks does not verify.
type receiver struct {
	*httptest.Server
	mutex  sync.Mutex
	secret string
	bodies []string
	bad    []error
}

func newReceiver(t *testing.T) *receiver {
	r := &receiver{}
	r.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		body, err := io.ReadAll(q.Body)
		r.mutex.Lock()
		defer r.mutex.Unlock()
		if err == nil {
			var verifier *standardwebhooks.Webhook
			if verifier, err = standardwebhooks.NewWebhook(r.secret); err == nil {
				err = verifier.VerifyIgnoringTimestamp(body, q.Header) // the office's clock stands still
			}
		}
		if err != nil {
			r.bad = append(r.bad, err)
		}
		r.bodies = append(r.bodies, string(body))
	}))
	t.Cleanup(r.Close)
	return r
}

func (r *receiver) heard() (bodies []string, bad []error) {
	r.mutex.Lock()
	defer r.mutex.Unlock()
	return append(bodies, r.bodies...), append(bad, r.bad...)
}

func (r *receiver) learn(secret string) {
	r.mutex.Lock()
	defer r.mutex.Unlock()
	r.secret = secret
}

func TestAWebhookHearsOfEachChangeSignedAsAgreed(t *testing.T) {
	to := newReceiver(t)
	o := newOfficeBy(t, "2026-01-13 07:05", server.Config{PublicURL: officeURL, Loopback: true})
	lead := o.begin("V. Costa")
	pouch := lead.addPouch("Paper/film", "paper-film")
	code := lead.addSealer("2", "bar-dial", nil)
	lead.approve(code, pouch, "6", "mark")
	lead.post("/webhooks", object{"name": "Tickets", "url": to.URL + "/in"}).done()
	to.learn(lead.text("secret"))
	lead.browse(http.MethodGet, "/webhooks", "", nil)
	require.Equal(t, http.StatusOK, lead.reply.status)
	require.Contains(t, string(lead.reply.raw), "Tickets")
	lead.get("/webhooks")
	hook := lead.list("hooks")[0]["id"].(string)
	lead.say("/webhooks/"+hook+"/test", object{}).done()
	require.Equal(t, true, lead.reply.at("taken"))

	lead.check(code, pouch, "pass", nil).done()
	lead.get("/sealers/" + code)
	lead.post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "pouch": pouch}).done()
	var bodies []string
	var bad []error
	require.Eventually(t, func() bool {
		bodies, bad = to.heard()
		return len(bodies) >= 4
	}, 30*time.Second, 10*time.Millisecond)
	require.Empty(t, bad)
	for i, kind := range []string{"test", "sealer.ready", "sealer.out-of-service", "problem.opened"} {
		require.Contains(t, bodies[i], `"type":"`+kind+`"`)
		require.NotContains(t, bodies[i], "Costa")
	}
}
