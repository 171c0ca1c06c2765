package web_test

import (
	"context"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"tidemark/server"
	"tidemark/server/people"
)

// office is a server of its own with a clock that is moved by hand.
type office struct {
	*server.Server
	t     *testing.T
	addr  string
	mutex sync.Mutex
	now   time.Time
}

const officeURL = "http://tide.test"

func newOffice(t *testing.T, now string) *office {
	t.Helper()
	o := &office{t: t}
	o.at(now)
	var err error
	o.Server, err = server.New(server.Config{Dir: t.TempDir(), PublicURL: officeURL, Clock: o.clock,
		Argon: people.Argon{Memory: 64, Time: 1, Threads: 1}})
	require.NoError(t, err)
	web := httptest.NewServer(o.Handler)
	t.Cleanup(func() { web.Close(); require.NoError(t, o.Close()) })
	o.addr = web.Listener.Addr().String()
	return o
}

func (o *office) clock() time.Time {
	o.mutex.Lock()
	defer o.mutex.Unlock()
	return o.now
}

// at moves the clock to a local time of New York, such as "2026-01-13 07:05".
func (o *office) at(local string) {
	o.t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(o.t, err)
	now, err := time.ParseInLocation("2006-01-02 15:04", local, zone)
	require.NoError(o.t, err)
	o.mutex.Lock()
	defer o.mutex.Unlock()
	o.now = now
}

// visitor is somebody with a browser that runs no script.
type visitor struct {
	t      *testing.T
	client http.Client
	status int
	url    *url.URL
	header http.Header
	raw    string
	page   *html.Node
}

func (o *office) visitor() *visitor {
	jar, err := cookiejar.New(nil)
	require.NoError(o.t, err)
	here := func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, network, o.addr)
	}
	v := &visitor{t: o.t, client: http.Client{Jar: jar,
		Transport: &http.Transport{DialContext: here}}}
	o.t.Cleanup(v.client.CloseIdleConnections)
	return v
}

// begin sets the department up and leaves its first lead signed in.
func (o *office) begin(name string) *visitor {
	o.t.Helper()
	token, err := o.Desk.MakeSetUp()
	require.NoError(o.t, err)
	v := o.visitor()
	v.open("/begin?token=" + token)
	v.press("Begin", "name", "Packing room", "zone", "America/New_York", "day_start", "05:00",
		"person", name, "pin", "481516", "device", "bench computer")
	require.Equal(o.t, http.StatusOK, v.status, v.text())
	return v
}

// open follows an address, redirects too.
func (v *visitor) open(path string) {
	v.t.Helper()
	r, err := http.NewRequest(http.MethodGet, officeURL+path, nil)
	require.NoError(v.t, err)
	v.send(r)
}

func (v *visitor) send(r *http.Request) {
	v.t.Helper()
	answer, err := v.client.Do(r)
	require.NoError(v.t, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(v.t, err)
	v.status, v.url, v.header, v.raw = answer.StatusCode, answer.Request.URL, answer.Header,
		string(body)
	v.page, err = html.Parse(strings.NewReader(v.raw))
	require.NoError(v.t, err)
	require.NotContains(v.t, v.raw, "no value", v.url)
	require.NotContains(v.t, v.raw, "ZgotmplZ", v.url)
}

// press fills the form of a button in and presses it. fields are names and
// values by turns; a name that comes twice has both values. A chip goes by its
// words, too.
func (v *visitor) press(button string, fields ...string) {
	v.t.Helper()
	b := v.find(func(n *html.Node) bool {
		return n.Data == "button" && strings.HasPrefix(text(n),
			button)
	})
	require.NotNil(v.t, b, "no button %q on %s:\n%s", button, v.url, v.text())
	form := b
	for form.Data != "form" {
		form = form.Parent
		require.NotNil(v.t, form, "the button %q stands in no form", button)
	}
	values := v.values(form)
	for i := 0; i < len(fields); i += 2 {
		require.NotNil(v.t, control(form, fields[i]), "no field %q beside the button %q on %s",
			fields[i], button, v.url)
		if i < 2 || !slices.Contains(named(fields[:i]), fields[i]) {
			values.Del(fields[i])
		}
		values.Add(fields[i], v.chip(form, fields[i], fields[i+1]))
	}
	if name := attr(b, "name"); name != "" {
		values.Set(name, attr(b, "value"))
	}
	to := attr(form, "action")
	if own := attr(b, "formaction"); own != "" {
		to = own
	}
	v.post(to, attr(form, "method"), values)
}

// chip is the value of the chip with these words, else the words themselves.
func (v *visitor) chip(form *html.Node, name, words string) string {
	for n := range form.Descendants() {
		if n.Data == "label" && text(n) == words {
			if c := control(n, name); c != nil {
				return attr(c, "value")
			}
		}
	}
	return words
}

func named(fields []string) (names []string) {
	for i := 0; i < len(fields); i += 2 {
		names = append(names, fields[i])
	}
	return names
}

func (v *visitor) post(to, method string, values url.Values) {
	v.t.Helper()
	u, err := v.url.Parse(to)
	require.NoError(v.t, err)
	if !strings.EqualFold(method, http.MethodPost) {
		v.open(u.Path + "?" + values.Encode())
		return
	}
	r, err := http.NewRequest(http.MethodPost, u.String(), strings.NewReader(values.Encode()))
	require.NoError(v.t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	v.send(r)
}

// values are what a form would send as it stands.
func (v *visitor) values(form *html.Node) url.Values {
	values := url.Values{}
	for n := range form.Descendants() {
		switch name := attr(n, "name"); {
		case name == "":
		case n.Data == "textarea":
			values.Add(name, text(n))
		case n.Data == "option":
		case n.Data == "select":
			values.Add(name, selected(n))
		case n.Data != "input":
		case attr(n, "type") == "radio" || attr(n, "type") == "checkbox":
			if has(n, "checked") {
				values.Add(name, attr(n, "value"))
			}
		case attr(n, "type") != "file":
			values.Add(name, attr(n, "value"))
		}
	}
	return values
}

func selected(n *html.Node) (value string) {
	first := true
	for o := range n.Descendants() {
		if o.Data == "option" && (first || has(o, "selected")) {
			value, first = attr(o, "value"), false
		}
	}
	return value
}

// follow goes where a link leads; its text begins so.
func (v *visitor) follow(link string) {
	v.t.Helper()
	a := v.find(func(n *html.Node) bool {
		return n.Data == "a" && strings.HasPrefix(text(n),
			link)
	})
	require.NotNil(v.t, a, "no link %q on %s:\n%s", link, v.url, v.text())
	u, err := v.url.Parse(attr(a, "href"))
	require.NoError(v.t, err)
	v.open(u.RequestURI())
}

// sees wants words on the page, as a reader sees them.
func (v *visitor) sees(phrases ...string) {
	v.t.Helper()
	for _, p := range phrases {
		require.Contains(v.t, v.text(), p, v.url)
	}
}

// value is what stands in a field, the chosen one of several.
func (v *visitor) value(name string) string {
	v.t.Helper()
	for form := range v.page.Descendants() {
		if form.Data == "form" && control(form, name) != nil {
			return v.values(form).Get(name)
		}
	}
	require.Fail(v.t, "no field "+name, v.text())
	return ""
}

// refused wants a form back with a status, and words that say why.
func (v *visitor) refused(status int, why string) {
	v.t.Helper()
	require.Equal(v.t, status, v.status, v.text())
	v.sees(why)
}

func (v *visitor) text() string {
	if m := v.find(func(n *html.Node) bool { return n.Data == "main" }); m != nil {
		return text(m)
	}
	return v.raw
}

func (v *visitor) find(is func(*html.Node) bool) *html.Node {
	for n := range v.page.Descendants() {
		if n.Type == html.ElementNode && is(n) {
			return n
		}
	}
	return nil
}

func control(form *html.Node, name string) *html.Node {
	for n := range form.Descendants() {
		if n.Type == html.ElementNode && attr(n, "name") == name {
			return n
		}
	}
	return nil
}

// text is what stands inside a node, its spaces made single.
func text(n *html.Node) string {
	var b strings.Builder
	for c := range n.Descendants() {
		if c.Type == html.TextNode {
			b.WriteString(c.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}
