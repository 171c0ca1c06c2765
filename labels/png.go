package labels

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// PNG writes one label of sheet as a grey image of dpi dots per inch, 150 to
// 1200; label printers have 203, 300 or 600. Modules are whole dots. The file
// carries its resolution, so that it prints at its size. An error wraps
// ErrTooSmall or ErrOptions.
func PNG(w io.Writer, sheet Sheet, l Label, dpi int) error {
	if dpi < 150 || dpi > 1200 {
		return fmt.Errorf("%w: a label needs 150 to 1200 dots per inch", ErrOptions)
	}
	c := newPNG(sheet.Label, dpi)
	if err := l.draw(c, box{0, 0, sheet.Label.W, sheet.Label.H}, sheet.Pad); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := png.Encode(&b, c.img); err != nil {
		return fmt.Errorf("encode label: %w", err)
	}
	if _, err := w.Write(withResolution(b.Bytes(), c.dots)); err != nil {
		return fmt.Errorf("write label: %w", err)
	}
	return nil
}

// pngCanvas draws on a white image.
type pngCanvas struct {
	img  *image.Gray
	dots float64 // per mm
}

func newPNG(size Size, dpi int) pngCanvas {
	c := pngCanvas{dots: float64(dpi) / 25.4}
	c.img = image.NewGray(image.Rect(0, 0, c.at(size.W), c.at(size.H)))
	draw.Draw(c.img, c.img.Bounds(), image.White, image.Point{}, draw.Src)
	return c
}

// at returns the dot nearest to mm.
func (c pngCanvas) at(mm float64) int { return int(math.Round(mm * c.dots)) }

func (c pngCanvas) dot() float64 { return 1 / c.dots }

func (c pngCanvas) bar(x, y, w, h float64) {
	r := image.Rect(c.at(x), c.at(y), c.at(x)+max(1, c.at(w)), c.at(y)+max(1, c.at(h)))
	draw.Draw(c.img, r, image.Black, image.Point{}, draw.Src)
}

func (c pngCanvas) text(x, baseline, size float64, w weight, s string) {
	face, err := opentype.NewFace(w.face(), &opentype.FaceOptions{Size: size * c.dots, DPI: 72})
	if err != nil {
		panic(err) // only for a nil font
	}
	defer face.Close()
	d := font.Drawer{Dst: c.img, Src: image.NewUniform(color.Black), Face: face}
	d.Dot = fixed.P(c.at(x), c.at(baseline))
	d.DrawString(s)
}

func (c pngCanvas) symbol(x, y, module float64, s symbol) {
	left, top, m := c.at(x), c.at(y), c.at(module)
	for r := range s.runs() {
		dark := image.Rect(left+r.x*m, top+r.y*m, left+(r.x+r.w)*m, top+(r.y+1)*m)
		draw.Draw(c.img, dark, image.Black, image.Point{}, draw.Src)
	}
}

// withResolution adds a pHYs chunk (PNG specification) after the
// header, which image/png cannot: 8 bytes of signature, 25 of IHDR.
func withResolution(file []byte, dotsPerMM float64) []byte {
	const header = 8 + 25
	perMetre := uint32(math.Round(1000 * dotsPerMM))
	chunk := []byte("\x00\x00\x00\x09pHYs")
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // the unit is the metre
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	return append(append(file[:header:header], chunk...), file[header:]...)
}
