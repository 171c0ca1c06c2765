package desk

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"strconv"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// ImportIn is a file to take in. Columns names for each of the kind's fields, in
// their order, the column of the file; none for the ones that are found by name.
type ImportIn struct {
	From
	What    string   `param:"what" json:"-"`
	CSV     string   `json:"csv"`           // the file, as text
	Kept    string   `form:"kept" json:"-"` // the file, in base64, as the preview had it
	File    []byte   `json:"-"`             // the file, as a form sent it
	Columns []string `form:"columns" json:"columns,omitempty"`
	AllAre  string   `form:"all_are" json:"all_are,omitempty"` // past records without a column that says what was done
	Good    bool     `form:"good" json:"good_only,omitempty"`  // leave out rows that cannot be taken
}

// bytes is the file, whichever way it came.
func (in *ImportIn) bytes() ([]byte, error) {
	switch {
	case len(in.File) > 0:
		return in.File, nil
	case in.Kept != "":
		b, err := base64.StdEncoding.DecodeString(in.Kept)
		if err != nil {
			return nil, fault.Field("file", "Choose the file again.")
		}
		return b, nil
	}
	return []byte(in.CSV), nil
}

// ImportView is what would become of a file. Nothing of it is written yet.
type ImportView struct {
	Frame
	What   string        `json:"what"`
	File   string        `json:"file"` // SHA-256 in hex
	Head   []string      `json:"columns"`
	Fields []ImportField `json:"fields"`
	Rows   []ImportRow   `json:"rows"`
	New    int           `json:"new"`   // can be taken
	Known  int           `json:"known"` // came in before, by the same file
	Wrong  int           `json:"wrong"` // cannot be taken
	Bytes  []byte        `json:"-"`
}

// ImportField is something that a row tells, and the column that was chosen.
type ImportField struct {
	Name   string `json:"name"`
	Must   bool   `json:"must,omitempty"`
	Column string `json:"column,omitempty"`
}

// ImportRow is a row with what it tells, in the order of the fields.
type ImportRow struct {
	Line  int      `json:"line"`
	Cells []string `json:"cells"`
	Wrong string   `json:"wrong,omitempty"` // why it cannot be taken
	Known bool     `json:"known,omitempty"`
	plan  *rowPlan
}

// rowPlan is what a row would become.
type rowPlan struct {
	key     string // two rows of one file must not have the same
	subject record.Subject
	body    record.Body
	at      record.Span
	write   func(ctx context.Context, who Caller, from From) (pin string, err error)
}

// ImportDone is what became of a file. PINs are told once.
type ImportDone struct {
	What  string      `json:"what"`
	File  string      `json:"file"`
	Taken int         `json:"taken"`
	Known int         `json:"known"`
	Left  []ImportRow `json:"left_out"`
	PINs  []FirstPIN  `json:"pins,omitempty"`
}

// FirstPIN is the PIN that a person who was added signs in with first.
type FirstPIN struct {
	Name string `json:"name"`
	PIN  string `json:"pin"`
}

// PreviewImport reads a file and tells of each row what would become of it.
func (d *Desk) PreviewImport(_ context.Context, who Caller, in ImportIn) (*ImportView, error) {
	if _, err := d.may(who, "Import"); err != nil {
		return nil, err
	}
	kind, ok := importKinds[in.What]
	if !ok {
		return nil, fault.New(fault.Unknown, "Nothing of this kind can be taken from a file.")
	}
	file, err := in.bytes()
	if err != nil {
		return nil, err
	}
	s, err := readSheet(file)
	if err != nil {
		return nil, err
	}
	view := &ImportView{What: in.What, File: s.sum, Head: s.head, Bytes: file}
	columns, err := view.match(kind, s, in.Columns)
	if err != nil {
		return nil, err
	}
	im := &importing{d: d, who: who, in: in, sum: s.sum, seen: map[string]int{}}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	im.dept, im.now = view.Dept, view.Now
	for i := range s.rows {
		row, err := im.row(kind, &s.rows[i], columns)
		if err != nil {
			return nil, err
		}
		view.count(row)
	}
	return view, nil
}

// match finds the column of each field, as it was chosen or by its name.
func (v *ImportView) match(kind importKind, s *sheet, chosen []string) ([]int, error) {
	columns := make([]int, len(kind.fields))
	for i, f := range kind.fields {
		columns[i] = s.column(append([]string{f.name}, f.also...)...)
		if len(chosen) > 0 {
			columns[i] = -1
			if name := at(chosen, i); name != "" {
				if columns[i] = s.column(name); columns[i] < 0 {
					return nil, fault.Field("columns", "The file has no column %q.", name)
				}
			}
		}
		field := ImportField{Name: f.name, Must: f.must}
		if columns[i] >= 0 {
			field.Column = s.head[columns[i]]
		}
		v.Fields = append(v.Fields, field)
	}
	return columns, nil
}

func (v *ImportView) count(row ImportRow) {
	switch {
	case row.Wrong != "":
		v.Wrong++
	case row.Known:
		v.Known++
	default:
		v.New++
	}
	v.Rows = append(v.Rows, row)
}

// importing is a file while its rows are looked at.
type importing struct {
	d    *Desk
	who  Caller
	in   ImportIn
	sum  string
	dept *rules.Department
	now  record.Time
	seen map[string]int // line of the row that had a key first
}

// row looks at one row: what it would become, and whether the rules would have
// it. They are asked on a view, so that nothing is written.
func (im *importing) row(kind importKind, r *sheetRow, columns []int) (ImportRow, error) {
	row := ImportRow{Line: r.line, Wrong: r.wrong}
	cells := map[string]string{}
	for i, f := range kind.fields {
		cells[f.name] = r.cell(columns[i])
		row.Cells = append(row.Cells, cells[f.name])
		if f.must && cells[f.name] == "" && row.Wrong == "" {
			row.Wrong = "the " + strings.ReplaceAll(f.name, "_", " ") + " is missing"
		}
	}
	if row.Wrong != "" {
		return row, nil
	}
	_, found, err := im.d.ledger.Find(im.id(r.line))
	if err != nil || found {
		row.Known = found
		return row, err
	}
	if row.plan, err = kind.plan(im, r.line, cells); err == nil {
		err = im.try(row.plan, r.line)
	}
	if err != nil {
		row.plan, row.Wrong = nil, whyNot(err)
	}
	return row, nil
}

// id is that of the record of a line: the same file makes the same ids.
func (im *importing) id(line int) (id record.ID) {
	sum := sha256.Sum256([]byte("tidemark import\n" + im.in.What + "\n" + im.sum + "\n" + strconv.Itoa(line)))
	copy(id[:], sum[:])
	return id
}

// try asks the rules.
func (im *importing) try(p *rowPlan, line int) error {
	if first, twice := im.seen[p.key]; twice && p.key != "" {
		return fault.New(fault.Invalid, "the same as in line %d", first)
	}
	im.seen[p.key] = line
	var err error
	im.d.ledger.View(func(v record.View) {
		e := rules.Entry{ID: im.id(line), By: im.who.Person, Via: record.ViaImport, Happened: p.at}
		_, err = rules.SetUp(v, rules.SaidSetUp{Entry: e, Dept: im.who.Dept, Subject: p.subject, Facts: p.body}, im.now)
	})
	return err
}

// whyNot is a refusal as it stands beside a row.
func whyNot(err error) string {
	var f *fault.Error
	if !errors.As(err, &f) {
		return "it cannot be taken"
	}
	text := strings.TrimSuffix(f.Message, ".")
	if f.Field != "" && len(text) > 1 {
		return strings.ReplaceAll(f.Field, "_", " ") + ": " + strings.ToLower(text[:1]) + text[1:]
	}
	return text
}

// TakeImport takes a file in, row by row; what came in before stays as it is. One
// row that cannot be taken keeps all out, unless only the good ones are wanted.
func (d *Desk) TakeImport(ctx context.Context, who Caller, in ImportIn) (ImportDone, error) {
	view, err := d.PreviewImport(ctx, who, in)
	if err != nil {
		return ImportDone{}, err
	}
	if view.Wrong > 0 && !in.Good {
		return ImportDone{}, fault.Field("good", "Not every row can be taken: %d cannot. Mend the file, or take the good rows only.", view.Wrong)
	}
	who.Via = record.ViaImport
	im := &importing{in: in, sum: view.File}
	done := ImportDone{What: in.What, File: view.File, Known: view.Known}
	if view.New > 0 {
		if err := d.fileImported(ctx, who, im, len(view.Rows)); err != nil {
			return done, err
		}
	}
	for _, row := range view.Rows {
		if row.plan == nil {
			if !row.Known {
				done.Left = append(done.Left, row)
			}
			continue
		}
		pin, err := row.plan.write(ctx, who, From{ID: im.id(row.Line), Seen: view.Size})
		switch {
		case fault.CodeOf(err) == fault.Internal || fault.CodeOf(err) == fault.Busy:
			return done, err // the rest comes in when the file is sent again
		case err != nil:
			row.Wrong = whyNot(err)
			done.Left = append(done.Left, row)
			continue
		}
		if done.Taken++; pin != "" {
			done.PINs = append(done.PINs, FirstPIN{Name: row.Cells[0], PIN: pin})
		}
	}
	return done, nil
}

// fileImported records the file once, before its rows.
func (d *Desk) fileImported(ctx context.Context, who Caller, im *importing, rows int) error {
	_, err := d.facts(ctx, who, "Import", From{ID: im.id(0)}, record.Subject{Type: record.Department, ID: who.Dept},
		&record.FileImported{What: im.in.What, File: im.sum, Rows: rows}, nil)
	return err
}
