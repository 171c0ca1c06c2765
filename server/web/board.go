package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type boardPage struct {
	Page
	V     *desk.BoardView
	Table table
	Needs []row
	Tiles []tile
	SetUp bool
	Wall  bool   // on a wall: nothing to tap
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

func (h *house) drawBoard(c echo.Context, v *desk.BoardView) error {
	return h.render(c, http.StatusOK, "board", h.boardPage(c, v))
}

// boardPart draws what an open board fetches when something changed.
func (h *house) boardPart(c echo.Context) error {
	v, err := h.askBoard(c)
	if err != nil {
		return err
	}
	return h.renderPart(c, "board", "part", h.boardPage(c, v))
}

func (h *house) boardPage(c echo.Context, v *desk.BoardView) boardPage {
	p := boardPage{Page: h.page(c, &v.Frame, "Which sealer for which pouch"), V: v, SetUp: len(v.Sealers) == 0 && v.Can("AddSealer")}
	p.Table = pouchTable(v)
	p.Needs = needRows(v)
	for i := range v.Sealers {
		s := &v.Sealers[i]
		b := bandOf(&v.Frame, s.Standing)
		b.Word = shortWord(b.Word)
		p.Tiles = append(p.Tiles, tile{Name: "Sealer " + s.Number, Href: "/S/" + s.Code, Band: b})
	}
	p.Clock, p.Began = v.Clock(v.Now), v.Clock(v.Began())
	if c.QueryParam("wall") != "" {
		p.Scheme, p.Wall, p.Nav = "board", true, nil
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
		var waits []string
		for _, w := range p.Changeover {
			waits = append(waits, w.Text+" (about "+itoa(w.Minutes)+" min)")
		}
		var not []string
		if len(p.Out) > 0 {
			not = append(not, refs(p.Out)+" out of service")
		}
		if len(p.Unapproved) > 0 {
			not = append(not, refs(p.Unapproved)+" not approved")
		}
		t.Rows = append(t.Rows, []cell{{Text: p.Name}, ready, {Text: refs(p.Check), Tone: "due"},
			{Text: strings.Join(waits, ", ")}, {Text: strings.Join(not, " · "), Tone: "soft"}})
	}
	return t
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
		rows = append(rows, row{Text: "Bad pack found elsewhere", Note: foundWaits(v.Found), Href: "/found"})
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
