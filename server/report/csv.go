package report

import (
	"encoding"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"tidemark/server/record"
)

// Row is a record as the tables have it: what it says, and the names behind its
// ids. Zone is the department's.
type Row struct {
	*record.Record
	Zone                           *time.Location
	Sealer, Pouch, Problem         string // number, name, number
	Who, For, Note, Left, GaveNone string // Left: where it left the sealer
}

// common are the columns of every table, before those of its kind.
var common = []string{"record", "happened_from", "happened_to", "time_said", "written_down", "late", "operating_day", "also_for_day",
	"sealer", "pouch_name", "problem_number", "who", "on_behalf", "via", "note", "corrects_record", "left_sealer", "gave_nothing"}

// CSV writes a table for each kind of record, each as it comes: UTF-8 with a byte
// order mark, lines ending in CR LF.
type CSV struct {
	open   func(kind record.Kind) (io.Writer, error)
	tables map[record.Kind]*csvTable
	cells  []string
}

type csvTable struct {
	w       *csv.Writer
	columns []column
}

// NewCSV writes tables into what open gives for a kind.
func NewCSV(open func(kind record.Kind) (io.Writer, error)) *CSV {
	return &CSV{open: open, tables: map[record.Kind]*csvTable{}}
}

// Write adds a record to the table of its kind.
func (c *CSV) Write(r *Row) error {
	body, err := r.Content()
	if err != nil {
		return err
	}
	t, ok := c.tables[r.Kind]
	if !ok {
		if t, err = c.begin(r.Kind, body); err != nil {
			return err
		}
	}
	c.cells = r.common(c.cells[:0])
	v := reflect.ValueOf(body).Elem()
	for _, col := range t.columns {
		c.cells = append(c.cells, col.cell(v))
	}
	return t.w.Write(c.cells)
}

func (c *CSV) begin(kind record.Kind, body record.Body) (*csvTable, error) {
	to, err := c.open(kind)
	if err != nil {
		return nil, err
	}
	if _, err := io.WriteString(to, "\ufeff"); err != nil {
		return nil, fmt.Errorf("begin table of %s: %w", kind, err)
	}
	t := &csvTable{w: csv.NewWriter(to), columns: columnsOf(reflect.TypeOf(body).Elem(), "", nil)}
	t.w.UseCRLF = true
	c.tables[kind] = t
	head := append([]string(nil), common...)
	for _, col := range t.columns {
		if slices.Contains(common, col.name) {
			col.name = "said_" + col.name // of the kind, not of every record
		}
		head = append(head, col.name)
	}
	return t, t.w.Write(head)
}

// Flush writes what is still held.
func (c *CSV) Flush() error {
	for kind, t := range c.tables {
		t.w.Flush()
		if err := t.w.Error(); err != nil {
			return fmt.Errorf("write table of %s: %w", kind, err)
		}
	}
	return nil
}

func (r *Row) common(cells []string) []string {
	corrects := ""
	if r.Corrects != record.None {
		corrects = strconv.FormatInt(int64(r.Corrects), 10)
	}
	from := r.local(r.Happened.From)
	to := from
	if r.Happened.To != r.Happened.From {
		to = r.local(r.Happened.To)
	}
	return append(cells, strconv.FormatInt(int64(r.Seq), 10), from, to, string(r.Happened.Said),
		r.local(r.At), yes(r.Late), date(r.Day), date(r.Covers), Cell(r.Sealer), Cell(r.Pouch), Cell(r.Problem),
		Cell(r.Who), Cell(r.For), string(r.Via), Cell(r.Note), corrects, r.Left, r.GaveNone)
}

// local is an instant in the department's zone, with its offset.
func (r *Row) local(t record.Time) string {
	if t == 0 {
		return ""
	}
	return t.In(r.Zone).Format("2006-01-02T15:04:05Z07:00")
}

func date(d record.Date) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

// Cell makes a cell of text that no spreadsheet takes for a formula: a mark
// before = + - @, tab and return. A plain number stays a number.
func Cell(text string) string {
	if text == "" || !strings.ContainsRune("=+-@\t\r", rune(text[0])) || plainNumber(text) {
		return text
	}
	return "'" + text
}

// plainNumber reports whether a text is digits with a sign and a point at most.
func plainNumber(text string) bool {
	text = strings.TrimPrefix(strings.TrimPrefix(text, "-"), "+")
	whole, part, point := strings.Cut(text, ".")
	digits := func(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
	return digits(whole) && (!point || digits(part))
}

// column is a field of what records of a kind say.
type column struct {
	name string
	path []int // of reflect's FieldByIndex
	text func(reflect.Value) string
}

func (c column) cell(body reflect.Value) string { return c.text(body.FieldByIndex(c.path)) }

// columnsOf lists the fields of a struct by the names of their JSON; a struct
// within it gives a column for each of its own.
func columnsOf(t reflect.Type, prefix string, path []int) (list []column) {
	for f := range t.Fields() {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		at := append(append([]int(nil), path...), f.Index...)
		switch {
		case f.Anonymous && name == "":
			list = append(list, columnsOf(f.Type, prefix, at)...)
		case f.Type.Kind() == reflect.Struct && !isText(f.Type):
			list = append(list, columnsOf(f.Type, prefix+named(f, name)+"_", at)...)
		default:
			list = append(list, column{prefix + named(f, name), at, cellOf(f.Type)})
		}
	}
	return list
}

func named(f reflect.StructField, name string) string {
	if name == "" {
		return strings.ToLower(f.Name)
	}
	return name
}

func isText(t reflect.Type) bool { return t.Implements(reflect.TypeFor[encoding.TextMarshaler]()) }

// cellOf tells how values of a type are written.
func cellOf(t reflect.Type) func(reflect.Value) string {
	switch {
	case isText(t) && t.Kind() != reflect.Pointer:
		return func(v reflect.Value) string {
			if v.IsZero() {
				return ""
			}
			b, _ := v.Interface().(encoding.TextMarshaler).MarshalText() // of ids, times and dates: never fails
			return string(b)
		}
	case t.Kind() == reflect.String:
		return func(v reflect.Value) string { return Cell(v.String()) }
	case t.Kind() == reflect.Bool:
		return func(v reflect.Value) string { return yes(v.Bool()) }
	case t.Kind() == reflect.Int || t.Kind() == reflect.Int64 || t.Kind() == reflect.Int32:
		return func(v reflect.Value) string { return strconv.FormatInt(v.Int(), 10) }
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.String:
		return stringsCell
	}
	return jsonCell
}

func stringsCell(v reflect.Value) string {
	if v.Len() == 1 {
		return Cell(v.Index(0).String())
	}
	var b strings.Builder
	for i := range v.Len() {
		if i > 0 {
			b.WriteString("; ")
		}
		b.WriteString(v.Index(i).String())
	}
	return Cell(b.String())
}

// jsonCell writes what is no plain value, such as a list of steps.
func jsonCell(v reflect.Value) string {
	if v.IsZero() {
		return ""
	}
	b, err := json.Marshal(v.Interface())
	if err != nil {
		return ""
	}
	return Cell(string(b))
}
