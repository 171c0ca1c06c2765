// Package web draws pages and answers the JSON interface. It knows no rule: a
// handler reads a form, calls one method of the desk and draws a view, or sends
// the browser on. routes.go reads as a table of contents; each page has a file
// of its own, its template of the same name lies in static/templates/pages.
//
// What a fault becomes is settled in errors.go alone, who is asking in who.go,
// the words for codes in words.go.
package web

import (
	"fmt"
	"html/template"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/static"
)

// Options are what the pages need.
type Options struct {
	Desk      *desk.Desk
	PublicURL string         // scheme, host and port that labels carry
	Proxies   []netip.Prefix // whose X-Forwarded-For is believed
	Letters   Letters        // what a demo would have mailed; nil otherwise
	// DemoDevice is the token of a device that every browser counts as until it
	// has one of its own: a demo listens on this machine alone. Empty otherwise.
	DemoDevice string
	Metrics    func(io.Writer) // writes what /metrics shows; nil for none
	Ready      func() error    // why the server should not be used, nil if it should
	Closing    <-chan struct{} // closed when open streams have to end
	Log        *slog.Logger
}

// Letters lists mails that were kept instead of sent.
type Letters interface{ Letters() []Letter }

// Letter is a mail as a page shows it.
type Letter struct {
	To      string `json:"to"`
	Subject string `json:"subject"`
	Text    string `json:"text"`
}

// house is the set of handlers.
type house struct {
	desk    *desk.Desk
	public  *url.URL
	secure  bool // over TLS, as far as the browser knows
	plain   bool // neither that nor on this machine: browsers keep no pages
	pages   map[string]*template.Template
	letters Letters
	api     []byte // the description of the JSON interface
	keeps   []keepable

	demoDevice string
	streams    streams
	boards     boards
	closing    <-chan struct{} // open streams end when it is closed
	ready      func() error
	metrics    func(io.Writer)
	log        *slog.Logger
}

// New returns the handler of every page and of the JSON interface.
func New(o Options) (http.Handler, error) { return handler(o, (*house).routes) }

// handler is every request's way to the routes of a house.
func handler(o Options, routes func(*house, *router)) (http.Handler, error) {
	public, err := ParsePublic(o.PublicURL)
	if err != nil {
		return nil, err
	}
	local := net.ParseIP(public.Hostname()).IsLoopback() || public.Hostname() == "localhost"
	h := &house{desk: o.Desk, public: public, secure: public.Scheme == "https", plain: public.Scheme != "https" && !local,
		letters: o.Letters, ready: o.Ready, metrics: o.Metrics,
		demoDevice: o.DemoDevice, closing: o.Closing, log: o.Log}
	if h.log == nil {
		h.log = slog.New(slog.DiscardHandler)
	}
	if h.pages, err = parsePages(); err != nil {
		return nil, err
	}
	h.boards = boards{moment: h.desk.Moment, draw: h.drawBoardOf, listen: h.desk.Changes}
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.HTTPErrorHandler = h.fail
	e.IPExtractor = extractor(o.Proxies)
	e.Use(h.request, h.host, h.headers, h.who, h.witness)
	offering := &router{Echo: e}
	routes(h, offering)
	if h.api, err = openapi(offering.offers, o.PublicURL); err != nil {
		return nil, err
	}
	guard := http.NewCrossOriginProtection()
	if err := guard.AddTrustedOrigin(public.Scheme + "://" + public.Host); err != nil {
		return nil, fmt.Errorf("trust own origin: %w", err)
	}
	guard.SetDenyHandler(http.HandlerFunc(h.crossSite))
	return guard.Handler(e), nil
}

// ParsePublic reads the public address of a server: scheme and host, no more.
func ParsePublic(address string) (*url.URL, error) {
	public, err := url.Parse(address)
	if err != nil || public.Host == "" || public.Path != "" && public.Path != "/" || public.Scheme != "http" && public.Scheme != "https" ||
		public.RawQuery != "" || public.Fragment != "" || public.User != nil {
		return nil, fault.Field("public-url", "The public address %q is none. Give scheme and host, such as https://tide.example.", address)
	}
	return public, nil
}

// extractor believes X-Forwarded-For only where it was told to.
func extractor(proxies []netip.Prefix) echo.IPExtractor {
	if len(proxies) == 0 {
		return echo.ExtractIPDirect()
	}
	options := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		options = append(options, echo.TrustIPRange(prefixNet(p)))
	}
	return echo.ExtractIPFromXFFHeader(options...)
}

// parsePages makes one template set of each page file.
func parsePages() (map[string]*template.Template, error) {
	files := static.Templates()
	partials, err := template.New("").Funcs(static.Funcs()).ParseFS(files, "partials/*.html")
	if err != nil {
		return nil, fmt.Errorf("parse partials: %w", err)
	}
	names, err := pageFiles(files)
	if err != nil {
		return nil, fmt.Errorf("list pages: %w", err)
	}
	pages := map[string]*template.Template{}
	for _, name := range names {
		t, err := template.Must(partials.Clone()).ParseFS(files, name)
		if err != nil {
			return nil, fmt.Errorf("parse page: %w", err)
		}
		pages[strings.TrimSuffix(strings.TrimPrefix(name, "pages/"), ".html")] = t
	}
	return pages, nil
}
