package labels

import (
	"fmt"
	"math"
	"time"
)

// Size is a width and a height in mm.
type Size struct{ W, H float64 }

// Paper sizes: ISO 216, ANSI/ASME Y14.1.
var (
	a4     = Size{210, 297}
	letter = Size{215.9, 279.4}
)

// Sheet is a page of equal labels, described by its dimensions in mm.
type Sheet struct {
	ID         string // for addresses and commands: paper, columns, rows
	Page       Size
	Cols, Rows int
	Left, Top  float64 // upper left corner of the first label
	Pitch      Size    // from one label's corner to the next one's
	Label      Size
	Pad        float64 // kept free inside each label
}

// Sheets lists the sheets for labels and cards. Labels that touch the edge of
// the paper have a wide pad, since office printers leave about 4 mm blank.
var Sheets = []Sheet{
	{"a4-3x8", a4, 3, 8, 7.25, 12.9, Size{66, 33.9}, Size{63.5, 33.9}, 2},
	{"a4-3x8-full", a4, 3, 8, 0, 0.5, Size{70, 37}, Size{70, 37}, 4.5},
	{"a4-2x7", a4, 2, 7, 4.65, 15.15, Size{101.6, 38.1}, Size{99.1, 38.1}, 2},
	{"a4-2x4", a4, 2, 4, 0, 0, Size{105, 74.25}, Size{105, 74.25}, 6},
	{"letter-3x10", letter, 3, 10, 4.75, 12.7, Size{69.85, 25.4}, Size{66.7, 25.4}, 1.5},
	{"letter-2x5", letter, 2, 5, 3.97, 12.7, Size{106.36, 50.8}, Size{101.6, 50.8}, 2.5},
	{"letter-2x4", letter, 2, 4, 0, 0, Size{107.95, 69.85}, Size{107.95, 69.85}, 6},
	single("single-50x30", Size{50, 30}),
	single("single-62x29", Size{62, 29}),
}

// StickerSheets lists the sheets for pack stickers.
var StickerSheets = []Sheet{
	{"a4-9x27", a4, 9, 27, 15, 13.5, Size{20, 10}, Size{20, 10}, 1.2},
	{"a4-7x27", a4, 7, 27, 8.6, 13.5, Size{27.9, 10}, Size{25.4, 10}, 1.2},
	{"letter-9x26", letter, 9, 26, 17.95, 9.7, Size{20, 10}, Size{20, 10}, 1.2},
	{"letter-4x20", letter, 4, 20, 7.65, 12.7, Size{52.05, 12.7}, Size{44.45, 12.7}, 1.5},
}

// PosterSheets lists the sheets for cards that hang on a wall. They are larger
// than labels, so that a phone reads them from where a person stands.
var PosterSheets = []Sheet{
	{"a4-1x2", a4, 1, 2, 0, 0, Size{210, 148.5}, Size{210, 148.5}, 14},
	{"letter-1x2", letter, 1, 2, 0, 0, Size{215.9, 139.7}, Size{215.9, 139.7}, 14},
	{"a4-2x4", a4, 2, 4, 0, 0, Size{105, 74.25}, Size{105, 74.25}, 6},
	{"letter-2x4", letter, 2, 4, 0, 0, Size{107.95, 69.85}, Size{107.95, 69.85}, 6},
}

// single is a label on a roll: a page of its own.
func single(id string, s Size) Sheet {
	return Sheet{id, s, 1, 1, 0, 0, s, s, 2}
}

// FindSheet returns the sheet with the given id from one of the lists above.
func FindSheet(id string) (Sheet, bool) {
	for _, table := range [][]Sheet{Sheets, StickerSheets, PosterSheets} {
		for _, s := range table {
			if s.ID == id {
				return s, true
			}
		}
	}
	return Sheet{}, false
}

// String describes the sheet as a person would pick it from a list.
func (s Sheet) String() string {
	label := fmt.Sprintf("%g x %g mm", s.Label.W, s.Label.H)
	if s.PerPage() == 1 {
		return "Single label, " + label
	}
	paper := "A4"
	if s.Page == letter {
		paper = "Letter"
	}
	return fmt.Sprintf("%s, %d labels (%d x %d) of %s", paper, s.PerPage(), s.Cols, s.Rows, label)
}

// PerPage returns how many labels a page has.
func (s Sheet) PerPage() int { return s.Cols * s.Rows }

// cell returns the box of label i of a page, counted from 0 along the rows.
func (s Sheet) cell(i int) box {
	return box{
		x: s.Left + float64(i%s.Cols)*s.Pitch.W,
		y: s.Top + float64(i/s.Cols)*s.Pitch.H,
		w: s.Label.W,
		h: s.Label.H,
	}
}

// Options says how sheets are printed. Only Made is required.
type Options struct {
	Start            int     // first free label of the first page, from 1; 0 means 1
	OffsetX, OffsetY float64 // mm right and down, for a printer that is off; at most 10
	CutMarks         bool    // crosses at the corners, for plain paper
	Made             time.Time
}

// mostOffset is in mm; a printer that is further off has the wrong paper.
const mostOffset = 10

func (o Options) check(s Sheet) error {
	switch {
	case o.Start < 0 || o.Start > s.PerPage():
		return fmt.Errorf("%w: this sheet has labels 1 to %d, there is no label %d",
			ErrOptions, s.PerPage(), o.Start)
	case !(math.Abs(o.OffsetX) <= mostOffset && math.Abs(o.OffsetY) <= mostOffset):
		return fmt.Errorf("%w: an alignment offset is %d mm at most; check the paper size",
			ErrOptions, mostOffset)
	case o.Made.IsZero():
		return fmt.Errorf("print sheet %s: no time given", s.ID)
	}
	return nil
}

// skip returns how many labels of the first page are used up.
func (o Options) skip() int { return max(o.Start, 1) - 1 }

// page draws up to a page of labels, leaving the first skip places empty.
func (s Sheet) page(c canvas, labels []Label, skip int, o Options) error {
	for i, l := range labels {
		b := s.place(skip+i, o)
		if o.CutMarks {
			cutMarks(c, b)
		}
		if err := l.draw(c, b, s.Pad); err != nil {
			return err
		}
	}
	return nil
}

// place returns the box of label i where the printer has to put it.
func (s Sheet) place(i int, o Options) box {
	b := s.cell(i)
	b.x, b.y = b.x+o.OffsetX, b.y+o.OffsetY
	return b
}

// cutMarks draws a small cross at each corner of b.
func cutMarks(c canvas, b box) {
	const arm, hair = 1.0, 0.1
	for _, x := range []float64{b.x, b.x + b.w} {
		for _, y := range []float64{b.y, b.y + b.h} {
			c.bar(x-arm, y-hair/2, 2*arm, hair)
			c.bar(x-hair/2, y-arm, hair, 2*arm)
		}
	}
}
