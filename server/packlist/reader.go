package packlist

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Row is a row that was read.
type Row struct {
	Line   int    // in the file, the first line being 1
	Offset int64  // of its beginning in the text, as UTF-8 without a mark
	Sealer string // number of the sealer
	At     record.Span
	Pouch  string
	Load   string
	Pack   string
	Count  int
}

// Bad is a row that cannot be read.
type Bad struct {
	Line int    `json:"line"`
	Why  string `json:"why"`
	// Strange is the cell that names no sealer, if that is what is wrong.
	Strange string `json:"strange,omitempty"`
}

// Terms are what a list is read by.
type Terms struct {
	Columns record.PackColumns
	Zone    *time.Location    // of Columns.Zone
	Now     record.Time       // nothing was sealed later
	Known   func(string) bool // whether there is a sealer of a number
}

// Reader reads a list row by row.
type Reader struct {
	terms   Terms
	csv     *csv.Reader
	dater   dater
	layout  layout
	base    int64 // where the text begins that csv sees
	first   int   // line of the first row that is read, 0 if that is counted
	line    int   // of the beginning, less 1
	cells   int
	names   map[string]string // what cells call sealers
	strange string            // the cell of the row that names none
}

// layout is where the columns are.
type layout struct {
	width                                         int
	sealer, date, clock, pouch, load, pack, count int // -1: there is none
}

// Open reads the first line. It is a fault that names the field where a column
// that was named is not there.
func Open(r io.Reader, t Terms) (*Reader, error) {
	text, err := utf8Of(r, t.Columns.Encoding)
	if err != nil {
		return nil, err
	}
	reader := newReader(text, t)
	header, err := reader.csv.Read()
	if err != nil {
		return nil, fault.Field("file", "The first line has to be the names of the columns; it cannot be read.")
	}
	reader.layout, err = layoutOf(header, &t.Columns)
	return reader, err
}

func newReader(r io.Reader, t Terms) *Reader {
	c := csv.NewReader(r)
	c.ReuseRecord, c.FieldsPerRecord = true, -1
	c.Comma = ','
	if s := t.Columns.Separator; s != "" {
		c.Comma = rune(s[0])
	}
	zone := t.Zone
	if zone == nil {
		zone = time.UTC
	}
	reader := &Reader{terms: t, csv: c, dater: dater{order: orders[t.Columns.Order], zone: zone}, names: map[string]string{}}
	for _, s := range t.Columns.Same {
		reader.names[s.Cell] = s.Number
	}
	return reader
}

func layoutOf(header []string, c *record.PackColumns) (l layout, err error) {
	l.width = len(header)
	for _, of := range []struct {
		at          *int
		field, name string
		must        bool
	}{{&l.sealer, "sealer_column", c.Sealer, true}, {&l.date, "date_column", c.Date, true},
		{&l.clock, "clock_column", c.Clock, false}, {&l.pouch, "pouch_column", c.Pouch, false},
		{&l.load, "load_column", c.Load, false}, {&l.pack, "pack_column", c.Pack, false},
		{&l.count, "count_column", c.Count, false}} {
		*of.at = -1
		for i, name := range header {
			if of.name != "" && Clean(name) == of.name {
				*of.at = i
				break
			}
		}
		if *of.at < 0 && (of.must || of.name != "") {
			return l, fault.Field(of.field, "Choose the column for this.")
		}
	}
	return l, nil
}

// Next returns the next row, or what is wrong with it; io.EOF at the end. Its
// strings are good until the next call's are.
func (r *Reader) Next() (Row, *Bad, error) {
	row := Row{Offset: r.base + r.csv.InputOffset()}
	cells, err := r.csv.Read()
	var broken *csv.ParseError
	switch {
	case errors.As(err, &broken):
		r.begin(broken.StartLine)
		return row, &Bad{Line: r.line + broken.StartLine, Why: "a quotation mark is not where it can be, or is not closed; it was read as far as line " +
			strconv.Itoa(r.line+broken.Line)}, nil
	case err != nil:
		return row, nil, err
	}
	line, _ := r.csv.FieldPos(0)
	r.begin(line)
	row.Line, r.strange = r.line+line, ""
	if r.cells += len(cells); r.cells > MaxCells {
		return row, nil, fault.New(fault.TooLarge, "The list has more than a million cells. Split it.")
	}
	if why := r.fill(&row, cells); why != "" {
		return row, &Bad{row.Line, why, r.strange}, nil
	}
	return row, nil, nil
}

// begin settles which line of the file the reader began with.
func (r *Reader) begin(line int) {
	if r.first != 0 {
		r.line, r.first = r.first-line, 0
	}
}

// fill reads the cells of a row and tells what is wrong with them.
func (r *Reader) fill(row *Row, cells []string) (why string) {
	l := &r.layout
	if len(cells) != l.width {
		return fmt.Sprintf("it has %d cells, the first line has %d", len(cells), l.width)
	}
	for _, c := range cells {
		if len(c) > maxCell {
			return "a cell is far too long; perhaps a quotation mark is missing"
		}
		if !utf8.ValidString(c) {
			return "it is not UTF-8: choose how the file is written"
		}
	}
	cell := func(at int) string {
		if at < 0 {
			return ""
		}
		return Clean(cells[at])
	}
	row.Pouch, row.Load, row.Pack = cell(l.pouch), cell(l.load), cell(l.pack)
	if row.Sealer, why = r.sealer(cell(l.sealer)); why != "" {
		return why
	}
	if row.Count, why = countOf(cell(l.count)); why != "" {
		return why
	}
	date := cell(l.date)
	if row.At, why = r.dater.read(date, cell(l.clock)); why != "" {
		return strconv.Quote(strings.TrimSpace(date+" "+cell(l.clock))) + " " + why
	}
	if r.terms.Now != 0 && row.At.From > r.terms.Now.Add(2*time.Minute) {
		return strconv.Quote(date) + " lies in the future"
	}
	row.At.From -= record.Time(int64(r.terms.Columns.Before) * minuteMS)
	row.At.To += record.Time(int64(r.terms.Columns.After) * minuteMS)
	return ""
}

// sealer is the number of the sealer that a cell means.
func (r *Reader) sealer(cell string) (number, why string) {
	if cell == "" {
		return "", "it names no sealer"
	}
	number, seen := r.names[cell]
	if !seen {
		number = strings.Clone(strings.ToUpper(cell))
		if r.terms.Known != nil && !r.terms.Known(number) {
			number = ""
		}
		if len(r.names) < 10_000 {
			r.names[strings.Clone(cell)] = number
		}
	}
	if number == "" {
		r.strange = cell
		return "", "no sealer here is called " + strconv.Quote(cell)
	}
	return number, ""
}

func countOf(cell string) (int, string) {
	if cell == "" {
		return 1, ""
	}
	n, width, rest := digits(cell)
	if width == 0 || rest != "" || n < 1 || n > 10_000 {
		return 0, strconv.Quote(cell) + " is no number of packs"
	}
	return n, ""
}

// Clean takes off spaces, and the apostrophe that our own lists put before what a
// spreadsheet would take for a formula.
func Clean(cell string) string {
	cell = strings.TrimSpace(cell)
	if len(cell) > 1 && cell[0] == '\'' && strings.IndexByte("=+-@\t\r", cell[1]) >= 0 {
		return cell[1:]
	}
	return cell
}

// Key is the same for the same pack in two lists: by its own number, if it has
// one, else by all that is said of it.
func (r *Row) Key() string {
	if r.Pack != "" {
		return "pack " + r.Pack
	}
	return strings.Join([]string{strconv.FormatInt(int64(r.At.From), 10), strconv.FormatInt(int64(r.At.To), 10), r.Pouch, r.Load,
		strconv.Itoa(r.Count)}, "\x00")
}
