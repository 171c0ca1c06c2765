package labels

import (
	"bytes"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// weight is one of the two faces used. They are the Go fonts, drawn so that 0
// and O, 1, l and I differ (DIN 1450), and carried in the PDF: no printer puts
// another font in their place, and both outputs measure text alike.
type weight int

const (
	regular weight = iota
	bold
)

// ttf is a copy: the PDF library writes into the bytes of a font while it takes from
// them.
func (w weight) ttf() []byte {
	if w == bold {
		return bytes.Clone(gobold.TTF)
	}
	return bytes.Clone(goregular.TTF)
}

var faces = [...]func() *sfnt.Font{
	regular: sync.OnceValue(func() *sfnt.Font { return mustParse(goregular.TTF) }),
	bold:    sync.OnceValue(func() *sfnt.Font { return mustParse(gobold.TTF) }),
}

func mustParse(ttf []byte) *sfnt.Font {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic(err) // compiled in: cannot happen
	}
	return f
}

// emUnits is large enough for advances to keep four digits.
const emUnits = 2048

// width returns the width of s at a font size of 1 mm.
func (w weight) width(s string) float64 {
	var buf sfnt.Buffer
	var sum fixed.Int26_6
	for _, r := range s {
		glyph, _ := w.face().GlyphIndex(&buf, r)
		adv, _ := w.face().GlyphAdvance(&buf, glyph, fixed.I(emUnits), font.HintingNone)
		sum += adv
	}
	return float64(sum) / 64 / emUnits
}

// capHeight returns the height of a capital letter at a font size of 1 mm.
func (w weight) capHeight() float64 {
	m, _ := w.face().Metrics(nil, fixed.I(emUnits), font.HintingNone)
	return float64(m.CapHeight) / 64 / emUnits
}

func (w weight) face() *sfnt.Font { return faces[w]() }

// printable returns s composed (a typed accent joins its letter), on one line,
// and with a question mark for what the fonts do not have: they cover Latin,
// Greek and Cyrillic.
func printable(s string) string {
	var buf sfnt.Buffer
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return ' '
		}
		if glyph, err := regular.face().GlyphIndex(&buf, r); err != nil || glyph == 0 {
			return '?'
		}
		return r
	}, norm.NFC.String(strings.TrimSpace(s)))
}

// shrink returns the size, large at most, at which s fits into room mm.
func (w weight) shrink(s string, room, large float64) float64 {
	return min(large, room/max(w.width(s), 1e-9))
}

// shorten cuts s so that it fits into room mm at the given size, and shows it.
func (w weight) shorten(s string, room, size float64) string {
	if w.width(s)*size <= room+1e-9 {
		return s
	}
	for runes := []rune(s); len(runes) > 0; {
		runes = runes[:len(runes)-1]
		if cut := strings.TrimSpace(string(runes)) + "…"; w.width(cut)*size <= room {
			return cut
		}
	}
	return ""
}
