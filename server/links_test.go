package server_test

import (
	"bytes"
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"tidemark/server/record"
)

// Every link and picture that somebody is shown leads to something that they may see,
// and no page says what only a program would.
func TestEveryLinkOfTheDemoLeadsSomewhere(t *testing.T) {
	h := newHospital(t)
	for _, role := range []record.Role{record.Lead, record.Technician, record.Engineering, record.Surveyor, record.Administrator} {
		t.Run(string(role), func(t *testing.T) {
			w := &wanderer{t: t, p: h.as(role), ways: map[string]int{}, from: map[string]string{}}
			w.find("/", "the start")
			for len(w.todo) > 0 {
				at := w.todo[0]
				w.todo = w.todo[1:]
				w.open(at)
			}
			require.Greater(t, len(w.from), 100, "few links were found")
		})
	}
}

// wanderer follows links: three of each kind, which differ in codes, ids and numbers.
type wanderer struct {
	t    *testing.T
	p    *program
	ways map[string]int
	from map[string]string // where an address was found
	todo []string
}

var particular = regexp.MustCompile(`[0-9a-f]{32}|/S/[0-9A-Z]{7}|[0-9]+`)

// slips are words for nothing: no date, no number, no value, a letter that was lost.
var slips = regexp.MustCompile(`1970-|\b1970\b|0001-01-01|NaN|[^a-z]nil[^a-z]|%!|\x{FFFD}|\[\]|map\[`)

func (w *wanderer) find(address, from string) {
	kind := particular.ReplaceAllString(address, "*")
	if _, known := w.from[address]; known || w.ways[kind] == 3 {
		return
	}
	w.ways[kind]++
	w.from[address] = from
	w.todo = append(w.todo, address)
}

func (w *wanderer) open(at string) {
	w.p.browse(http.MethodGet, at, "", nil)
	require.Equal(w.t, http.StatusOK, w.p.reply.status, "%s, named by %s", at, w.from[at])
	if !bytes.HasPrefix(w.p.reply.raw, []byte("<!doctype html>")) {
		return
	}
	require.NotRegexp(w.t, slips, string(w.p.reply.raw), at)
	page, err := html.Parse(bytes.NewReader(w.p.reply.raw))
	require.NoError(w.t, err)
	base, err := url.Parse(officeURL + at)
	require.NoError(w.t, err)
	for n := range page.Descendants() {
		to := attribute(n, "href") + attribute(n, "src")
		u, err := base.Parse(to)
		require.NoError(w.t, err)
		if to != "" && "http://"+u.Host == officeURL && u.Path != "/sign-out" {
			w.find(u.RequestURI(), at)
		}
	}
}
