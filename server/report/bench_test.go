package report

import (
	"bytes"
	"encoding/csv"
	"io"
	"runtime"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/goregular"

	"tidemark/server/record"
)

// year is what 20 sealers write in a year: about 15,000 records.
const year = 15_000

// rows are a year's checks as the tables and JSON Lines get them.
func rows(b *testing.B) []*Row {
	list := make([]*Row, year)
	for i := range list {
		list[i] = rowOf(b, &record.Check{Pouch: record.ID{1}, Approval: 3, Outcome: record.Pass, Lot: "PF-60418", Kit: "D-10",
			Places: []record.Place{record.Left, record.Middle, record.Right}, Tests: []record.Test{record.Look, record.Dye}})
		list[i].Seq = record.Seq(i)
	}
	return list
}

// Against encoding/csv writing the same cells, made beforehand.
func BenchmarkCSV(b *testing.B) {
	list := rows(b)
	var cells [][]string
	c := NewCSV(func(record.Kind) (io.Writer, error) { return io.Discard, nil })
	for _, r := range list {
		if err := c.Write(r); err != nil {
			b.Fatal(err)
		}
		cells = append(cells, append([]string(nil), c.cells...))
	}
	b.Run("ours", func(b *testing.B) {
		for b.Loop() {
			c := NewCSV(func(record.Kind) (io.Writer, error) { return io.Discard, nil })
			for _, r := range list {
				if err := c.Write(r); err != nil {
					b.Fatal(err)
				}
			}
			if err := c.Flush(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("bare", func(b *testing.B) {
		for b.Loop() {
			w := csv.NewWriter(io.Discard)
			w.UseCRLF = true
			for _, line := range cells {
				if err := w.Write(line); err != nil {
					b.Fatal(err)
				}
			}
			w.Flush()
		}
	})
}

// Against copying the same lines into a writer.
func BenchmarkLines(b *testing.B) {
	list := rows(b)
	var lines [][]byte
	for _, r := range list {
		lines = append(lines, r.Append(nil))
	}
	var to bytes.Buffer
	b.Run("ours", func(b *testing.B) {
		for b.Loop() {
			to.Reset()
			out := NewLines(&to, io.Discard)
			for i, line := range lines {
				if err := out.Write(record.Seq(i), line); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
	b.Run("bare", func(b *testing.B) {
		for b.Loop() {
			to.Reset()
			for _, line := range lines {
				to.Write(line)
				to.WriteByte('\n')
			}
		}
	})
}

// Against fpdf drawing the same number of cells, each on one line, without
// measuring, breaking or repeating anything.
func BenchmarkPDF(b *testing.B) {
	cells := [][]string{}
	keep := &counting{}
	if err := entries(keep, checksOf(year), "", ""); err != nil {
		b.Fatal(err)
	}
	cells = keep.rows
	b.Run("ours", func(b *testing.B) {
		for b.Loop() {
			p := NewPDF(Look{Title: "T", Place: "P", Mark: "m", Dated: dated}, func(int) (io.WriteCloser, error) { return discard{}, nil })
			if err := entries(p, checksOf(year), "Every check", ""); err != nil {
				b.Fatal(err)
			}
			if _, err := p.Close(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("bare", func(b *testing.B) {
		for b.Loop() {
			f := fpdf.New("P", "mm", "A4", "")
			f.AddUTF8FontFromBytes(face, "", bytes.Clone(goregular.TTF))
			f.SetFont(face, "", textSize)
			f.AddPage()
			for _, line := range cells {
				for _, text := range line {
					f.CellFormat(36, lead, text, "", 0, "L", false, 0, "")
				}
				f.Ln(lead)
			}
			if err := f.Output(io.Discard); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// How much is held while a pack is drawn, of one year and of four: flat, if the
// two are alike.
func BenchmarkHeld(b *testing.B) {
	for name, n := range map[string]int{"one-year": year, "four-years": 4 * year} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				before, most := heap(), uint64(0)
				p := NewPDF(Look{Title: "T", Place: "P", Mark: "m", Dated: dated}, func(int) (io.WriteCloser, error) {
					most = max(most, heap())
					return discard{}, nil
				})
				if err := entries(p, checksOf(n), "Every check", ""); err != nil {
					b.Fatal(err)
				}
				if _, err := p.Close(); err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(most-min(before, most))/1e6, "MB")
			}
		})
	}
}

// heap is what is held now.
func heap() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// counting keeps rows alone.
type counting struct{ rows [][]string }

func (c *counting) Heading(string)          {}
func (c *counting) Text(string)             {}
func (c *counting) Table(string, ...Column) {}
func (c *counting) Row(cells ...string)     { c.rows = append(c.rows, cells) }

type discard struct{}

func (discard) Write(b []byte) (int, error) { return len(b), nil }
func (discard) Close() error                { return nil }
