package photo

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"

	"tidemark/server/fault"
)

// decode reads b if it is a photograph within the limits. It checks what the
// headers claim first; the parser whose word is taken for the size is the one
// that decodes.
func decode(b []byte) (raster, orientation, error) {
	switch {
	case len(b) > maxBytes:
		return raster{}, 0, fault.New(fault.TooLarge, "The photograph has %.1f MB, and at most "+
			"%d MB are taken. Take it again in a smaller size. "+kept,
			float64(len(b))/(1<<20), maxBytes>>20)
	case bytes.HasPrefix(b, []byte("\xff\xd8")):
		return decodeJPEG(b)
	case bytes.HasPrefix(b, []byte(pngSignature)):
		return decodePNG(b)
	}
	return raster{}, 0, fault.New(fault.Unsupported, "This file is not a photograph of a kind "+
		"that is taken here. Set the camera to save JPEG, or send a PNG. "+kept)
}

func decodeJPEG(b []byte) (raster, orientation, error) {
	config, err := jpeg.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		return raster{}, 0, unreadable(err)
	}
	notes := readJPEGNotes(b)
	if err := admitJPEG(config, notes); err != nil {
		return raster{}, 0, err
	}
	m, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		return raster{}, 0, unreadable(err)
	}
	return rasterOf(m), notes.turn, nil
}

// admitJPEG refuses what would cost too much to decode, or is in print colours.
func admitJPEG(config image.Config, notes jpegNotes) error {
	limit, scans := maxPixels, maxScans
	if notes.progressive {
		limit, scans = maxProgressivePixels, maxProgressiveScans
	}
	switch config.ColorModel {
	case color.CMYKModel:
		return fault.New(fault.Unsupported,
			"The photograph is stored in print colours (CMYK). Save it as an ordinary JPEG. "+kept)
	case color.RGBAModel:
		limit = min(limit, maxRGBPixels)
	}
	if notes.scans > scans {
		return fault.New(fault.Unsupported,
			"The JPEG is built of %d layers, and at most %d are taken. Save it again as an "+
				"ordinary JPEG. "+kept, notes.scans, scans)
	}
	return checkSize(config, limit)
}

func decodePNG(b []byte) (raster, orientation, error) {
	config, err := png.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		return raster{}, 0, unreadable(err)
	}
	switch config.ColorModel {
	case color.Gray16Model, color.RGBA64Model, color.NRGBA64Model:
		return raster{}, 0, fault.New(fault.Unsupported,
			"The PNG has 16 bits a colour. Save it with 8 bits, or as a JPEG. "+kept)
	}
	if err := checkSize(config, maxRGBPixels); err != nil {
		return raster{}, 0, err
	}
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		return raster{}, 0, unreadable(err)
	}
	return rasterOf(m), pngOrientation(b), nil
}

// checkSize refuses a picture of no pixels, or of more than limit.
func checkSize(config image.Config, limit int) error {
	w, h := config.Width, config.Height
	if w < 1 || h < 1 {
		return fault.New(fault.Invalid,
			"The photograph is damaged: it has no size. Take it again. "+kept)
	}
	if w > limit/h {
		return fault.New(fault.TooLarge,
			"The photograph has %d x %d pixels, and of this kind at most %d million are taken. "+
				"Take it again in a smaller size. "+kept, w, h, limit/1_000_000)
	}
	return nil
}

// rasterOf takes the planes of m as they are where it has them; anything else is
// laid on white and converted, a row at a time to spare memory.
func rasterOf(m image.Image) raster {
	switch m := m.(type) {
	case *image.YCbCr:
		return colourRaster(m)
	case *image.Gray:
		return greyRaster(m)
	}
	b := m.Bounds()
	out := image.NewYCbCr(image.Rect(0, 0, b.Dx(), b.Dy()), image.YCbCrSubsampleRatio444)
	row := image.NewRGBA(image.Rect(0, 0, b.Dx(), 1))
	for y := range b.Dy() {
		draw.Draw(row, row.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(row, row.Rect, m, b.Min.Add(image.Pt(0, y)), draw.Over)
		for x := range b.Dx() {
			c, i := row.Pix[4*x:4*x+3], y*out.YStride+x
			out.Y[i], out.Cb[i], out.Cr[i] = color.RGBToYCbCr(c[0], c[1], c[2])
		}
	}
	return colourRaster(out)
}

// kept ends every refusal: a photograph never blocks what it belongs to.
const kept = "The report is kept without it."

// unreadable says whether a decoder met a kind of file it does not know, or a
// damaged one.
func unreadable(err error) error {
	var j jpeg.UnsupportedError
	var p png.UnsupportedError
	if errors.As(err, &j) || errors.As(err, &p) {
		return fault.Wrap(err, fault.Unsupported, "The photograph is stored in a rare way that "+
			"is not taken here. Save it as an ordinary JPEG. "+kept)
	}
	return fault.Wrap(err, fault.Invalid,
		"The photograph is damaged or cut short. Send it again, or take another. "+kept)
}
