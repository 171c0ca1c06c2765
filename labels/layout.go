package labels

import (
	"fmt"
	"math"
	"strings"
)

// canvas is what labels are drawn on, in ink, at millimetres from the top left
// corner of the page. Ink is plain black: a printer renders any other colour
// as dots, and small type and modules suffer first.
type canvas interface {
	bar(x, y, w, h float64)
	text(x, baseline, size float64, w weight, s string)
	symbol(x, y, module float64, s symbol)
	dot() float64 // distance of the device's dots in mm, 0 if finely divided
}

// box is a rectangle on the page.
type box struct{ x, y, w, h float64 }

func (b box) inset(by float64) box {
	return box{b.x + by, b.y + by, b.w - 2*by, b.h - 2*by}
}

// leastWords is the height in mm of title, band, two lines, code and note.
const leastWords = 18

// draw puts the label into b, keeping pad free: the symbol on the left, at
// most half the width, and the words beside it, as high as its dark modules or
// as four rows of readable text need.
func (l Label) draw(c canvas, b box, pad float64) error {
	in := b.inset(pad)
	room := min(in.h, in.w/2)
	s, module, need, err := fitSymbol(l.Payload, room, c.dot())
	if err != nil {
		return err
	}
	if module == 0 {
		return fmt.Errorf("%w for its QR code: modules of %g mm take %.1f mm, and it has %.1f mm; "+
			"use a label of at least %.0f x %.0f mm, or a shorter public address", ErrTooSmall,
			leastModule, need, room, math.Ceil(2*(need+pad)), math.Ceil(need+2*pad))
	}
	dark := float64(len(s.dark)) * module
	edge := quiet * module
	top := in.y + (in.h-dark)/2
	c.symbol(in.x+edge, top, module, s)
	beside := dark + 2*edge
	high := max(dark, min(in.h, leastWords))
	return l.words(c, box{in.x + beside, in.y + (in.h-high)/2, in.w - beside, high})
}

// words writes the text: title, band and lines from the top, code and note
// from the foot.
func (l Label) words(c canvas, b box) error {
	top, err := title(c, b, printable(l.Title))
	if err != nil {
		return err
	}
	foot, err := clearText(c, b, note(c, b, printable(l.Note)), printable(l.Clear))
	if err != nil {
		return err
	}
	return l.lines(c, box{b.x, top, b.w, foot - top}, .125*b.h)
}

// title writes the large words with the band below them and returns where
// other text may begin. The band is the house's mark, a seal seen from the
// front. It is in ink and always whole: a label tells nothing of the state.
func title(c canvas, b box, s string) (float64, error) {
	r := titleRows(s, b.w, b.h)
	if r.size < smallestTitle {
		return 0, fmt.Errorf("%w for %q, which must not be cut short", ErrTooSmall, s)
	}
	y := b.y + (bold.capHeight()-1.1)*r.size
	for _, row := range r.text {
		y += 1.1 * r.size
		c.text(b.x, y, r.size, bold, row)
	}
	y += .07 * b.h
	c.bar(b.x, y, b.w, .04*b.h)
	return y + .07*b.h, nil
}

// note writes the last line and returns the foot of what comes above it.
func note(c canvas, b box, s string) float64 {
	foot := b.y + b.h
	if s == "" {
		return foot
	}
	size := max(smallest, regular.shrink(s, b.w, .10*b.h))
	c.text(b.x, foot, size, regular, regular.shorten(s, b.w, size))
	return foot - 1.4*size
}

// clearText writes the code, whole or not at all, and returns the foot of what
// comes above it.
func clearText(c canvas, b box, foot float64, s string) (float64, error) {
	if s == "" {
		return foot, nil
	}
	size := bold.shrink(s, b.w, max(smallest, .15*b.h))
	if size < smallest {
		return 0, fmt.Errorf("%w for %q in clear text", ErrTooSmall, s)
	}
	c.text(b.x, foot, size, bold, s)
	return foot - 1.1*size, nil
}

// lines writes the label's lines from the top of b, at most large mm high, or
// all on one row where there is no room for each.
func (l Label) lines(c canvas, b box, large float64) error {
	var present []string
	for _, s := range l.Lines {
		if s = printable(s); s != "" {
			present = append(present, s)
		}
	}
	if leading*smallest*float64(len(present)) > b.h {
		present = []string{strings.Join(present, " · ")}
	}
	r := lineRows(present, b.w, b.h, max(smallest, large))
	if r.height() > b.h {
		return fmt.Errorf("%w for a line of text under %q", ErrTooSmall, l.Title)
	}
	for i, s := range r.text {
		c.text(b.x, b.y+(leading*float64(i)+.9)*r.size, r.size, regular, s)
	}
	return nil
}
