package server_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"regexp"
	"time"

	"github.com/stretchr/testify/require"
)

// pocket is what a phone keeps while it has no contact, as js/store.js does:
// entries with the ticket of the page they were made on, numbered, by the
// phone's own clock.
type pocket struct {
	*program
	dev    string
	n      int
	ticket string
	size   string // of the ledger that the phone's pages were drawn from
	rows   []object
	skew   time.Duration // of the phone's clock
}

var (
	ticketOnPage = regexp.MustCompile(`data-ticket="([^"]+)"`)
	seenOnPage   = regexp.MustCompile(`name="seen" value="(\d+)"`)
)

// pocket opens a page, from which the phone takes ticket and size.
func (p *program) pocket(page string) *pocket {
	p.t.Helper()
	k := &pocket{program: p, dev: newID()}
	k.look(page)
	return k
}

func (k *pocket) look(page string) {
	k.t.Helper()
	k.sees(page)
	ticket := ticketOnPage.FindSubmatch(k.reply.raw)
	require.NotNil(k.t, ticket, "%s hands out no ticket", page)
	k.ticket = string(ticket[1])
	if seen := seenOnPage.FindSubmatch(k.reply.raw); seen != nil {
		k.size = string(seen[1])
	}
}

// keep writes an entry down at a local time of New York, fields by turns.
func (k *pocket) keep(at, to string, fields ...string) object {
	k.t.Helper()
	made, err := time.Parse(time.RFC3339, at)
	if err != nil {
		made = newYork(k.t, at)
	}
	form := url.Values{"seen": {k.size}}
	for i := 0; i < len(fields); i += 2 {
		form.Add(fields[i], fields[i+1])
	}
	k.n++
	row := object{"v": 1, "id": newID(), "ticket": k.ticket, "to": to, "form": form.Encode(), "dev": k.dev, "dev_n": k.n,
		"made": phoneTime(made.Add(k.skew))}
	k.rows = append(k.rows, row)
	return row
}

func phoneTime(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000Z") }

// send sends everything in order and keeps what was not taken.
func (k *pocket) send() {
	k.t.Helper()
	var left []object
	for _, row := range k.rows {
		if k.sendRow(row); k.reply.status != http.StatusCreated {
			left = append(left, row)
		}
	}
	k.rows = left
}

func (k *pocket) sendRow(row object) *program {
	k.t.Helper()
	row["sent"] = phoneTime(k.clock().Add(k.skew))
	b, err := json.Marshal(row)
	require.NoError(k.t, err)
	k.said.requireSent(http.MethodPost, "/api/v1/queue", b)
	k.program.send(http.MethodPost, "/queue", "application/json", b)
	return k.program
}

// sendPhoto sends a photograph of a kept report.
func (k *pocket) sendPhoto(of object, file []byte) *program {
	k.t.Helper()
	row := object{"v": 1, "id": newID(), "ticket": of["ticket"], "to": "/photographs", "form": "", "dev": k.dev,
		"dev_n": of["dev_n"], "made": of["made"], "sent": phoneTime(k.clock().Add(k.skew))}
	b, err := json.Marshal(row)
	require.NoError(k.t, err)
	body, kind := multipartForm(k.t, "photo", "photo.jpg", file, "entry", string(b), "of", of["id"].(string))
	k.program.send(http.MethodPost, "/queue/photographs", kind, bytes.Clone(body.Bytes()))
	return k.program
}
