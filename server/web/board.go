package web

import (
	"bytes"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// boardPage is the page around a board.
type boardPage struct {
	Page
	Board template.HTML // the part, as it was drawn for all
	SetUp bool
	Wall  bool // on a wall: nothing to tap
}

// boardPart is a board, the same for everybody of a department.
type boardPart struct {
	Table table
	Needs []row
	Tiles []tile
	Clock string // when it was drawn
	Began string // when the operating day began
}

// table, cell, row and tile are shapes of static/templates/partials/lists.html.
type table struct {
	Caption string
	Head    []head
	Rows    [][]cell
}

type head struct {
	Text string
	Num  bool
}

type cell struct{ Text, Href, Tone string }

type row struct {
	Text, Note, Href string
	Band             *Band
}

type tile struct {
	Name, Href string
	Band       *Band
}

func (h *house) askBoard(c echo.Context) (*desk.BoardView, error) {
	if h.desk.NeedsSetUp() {
		return nil, notSetUp
	}
	return h.desk.Board(caller(c))
}

// boardHere draws the page around the board of a department. Only the frame is
// the reader's own.
func (h *house) boardHere(c echo.Context) error {
	if h.desk.NeedsSetUp() {
		return notSetUp
	}
	f, err := h.desk.Blank(caller(c))
	if err != nil {
		return err
	}
	d, err := h.boards.at(caller(c).Dept, 0)
	if err != nil {
		return err
	}
	p := boardPage{Page: h.page(c, &f, "Which sealer for which pouch"), SetUp: d.Empty && f.Can("AddSealer"),
		Board: template.HTML(d.html)} // from our own template, escaped there
	if c.QueryParam("wall") != "" {
		p.Scheme, p.Wall, p.Nav = "board", true, nil
	}
	var b bytes.Buffer
	if err := h.pages["board"].ExecuteTemplate(&b, "page", p); err != nil {
		return fault.Wrap(err, fault.Internal, "This page could not be drawn.")
	}
	return sendSqueezed(c, b.Bytes(), nil)
}

// boardPart sends what an open board fetches when something changed: seen is the
// size it was told of.
func (h *house) boardPart(c echo.Context) error {
	if _, err := h.desk.Glance(caller(c)); err != nil {
		return err
	}
	told, _ := strconv.ParseInt(c.QueryParam("seen"), 10, 64) // without a number: as it is
	d, err := h.boards.at(caller(c).Dept, told)
	if err != nil {
		return err
	}
	return sendSqueezed(c, d.html, d.zipped)
}

// sendSqueezed sends HTML, squeezed if the reader takes that. On a board stands
// nothing that a reader typed, so its length tells nothing.
func sendSqueezed(c echo.Context, plain, zipped []byte) error {
	header := c.Response().Header()
	header.Add(echo.HeaderVary, echo.HeaderAcceptEncoding)
	if !strings.Contains(c.Request().Header.Get(echo.HeaderAcceptEncoding), "gzip") {
		return c.HTMLBlob(http.StatusOK, plain)
	}
	if zipped == nil {
		zipped = squeezed(plain)
	}
	header.Set(echo.HeaderContentEncoding, "gzip")
	return c.HTMLBlob(http.StatusOK, zipped)
}

// boardShown puts a board into words.
func boardShown(v *desk.BoardView) boardPart {
	p := boardPart{Table: pouchTable(v), Needs: needRows(v), Clock: v.Clock(v.Now), Began: v.Clock(v.Began())}
	for i := range v.Sealers {
		s := &v.Sealers[i]
		b := bandOf(&v.Frame, s.Standing)
		b.Word = shortWord(b.Word)
		p.Tiles = append(p.Tiles, tile{Name: "Sealer " + s.Number, Href: "/S/" + s.Code, Band: b})
	}
	return p
}

func shortWord(word string) string {
	word, _, _ = strings.Cut(word, ".")
	word, _, _ = strings.Cut(word, ":")
	return word
}

func pouchTable(v *desk.BoardView) table {
	t := table{Caption: "By pouch", Head: []head{{Text: "Pouch"}, {Text: "Ready now"}, {Text: "After a check"},
		{Text: "After a changeover"}, {Text: "Not possible"}}}
	for _, p := range v.Pouches {
		ready := cell{Text: refs(p.Ready), Tone: "ready"}
		if len(p.Ready) == 0 {
			ready = cell{Text: "none", Tone: "out"}
		}
		if p.Cannot {
			ready.Text = "none, nothing can seal it"
		}
		var not []string
		if len(p.Out) > 0 {
			not = append(not, refs(p.Out)+" out of service")
		}
		if len(p.Unapproved) > 0 {
			not = append(not, refs(p.Unapproved)+" not approved")
		}
		t.Rows = append(t.Rows, []cell{{Text: p.Name}, ready, {Text: refs(p.Check), Tone: "due"},
			{Text: waits(p.Changeover)}, {Text: strings.Join(not, " · "), Tone: "soft"}})
	}
	return t
}

// waits lists sealers by the minutes that their changeover takes: "4, 9 (about 40
// min)".
func waits(list []desk.WaitRef) string {
	var order []int
	by := map[int][]string{}
	for _, w := range list {
		if by[w.Minutes] == nil {
			order = append(order, w.Minutes)
		}
		by[w.Minutes] = append(by[w.Minutes], w.Text)
	}
	slices.Sort(order)
	var texts []string
	for _, m := range order {
		texts = append(texts, strings.Join(by[m], ", ")+" (about "+itoa(m)+" min)")
	}
	return strings.Join(texts, "; ")
}

func refs(list []desk.Ref) string {
	var names []string
	for _, r := range list {
		names = append(names, r.Text)
	}
	return strings.Join(names, ", ")
}

func needRows(v *desk.BoardView) (rows []row) {
	if v.Found > 0 {
		rows = append(rows, row{Text: "Bad pack found elsewhere", Note: foundWaits(v.Found), Href: ifMay(&v.Frame, "TakeFound", "/found")})
	}
	for _, n := range v.Needs {
		switch {
		case n.Problem != nil:
			rows = append(rows, problemRow(&v.Frame, n))
		case n.Sealer.Standing.State == record.CheckDue:
			b := bandOf(&v.Frame, n.Sealer.Standing)
			b.Size = "row"
			rows = append(rows, row{Text: "Sealer " + n.Sealer.Number, Href: "/S/" + n.Sealer.Code, Band: b})
		}
	}
	return rows
}

// problemRow is a problem in a list: what, packs, and who has seen it.
func problemRow(f *desk.Frame, n desk.NeedRow) row {
	p := n.Problem
	r := row{Text: "Problem " + itoa(p.Number), Href: "/problems/" + p.ID.String(), Note: listed(whatLine(p), f.Clock(p.At))}
	if n.Sealer != nil {
		r.Text += " · Sealer " + n.Sealer.Number
		r.Band = bandOf(f, n.Sealer.Standing)
		r.Band.Word, r.Band.Note, r.Band.Size = shortWord(r.Band.Word), "", "row"
	}
	if p.Packs > 0 {
		r.Note += "; hold at least " + itoa(p.Packs) + " packs"
	}
	switch {
	case p.Seen != "":
		r.Note += "; seen by " + p.Seen + " " + f.Clock(p.SeenAt)
	case p.What != "sealed-not-ready" && p.What != "makers-seal":
		r.Note += "; not seen yet"
	}
	return r
}
