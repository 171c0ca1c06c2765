package desk

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"tidemark/server/fault"
	"tidemark/server/packlist"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PackListsView shows which lists came in, the newest first.
type PackListsView struct {
	Frame
	Lists []PackListRow `json:"lists"`
}

// PackListRow is a list that came in.
type PackListRow struct {
	record.PacksListed
	Seq  record.Seq  `json:"list"`
	By   string      `json:"by"`
	At   record.Time `json:"at"`
	Back *TakenBack  `json:"taken_back,omitempty"` // nil while it counts
}

// TakenBack says who took something back, and why.
type TakenBack struct {
	By  string      `json:"by"`
	At  record.Time `json:"at"`
	Why string      `json:"why"`
}

// PackLists lists what came in.
func (d *Desk) PackLists(who Caller) (*PackListsView, error) {
	if _, err := d.may(who, "PackLists"); err != nil {
		return nil, err
	}
	view := &PackListsView{}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	for _, l := range slices.Backward(view.Dept.Lists) {
		row, err := d.listRow(l)
		if err != nil {
			return nil, err
		}
		view.Lists = append(view.Lists, *row)
	}
	return view, nil
}

// PackListView is one list that came in.
type PackListView struct {
	Frame
	PackListRow
}

// PackList shows one list that came in, and how it was read.
func (d *Desk) PackList(who Caller, list record.Seq) (*PackListView, error) {
	if _, err := d.may(who, "PackLists"); err != nil {
		return nil, err
	}
	view := &PackListView{}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	i := slices.IndexFunc(view.Dept.Lists, func(l rules.PackList) bool { return l.Seq == list })
	if i < 0 {
		return nil, fault.New(fault.Unknown, "There is no such list here.")
	}
	row, err := d.listRow(view.Dept.Lists[i])
	if err != nil {
		return nil, err
	}
	view.PackListRow = *row
	return view, nil
}

func (d *Desk) listRow(l rules.PackList) (*PackListRow, error) {
	r, err := d.ledger.Read(l.Seq)
	if err != nil {
		return nil, err
	}
	b, err := bodyOf[*record.PacksListed](&r)
	if err != nil {
		return nil, err
	}
	row := &PackListRow{PacksListed: *b, Seq: l.Seq, At: r.At}
	d.ledger.View(func(v record.View) { row.By = d.name(v, r.By) })
	if l.Gone == 0 {
		return row, nil
	}
	back, err := d.ledger.Read(l.Gone)
	if err != nil {
		return nil, err
	}
	gone, err := bodyOf[*record.PacksUnlisted](&back)
	if err != nil {
		return nil, err
	}
	row.Back = &TakenBack{At: back.At, Why: gone.Why}
	d.ledger.View(func(v record.View) { row.Back.By = d.name(v, back.By) })
	return row, nil
}

// UnlistIn takes a list back.
type UnlistIn struct {
	From
	List record.Seq `param:"list" json:"-"`
	Why  string     `form:"why" json:"why"`
}

// TakeListBack has no hold look into a list any more. Its file and its record
// stay; the same file can come in anew, read in another way.
func (d *Desk) TakeListBack(ctx context.Context, who Caller, in UnlistIn) (Done, error) {
	return d.facts(ctx, who, "TakeListBack", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.PacksUnlisted{List: in.List, Why: strings.TrimSpace(in.Why)}, nil)
}

// PackPreview shows how a stored list would be read. Nothing of it is recorded.
type PackPreview struct {
	Frame
	In      PackListIn       `json:"in"` // what was said, completed by what is remembered and what the list shows
	Header  []string         `json:"header"`
	First   [][]string       `json:"first"` // rows as they are
	Read    []PackPreviewRow `json:"read"`  // and as they are understood
	Rows    int              `json:"rows"`
	Packs   int              `json:"packs"`
	From    record.Time      `json:"from,omitzero"`
	To      record.Time      `json:"to,omitzero"`
	Bad     int              `json:"bad"`
	BadRows []packlist.Bad   `json:"bad_rows"`          // the first of them
	Strange []StrangeSealer  `json:"strange"`           // cells that name no sealer here
	Numbers []string         `json:"numbers"`           // of the sealers here
	Here    record.Time      `json:"here,omitzero"`     // when this very file came in before
	Problem string           `json:"problem,omitempty"` // why it cannot be read at all
	Field   string           `json:"field,omitempty"`
}

// PackPreviewRow is a row as it is understood.
type PackPreviewRow struct {
	Line   int         `json:"line"`
	Sealer string      `json:"sealer"`
	From   record.Time `json:"from"`
	To     record.Time `json:"to"`
	Pouch  string      `json:"pouch,omitempty"`
	Known  bool        `json:"known_pouch"` // the department has a pouch of this name
	Load   string      `json:"load,omitempty"`
	Pack   string      `json:"pack,omitempty"`
	Count  int         `json:"count"`
}

// StrangeSealer is a cell that names no sealer, and how often it stands there.
type StrangeSealer struct {
	Cell string `json:"cell"`
	Rows int    `json:"rows"`
}

const (
	previewRows = 3
	previewBad  = 40
	mostStrange = 20
)

// PreviewPacks reads a stored list as it would be taken.
func (d *Desk) PreviewPacks(who Caller, in PackListIn) (*PackPreview, error) {
	if _, err := d.may(who, "ImportPacks"); err != nil {
		return nil, err
	}
	view := &PackPreview{In: in}
	var known map[string]bool
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		known = numbersHere(v, view.Dept)
	})
	for n := range known {
		view.Numbers = append(view.Numbers, n)
	}
	slices.Sort(view.Numbers)
	all, err := d.importedOf(who.Dept)
	if err != nil {
		return nil, err
	}
	for _, l := range view.Dept.Lists {
		if l.SHA256 == in.File {
			r, err := d.ledger.Read(l.Seq)
			if err != nil {
				return nil, err
			}
			view.Here = r.At
		}
	}
	if err := view.look(d, all); err != nil {
		return nil, err
	}
	return view, view.read(d, known)
}

// look reads the first lines as they are, and completes what was not said: by
// the newest list that had such columns, then by what can be seen.
func (view *PackPreview) look(d *Desk, all []imported) error {
	f, err := d.openList(view.In.File)
	if err != nil {
		return err
	}
	defer f.Close()
	head := make([]byte, 64<<10)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return fault.Wrap(err, fault.Internal, "The list cannot be read.")
	}
	in, first := &view.In, head[:n]
	if in.Encoding == "" {
		in.Encoding = packlist.EncodingOf(first)
		if last := len(all) - 1; last >= 0 && in.Encoding == "utf-8" && !utf8.Valid(first[:bytes.LastIndexByte(first, '\n')+1]) {
			in.Encoding = all[last].Columns.Encoding
		}
	}
	text := packlist.Head(first, in.Encoding)
	if in.Separator == "" {
		in.Separator = packlist.SeparatorOf(text)
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = rune(in.Separator[0]), -1, true
	view.Header, err = r.Read()
	if err != nil {
		return fault.Field("file", "The first line has to be the names of the columns; it cannot be read.")
	}
	for i, name := range view.Header {
		view.Header[i] = packlist.Clean(name)
	}
	var dates []string
	for range 200 {
		row, err := r.Read()
		if err != nil {
			break
		}
		if len(view.First) < previewRows {
			view.First = append(view.First, row)
		}
		if at := slices.Index(view.Header, or(in.Date, packlist.Guess(view.Header, "date"))); at >= 0 && at < len(row) {
			dates = append(dates, row[at])
		}
	}
	in.complete(view.Header, dates, all)
	return nil
}

// complete fills in what was not said.
func (in *PackListIn) complete(header, dates []string, all []imported) {
	said := in.Sealer != "" || in.Date != ""
	for _, it := range slices.Backward(all) {
		if c := it.Columns; !said && fits(header, &c) {
			in.recall(&c)
			return
		}
	}
	if !said {
		for _, of := range []struct {
			at   *string
			what string
		}{{&in.Sealer, "sealer"}, {&in.Date, "date"}, {&in.Clock, "clock"}, {&in.Pouch, "pouch"}, {&in.Load, "load"},
			{&in.Pack, "pack"}, {&in.Count, "count"}} {
			*of.at = packlist.Guess(header, of.what)
		}
		if in.Clock == in.Date {
			in.Clock = ""
		}
	}
	if in.Order == "" {
		in.Order = packlist.OrderOf(dates)
	}
}

// fits reports whether a list has the columns of an earlier one.
func fits(header []string, c *record.PackColumns) bool {
	for _, name := range []string{c.Sealer, c.Date, c.Clock, c.Pouch, c.Load, c.Pack, c.Count} {
		if name != "" && !slices.Contains(header, name) {
			return false
		}
	}
	return true
}

// recall takes what was said of an earlier list.
func (in *PackListIn) recall(c *record.PackColumns) {
	in.Sealer, in.Date, in.Clock, in.Pouch, in.Load, in.Pack, in.Count = c.Sealer, c.Date, c.Clock, c.Pouch, c.Load, c.Pack, c.Count
	in.Order, in.Which, in.Zone, in.Before, in.After = c.Order, c.Which, c.Zone, strconv.Itoa(c.Before/60), strconv.Itoa(c.After/60)
	in.Cells, in.Numbers = nil, nil
	for _, s := range c.Same {
		in.Cells, in.Numbers = append(in.Cells, s.Cell), append(in.Numbers, s.Number)
	}
}

// read reads the whole list as it would be taken. What keeps it from that is told
// on the page, not by an error.
func (view *PackPreview) read(d *Desk, known map[string]bool) error {
	c, err := view.In.columns(view.Dept)
	if err != nil {
		return view.problem(err)
	}
	strange := map[string]int{}
	for _, s := range c.Same {
		if !known[s.Number] {
			return view.problem(fault.Field("numbers", "There is no sealer %s here.", s.Number))
		}
	}
	names := d.pouchNames(view.Dept.ID)
	terms := d.terms(c, d.now(), func(n string) bool { return known[n] })
	s, _, err := d.scanList(view.In.File, terms, func(row packlist.Row, bad *packlist.Bad) {
		switch {
		case bad != nil && len(view.BadRows) < previewBad:
			view.BadRows = append(view.BadRows, *bad)
		case bad == nil && len(view.Read) < previewRows:
			_, named := names[strings.ToLower(row.Pouch)]
			view.Read = append(view.Read, PackPreviewRow{Line: row.Line, Sealer: row.Sealer, From: row.At.From, To: row.At.To,
				Pouch: row.Pouch, Known: named, Load: row.Load, Pack: row.Pack, Count: row.Count})
		}
		if bad != nil && bad.Strange != "" && (strange[bad.Strange] > 0 || len(strange) < mostStrange) {
			strange[bad.Strange]++
		}
	})
	if err != nil {
		return view.problem(err)
	}
	for cell, rows := range strange {
		view.Strange = append(view.Strange, StrangeSealer{cell, rows})
	}
	slices.SortFunc(view.Strange, func(a, b StrangeSealer) int { return strings.Compare(a.Cell, b.Cell) })
	view.Rows, view.Packs, view.Bad, view.From, view.To = s.Rows, s.Packs, s.Bad, s.First, s.Last
	return nil
}

// problem keeps why a list cannot be read, for the page; what is no matter of the
// list is an error.
func (view *PackPreview) problem(err error) error {
	var f *fault.Error
	if !errors.As(err, &f) || f.Code != fault.Invalid && f.Code != fault.TooLarge {
		return err
	}
	view.Problem, view.Field = f.Message, f.Field
	return nil
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
