package web

import (
	"bytes"
	"net/url"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// Page is the frame of every page: see static/templates/partials/page.html.
type Page struct {
	Title, Head, Sub  string
	Back              *Link
	Band              *Band
	Lang, Dir, Scheme string
	Place, Home, Who  string
	At, Ticket        string
	Kept              *Kept
	Plain             bool
	Nav               []Link
	Messages          []Message
	Fresh             *Fresh
	Demo              bool
	Print             *Print
}

// Kept is set on a page that a phone keeps.
type Kept struct {
	AsOf, Ends, Sealer string
	Known              *Band // as it was known; Band says no more than is sure
}

// Link is a place to go.
type Link struct {
	Href, Text string
	Here       bool
}

// Band is the mark: see static/templates/partials/band.html.
type Band struct {
	State, Word, Note, Size string
	At, Fill                int
}

// Message is something that just happened.
type Message struct{ Tone, Text string }

// Fresh lets a page ask whether it is still true.
type Fresh struct{ URL, Version, At string }

// Print heads and foots a printed page.
type Print struct{ Place, Made, Mark string }

// Action is a button: see static/templates/partials/actions.html.
type Action struct {
	Text, Note, Tone, Href, For, Name, Value, To string
	Big, Half, Skip                              bool
}

// Summary lists what keeps a form from being taken.
type Summary struct {
	Title  string
	Errors []SummaryError
}

// SummaryError is one line of it.
type SummaryError struct{ Field, Text string }

// render draws a page to a buffer and then sends it.
func (h *house) render(c echo.Context, status int, name string, data any) error {
	t, ok := h.pages[name]
	if !ok {
		return fault.New(fault.Internal, "There is no template for this page.")
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "page", data); err != nil {
		return fault.Wrap(err, fault.Internal, "This page could not be drawn.")
	}
	return c.HTMLBlob(status, b.Bytes())
}

// page makes the frame of a page from that of a view.
func (h *house) page(c echo.Context, f *desk.Frame, title string) Page {
	p := Page{Title: title, Home: "/", Demo: h.desk.Demo(), Plain: h.plain, Messages: append(h.alarms(), said(c)...)}
	if f == nil {
		return p
	}
	p.Place, p.Who, p.At, p.Ticket = f.Place, f.Who, f.Clock(f.Now), f.Ticket
	if f.Phone != nil {
		p.Head, p.Kept = "Kept: ", &Kept{AsOf: p.At, Ends: f.Phone.Ends.String()}
		return p
	}
	if f.Who != "" {
		p.Nav = nav(c, f)
	}
	p.Print = &Print{Place: f.Place, Made: "printed " + f.In(f.Now).Format("2 January 2006, 15:04") + by(f.Who),
		Mark: h.desk.Mark()}
	return p
}

func by(name string) string {
	if name == "" {
		return ""
	}
	return ", by " + name
}

// hidden are the fields that every form carries.
type hidden struct {
	ID   record.ID
	Seen int64
}

func formOf(f *desk.Frame) hidden { return hidden{ID: f.NewID, Seen: f.Size} }

// summaryOf makes the error summary of a form; nil if there is nothing wrong.
func summaryOf(err error) *Summary {
	if err == nil {
		return nil
	}
	f := asFault(err)
	return &Summary{Title: titles[f.Code], Errors: []SummaryError{{Field: f.Field, Text: f.Message}}}
}

// fieldError is what stands beside a field.
func fieldError(err error, field string) string {
	if err == nil {
		return ""
	}
	if f := asFault(err); f.Field == field {
		return f.Message
	}
	return ""
}

// errorPage draws the page of a fault: what to do next, and the scan box.
func (h *house) errorPage(c echo.Context, status int, f *fault.Error) error {
	data := struct {
		Page
		Text    string
		Request string
		Scan    bool
		On      Link // where to go on
	}{Page: h.page(c, nil, titles[f.Code]), Text: f.Message, Scan: f.Code == fault.Unknown || f.Code == fault.Gone,
		On: Link{Href: "/", Text: "To the board"}}
	if f.Code == fault.Misdirected {
		own := h.public.Scheme + "://" + h.public.Host
		data.On = Link{Href: own, Text: "Open " + own}
	}
	if status >= 500 {
		data.Request = c.Response().Header().Get(echo.HeaderXRequestID)
	}
	return h.render(c, status, "error", data)
}

func escape(s string) string { return url.QueryEscape(s) }
