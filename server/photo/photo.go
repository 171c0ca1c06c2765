// Package photo takes in photographs of seals, tags and sealers.
//
// It is pure: bytes in; upright, stripped, small bytes and their sharpness out.
// It takes JPEG (ITU-T T.81, 8 bits, baseline or progressive, grey or colour)
// and PNG (W3C PNG, up to 8 bits, interlaced or not) and always gives a new
// baseline JPEG without any metadata, so that no place, device, thumbnail,
// second picture or appended file goes on. What a header claims is checked
// before a pixel is decoded; nothing is believed from a file's name.
//
// It knows no clock, disk or network, and keeps nothing between calls. One call
// holds the whole decoded picture: see [Intake] for what that costs; how many
// run at once is for the caller to limit. It does not judge what is in the
// picture, does not convert colour profiles (a wide-gamut photograph looks a
// little paler), and takes no print colours (CMYK).
package photo

import (
	"bytes"
	"image/jpeg"

	"tidemark/server/fault"
)

// What is taken, and what is kept of it.
const (
	maxBytes             = 10 << 20   // of a file
	maxPixels            = 24_000_000 // of a baseline JPEG
	maxProgressivePixels = 12_000_000 // of a progressive JPEG: all coefficients are held at once
	maxRGBPixels         = 12_000_000 // of a PNG, or a JPEG stored as RGB: four bytes a pixel

	keptSide    = 1600 // pixels on the long side, at most
	keptQuality = 80   // of the JPEG, 1 to 100
)

// Photo is a photograph as it is kept.
type Photo struct {
	JPEG          []byte  // baseline, no metadata, upright
	Width, Height int     // pixels, 1 to 1600
	Sharpness     float64 // variance of the Laplacian, grey levels squared: see SharpFrom
	Blurred       bool    // Sharpness is below SharpFrom: ask once, never block
}

// Intake reads a photograph as a phone sent it. The same bytes always give the
// same Photo.
//
// It costs memory while it runs (measured, all allocations of a call): 25 MB for
// a JPEG of 12 megapixels, 42 MB at the limit of 24, some 95 MB for a PNG or an
// ordinary progressive JPEG of 12. The costliest file taken, progressive with
// full-size chroma, needs 190 MB; the slowest takes some ten times as long as a
// JPEG of 12 megapixels.
//
// Errors are faults, and none of them need stop the report the photograph
// belongs to: TooLarge (bytes or pixels), Unsupported (no JPEG or PNG, or a kind
// of them that cameras do not make), Invalid (damaged or cut short).
func Intake(b []byte) (Photo, error) {
	r, err := load(b)
	if err != nil {
		return Photo{}, err
	}
	out, err := r.encode(keptQuality)
	if err != nil {
		return Photo{}, err
	}
	s := sharpness(r)
	return Photo{
		JPEG: out, Width: r.width, Height: r.height,
		Sharpness: s, Blurred: s < SharpFrom,
	}, nil
}

// load decodes, shrinks to the kept size and turns upright.
func load(b []byte) (raster, error) {
	r, turn, err := decode(b)
	if err != nil {
		return raster{}, err
	}
	return r.shrink(keptSide).upright(turn), nil
}

// encode writes r, whose planes are all of full size, as a baseline JPEG.
func (r raster) encode(quality int) ([]byte, error) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, r.image(), &jpeg.Options{Quality: quality}); err != nil {
		return nil, fault.Wrap(err, fault.Internal, "The photograph could not be written.")
	}
	return out.Bytes(), nil
}
