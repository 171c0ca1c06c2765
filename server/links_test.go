package server_test

import (
	"bytes"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"github.com/chromedp/chromedp"
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
			w := wander(t, h.as(role), 3)
			require.Greater(t, len(w.from), 100, "few links were found")
		})
	}
}

// No page needs to be moved sideways on a phone 360 pixels wide.
func TestBrowserNoPageOfTheDemoIsWiderThanAPhone(t *testing.T) {
	chromium(t)
	h := newHospital(t)
	lead := h.as(record.Lead)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	web := &http.Server{Handler: h.Handler}
	go web.Serve(l)
	t.Cleanup(func() { require.NoError(t, web.Close()) })
	w := &ward{t: t, url: officeURL, device: lead.device, session: lead.session}
	p := w.newHandset(chromedp.Flag("host-resolver-rules", "MAP tide.test:80 "+l.Addr().String()))
	pages := wander(t, lead, 1).pages
	require.Greater(t, len(pages), 80)
	for _, at := range pages {
		p.do(chromedp.Navigate(officeURL + at))
		require.LessOrEqual(t, p.number(`document.documentElement.scrollWidth`), 360, at)
	}
}

// wanderer follows links: so many of each kind, which differ in codes, ids and numbers.
type wanderer struct {
	t     *testing.T
	p     *program
	each  int
	ways  map[string]int
	from  map[string]string // where an address was found
	todo  []string
	pages []string
}

func wander(t *testing.T, p *program, each int) *wanderer {
	t.Helper()
	w := &wanderer{t: t, p: p, each: each, ways: map[string]int{}, from: map[string]string{}}
	w.find("/", "the start")
	for len(w.todo) > 0 {
		at := w.todo[0]
		w.todo = w.todo[1:]
		w.open(at)
	}
	return w
}

var particular = regexp.MustCompile(`[0-9a-f]{32}|/S/[0-9A-Z]{7}|[0-9]+`)

// slips are words for nothing: no date, no number, no value, a letter that was lost.
var slips = regexp.MustCompile(`\b1970\b|0001-01-01|\bNaN\b|\bnil\b|%!|\x{FFFD}|\[\]|map\[`)

// shown is what of an element somebody reads: its words, or what stands in a field.
func shown(n *html.Node) string {
	switch {
	case n.Type == html.TextNode:
		return n.Data
	case n.Data == "input" && attribute(n, "type") != "hidden":
		return attribute(n, "value")
	}
	return ""
}

func (w *wanderer) find(address, from string) {
	kind := particular.ReplaceAllString(address, "*")
	if _, known := w.from[address]; known || w.ways[kind] == w.each {
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
	w.pages = append(w.pages, at)
	page, err := html.Parse(bytes.NewReader(w.p.reply.raw))
	require.NoError(w.t, err)
	base, err := url.Parse(officeURL + at)
	require.NoError(w.t, err)
	for n := range page.Descendants() {
		require.NotRegexp(w.t, slips, shown(n), at)
		to := attribute(n, "href") + attribute(n, "src")
		u, err := base.Parse(to)
		require.NoError(w.t, err)
		if to != "" && "http://"+u.Host == officeURL && u.Path != "/sign-out" {
			w.find(u.RequestURI(), at)
		}
	}
}
