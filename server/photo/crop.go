package photo

import (
	"image"
	"math"

	"golang.org/x/image/draw"

	"tidemark/server/fault"
)

const (
	cropSide    = 800 // pixels on the long side of a cut-out, at least
	cropLeast   = 16  // pixels of the photograph that a cut-out shows, at least
	cropQuality = 90  // of the JPEG, 1 to 100
)

// Crop cuts the neighbourhood of a marked place out of a photograph and enlarges
// it, for an evidence sheet that shows it beside the whole.
//
// The place is given in fractions of the width from the left and of the height
// from the top, 0 to 1; the cut-out is widthFraction (above 0, to 1) of the
// photograph's width and has its shape. Near an edge it moves inwards rather
// than show nothing, so the place may lie off its middle. Enlarging is smooth
// (Catmull-Rom) and adds no detail. The result is a JPEG without metadata.
//
// Errors are faults: Invalid for a place outside the photograph, otherwise those
// of [Intake].
func Crop(photograph []byte, xFraction, yFraction, widthFraction float64) ([]byte, error) {
	// Written so that NaN is refused as well.
	if !(0 <= xFraction && xFraction <= 1 && 0 <= yFraction && yFraction <= 1) ||
		!(0 < widthFraction && widthFraction <= 1) {
		return nil, fault.New(fault.Invalid,
			"The marked place lies outside the photograph. Mark it again.")
	}
	r, err := load(photograph)
	if err != nil {
		return nil, err
	}
	x, w := cut(r.width, xFraction, widthFraction)
	y, h := cut(r.height, yFraction, widthFraction)
	return enlarge(r, image.Rect(x, y, x+w, y+h)).encode(cropQuality)
}

// cut gives start and length of a fraction of size around middle, moved inside.
func cut(size int, middle, fraction float64) (start, length int) {
	length = min(size, max(cropLeast, int(math.Round(fraction*float64(size)))))
	start = int(math.Round(middle*float64(size) - float64(length)/2))
	return min(max(start, 0), size-length), length
}

// enlarge gives the part of r at least cropSide long.
func enlarge(r raster, part image.Rectangle) raster {
	scale := max(1, float64(cropSide)/float64(max(part.Dx(), part.Dy())))
	grow := func(n int) int { return int(math.Round(scale * float64(n))) }
	out := image.NewRGBA(image.Rect(0, 0, grow(part.Dx()), grow(part.Dy())))
	draw.CatmullRom.Scale(out, out.Rect, r.image(), part, draw.Src, nil)
	return rasterOf(out)
}
