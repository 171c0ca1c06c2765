package labels

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// Drawing is a QR symbol for a page: a path of SVG (SVG 2, 9.3) whose unit is
// one module, in a square of Side modules with the quiet zone. It is to be
// filled dark on a light ground, at whatever size the page gives it.
type Drawing struct {
	Path string
	Side int
}

// Draw encodes payload at level Q. All dark modules are one path: see
// pdfCanvas.symbol for why.
func Draw(payload string) (Drawing, error) {
	s, err := newSymbol(payload, qrcode.High)
	if err != nil {
		return Drawing{}, err
	}
	var b strings.Builder
	for r := range s.runs() {
		fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", r.x+quiet, r.y+quiet, r.w, r.w)
	}
	return Drawing{Path: b.String(), Side: len(s.dark) + 2*quiet}, nil
}
