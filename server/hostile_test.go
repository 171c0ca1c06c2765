package server_test

import (
	"encoding/csv"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// hostile is what somebody types who wants to break out of a page, of a template
// or of a spreadsheet; beside it an address that is none.
const (
	hostile        = `=evil"'><script>evil</script><i onclick=evil>{{evil}}`
	hostileAddress = "javascript:evil()"
)

// intruder types hostile words into every text field of every page that can be
// reached, and reads whatever comes back.
type intruder struct {
	*bench
	queue []string
	known map[string]bool // addresses that were queued, and forms that were sent
	shown map[string]bool // pages that show the hostile words, as words
	typed int             // fields
	taken int             // forms that were accepted
	lists int             // tables that were read
}

func TestHostileWordsStayWordsOnEveryPage(t *testing.T) {
	i := &intruder{bench: newBench(t), known: map[string]bool{}, shown: map[string]bool{}}
	i.furnishWithWords()
	i.walk(true)
	i.known = map[string]bool{} // once more, now that all has been typed
	i.walk(false)
	t.Logf("%d fields typed into, %d forms taken, %d pages show it, %d tables read", i.typed, i.taken, len(i.shown), i.lists)
	require.Greater(t, i.typed, 150, "the walk found too few fields to prove anything")
	require.Greater(t, i.taken, 30)
	require.Greater(t, len(i.shown), 40)
	require.Positive(t, i.lists)
}

// furnishWithWords records hostile words where a form alone would not lead to.
func (i *intruder) furnishWithWords() {
	i.post("/pouches", object{"name": hostile, "material": "paper-film", "ifu": hostile, "ifu_page": hostile}).done()
	i.get("/board")
	i.post("/sealers", object{"number": "9", "type": "impulse", "asset": hostile, "place": hostile, "model": hostile}).done()
	i.page(i.code, i.pouch)
	i.post("/sealers/"+i.code+"/bad-seals", object{"kind": "channel", "pouch": i.pouch, "lot": hostile, "load": hostile, "note": hostile}).done()
	i.post("/people", object{"name": hostile, "roles": []string{"technician"}}).done()
}

func (i *intruder) walk(typing bool) {
	for _, start := range []string{"/", "/set-up", "/records", "/problems", "/queue", "/hand-over", "/S/" + i.code + "/more", "/outbox", "/care",
		"/found", "/webhooks", "/answers", "/questions"} {
		i.add(start)
	}
	for n := 0; len(i.queue) > 0 && n < 700; n++ {
		at := i.queue[0]
		i.queue = i.queue[1:]
		i.browse(http.MethodGet, at, "", nil)
		page := i.read(at)
		if page == nil {
			continue
		}
		for n := range page.Descendants() {
			switch {
			case n.Data == "a":
				i.follow(at, attribute(n, "href"))
			case n.Data == "form" && typing && strings.EqualFold(attribute(n, "method"), "post"):
				i.fill(at, n)
			}
		}
	}
}

// leavesOut are steps that would end the walk, and files of no words.
var leavesOut = []string{"/sign-", "/pin", "/devices", "/begin", "/retire", "/static/", ".pdf", ".zip", ".png", "/events", "/api/"}

func (i *intruder) add(address string) {
	if i.known[address] || slices.ContainsFunc(leavesOut, func(s string) bool { return strings.Contains(address, s) }) {
		return
	}
	i.known[address] = true
	i.queue = append(i.queue, address)
}

func (i *intruder) follow(from, to string) {
	require.NotContains(i.t, to, "evil()", "an address that somebody typed is a link on %s", from)
	base, err := url.Parse(officeURL + from)
	require.NoError(i.t, err)
	u, err := base.Parse(to)
	if err == nil && "http://"+u.Host == officeURL && to != "" {
		i.add(u.RequestURI())
	}
}

// fill sends a form once for each of its text fields, hostile words there and
// the rest as it stands, and once with them in all.
func (i *intruder) fill(at string, form *html.Node) {
	action := attribute(form, "action")
	if action == "" {
		action = at
	}
	values, fields := url.Values{}, []string{}
	for n := range form.Descendants() {
		name := attribute(n, "name")
		switch kind := attribute(n, "type"); {
		case name == "" || n.Data == "button":
		case n.Data == "textarea", n.Data == "input" && slices.Contains([]string{"", "text", "search", "url", "email"}, kind):
			fields = append(fields, name)
			values.Add(name, attribute(n, "value"))
		case n.Data == "input" && (kind != "checkbox" && kind != "radio" || has(n, "checked") || !values.Has(name) && kind == "radio"):
			values.Set(name, attribute(n, "value"))
		case n.Data == "select":
			values.Set(name, chosenOf(n))
		}
	}
	for _, words := range []string{hostile, hostileAddress} {
		all := maps.Clone(values)
		for _, f := range fields {
			i.submit(at, action, f, values, f, words)
			all[f] = []string{words}
		}
		i.submit(at, action, "all", all, "", "")
	}
}

func (i *intruder) submit(at, action, label string, values url.Values, field, words string) {
	path, _, _ := strings.Cut(action, "?")
	key := "form " + path + " " + label + " " + words
	if i.known[key] || slices.ContainsFunc(leavesOut, func(s string) bool { return strings.Contains(action, s) }) {
		return
	}
	i.known[key] = true
	sent := maps.Clone(values)
	if field != "" {
		i.typed++
		sent[field] = []string{words}
	}
	if sent.Has("id") {
		sent.Set("id", newID())
	}
	if sent.Has("seen") {
		sent.Set("seen", strconv.Itoa(i.size()))
	}
	i.browse(http.MethodPost, action, "application/x-www-form-urlencoded", strings.NewReader(sent.Encode()))
	if i.reply.status == http.StatusSeeOther {
		i.taken++
		i.follow(at, i.reply.header.Get("Location"))
		return
	}
	i.read("POST " + action)
}

// read looks at an answer; it returns the page, if it is one.
func (i *intruder) read(at string) *html.Node {
	require.Less(i.t, i.reply.status, 500, "%s: %s", at, i.reply.raw)
	kind := i.reply.header.Get("Content-Type")
	require.Equal(i.t, "nosniff", i.reply.header.Get("X-Content-Type-Options"), at)
	if strings.HasPrefix(kind, "text/csv") {
		i.readTable(at)
	}
	if !strings.HasPrefix(kind, "text/html") {
		return nil
	}
	require.NotContains(i.t, string(i.reply.raw), "<script>evil", at)
	page, err := html.Parse(strings.NewReader(string(i.reply.raw)))
	require.NoError(i.t, err)
	for n := range page.Descendants() {
		if n.Type == html.TextNode {
			if strings.Contains(n.Data, "{{evil}}") {
				i.shown[at] = true
			}
			continue
		}
		for _, a := range n.Attr {
			require.False(i.t, strings.HasPrefix(a.Key, "on"), "<%s %s> on %s", n.Data, a.Key, at)
			require.False(i.t, strings.HasPrefix(a.Val, "javascript:") && (a.Key == "href" || a.Key == "src" || a.Key == "action" || a.Key == "formaction"),
				"<%s %s=%s> on %s", n.Data, a.Key, a.Val, at)
			if strings.Contains(a.Val, "{{evil}}") {
				i.shown[at] = true
			}
		}
	}
	return page
}

// readTable wants no cell of a table to be taken for a formula.
func (i *intruder) readTable(at string) {
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(i.reply.raw), "\ufeff"))).ReadAll()
	require.NoError(i.t, err, at)
	i.lists++
	for _, row := range rows {
		for _, cell := range row {
			require.False(i.t, strings.HasPrefix(cell, "=evil"), "%s: %s", at, cell)
		}
	}
}

// chosenOf is what a select stands at.
func chosenOf(list *html.Node) (value string) {
	first := true
	for n := range list.Descendants() {
		if n.Data == "option" && (first || has(n, "selected")) {
			value, first = attribute(n, "value"), false
		}
	}
	return value
}

func attribute(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, name string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == name })
}
