package labels

import (
	"fmt"
	"io"
)

// Stickers writes a page of pack stickers for each sealer number, to be kept
// at that sealer. A sticker bears the number alone: it goes on every pack, on
// the film side outside the seal, so that packs can be found by sealer and
// day. The first page begins at o.Start. Nothing is written unless all numbers
// fit; such an error wraps ErrTooSmall or ErrOptions.
func Stickers(w io.Writer, sheet Sheet, numbers []string, o Options) error {
	if err := o.check(sheet); err != nil {
		return err
	}
	if len(numbers) == 0 {
		return fmt.Errorf("%w: there is no sealer number to print", ErrOptions)
	}
	doc := newPDF(sheet.Page, "Pack stickers, "+sheet.String(), o)
	skip := o.skip()
	for _, number := range numbers {
		doc.f.AddPage()
		if err := sheet.stickers(doc, printable(number), skip, o); err != nil {
			return err
		}
		skip = 0
	}
	return doc.write(w)
}

// stickers draws a page of them, with the rule for their use in the margin.
func (s Sheet) stickers(c canvas, number string, skip int, o Options) error {
	first := s.place(0, o)
	c.text(first.x, first.y-2.5, 2.8, regular, "Sealer "+number+
		": on the film side, outside the seal. The pouch IFU and local policy come first.")
	for i := skip; i < s.PerPage(); i++ {
		b := s.place(i, o)
		if o.CutMarks {
			cutMarks(c, b)
		}
		if err := sticker(c, b.inset(s.Pad), number); err != nil {
			return err
		}
	}
	return nil
}

// sticker draws one number with the band below it, which also tells 6 from 9
// and 68 from 89 on a pack that lies upside down.
func sticker(c canvas, b box, number string) error {
	const word, gap = "Sealer", 1.0
	small := .3 * b.h
	beside := regular.width(word)*small + gap
	size := bold.shrink(number, b.w-beside, .95*b.h)
	if size < .5*b.h {
		return fmt.Errorf("%w for the number %q, which must not be cut short", ErrTooSmall, number)
	}
	x := b.x + (b.w-beside-bold.width(number)*size)/2
	y := b.y + .72*b.h
	c.text(x, y, small, regular, word)
	c.text(x+beside, y, size, bold, number)
	c.bar(b.x, b.y+.9*b.h, b.w, .1*b.h)
	return nil
}
