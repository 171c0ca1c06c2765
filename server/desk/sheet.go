package desk

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"io"
	"strings"
	"unicode/utf8"

	"tidemark/server/fault"
)

// sheet is a small table that was read whole: a first line with the names of its
// columns, and rows of just as many cells.
type sheet struct {
	sum  string // SHA-256 of the file, in hex
	head []string
	rows []sheetRow
}

// sheetRow is a row and the line of the file that it begins on. wrong tells why
// it cannot be read, "" if it can.
type sheetRow struct {
	line  int
	cells []string
	wrong string
}

// Limits of a sheet: what a department types, not what a machine logs.
const (
	maxSheet     = 512 << 10
	maxSheetRows = 5000
	maxSheetCell = 2000
)

// readSheet reads delimited text (RFC 4180) in UTF-8, with or without a byte
// order mark. The separator is the one of comma, semicolon and tab that the first
// line has most of.
func readSheet(file []byte) (*sheet, error) {
	sum := sha256.Sum256(file)
	s := &sheet{sum: hex.EncodeToString(sum[:])}
	text := bytes.TrimPrefix(file, []byte("\ufeff"))
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		return nil, fault.Field("file", "Choose a file. Its first line has the names of the columns.")
	case len(file) > maxSheet:
		return nil, fault.Field("file", "The file is larger than %d kB. Split it.", maxSheet>>10)
	case !utf8.Valid(text):
		return nil, fault.Field("file", "The file is not UTF-8. Save it as CSV UTF-8 and choose it again.")
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.FieldsPerRecord, r.Comma = -1, separator(text)
	for {
		cells, err := r.Read()
		var broken *csv.ParseError
		switch {
		case err == io.EOF:
			return s, s.sound()
		case errors.As(err, &broken):
			s.rows = append(s.rows, sheetRow{line: broken.StartLine, wrong: "a quotation mark is not where it can be, or is not closed"})
		case err != nil:
			return nil, fault.Wrap(err, fault.Invalid, "The file cannot be read.")
		default:
			line, _ := r.FieldPos(0)
			s.add(line, cells)
		}
		if len(s.rows) > maxSheetRows {
			return nil, fault.Field("file", "The file has more than %d rows. Split it.", maxSheetRows)
		}
	}
}

// add takes a row, the first as the names of the columns. Empty rows are left out.
func (s *sheet) add(line int, cells []string) {
	row := sheetRow{line: line}
	empty := true
	for _, c := range cells {
		c = unmarked(c)
		if len(c) > maxSheetCell {
			row.wrong = "a cell is far too long; perhaps a quotation mark is missing"
			c = c[:0]
		}
		row.cells, empty = append(row.cells, c), empty && c == ""
	}
	switch {
	case empty && row.wrong == "":
		return
	case s.head == nil:
		s.head = row.cells
		return
	case len(cells) != len(s.head):
		row.wrong = "it has more or fewer cells than the first line"
	}
	s.rows = append(s.rows, row)
}

func (s *sheet) sound() error {
	if s.head == nil || len(s.rows) == 0 {
		return fault.Field("file", "The file has no row below its first line.")
	}
	return nil
}

// separator guesses from the first line alone: what follows may hold anything.
func separator(text []byte) rune {
	first, _, _ := bytes.Cut(text, []byte("\n"))
	best, most := ',', 0
	for _, c := range []rune{',', ';', '\t'} {
		if n := bytes.Count(first, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}

// unmarked takes off the mark that keeps a spreadsheet from reading a cell as a
// formula, as our own tables have it, and the spaces around.
func unmarked(cell string) string {
	if len(cell) > 1 && cell[0] == '\'' && strings.ContainsRune("=+-@\t\r", rune(cell[1])) {
		cell = cell[1:]
	}
	return strings.TrimSpace(cell)
}

// column finds a column by one of its names, -1 if there is none. Case, spaces
// and signs between words make no difference.
func (s *sheet) column(names ...string) int {
	for _, name := range names {
		for i, h := range s.head {
			if plainName(h) == plainName(name) {
				return i
			}
		}
	}
	return -1
}

func plainName(s string) string {
	return strings.NewReplacer(" ", "", "_", "", "-", "", ".", "").Replace(strings.ToLower(s))
}

// cell is a cell of a row, "" where there is no such column.
func (r *sheetRow) cell(column int) string {
	if column < 0 || column >= len(r.cells) {
		return ""
	}
	return r.cells[column]
}
