package photo

import "image"

// raster is a decoded picture: a plane of grey, or three of Y, Cb and Cr.
type raster struct {
	width, height int // pixels
	planes        []plane
}

// plane is one channel, a byte a sample, the rows stride apart. A sample covers
// sx by sy pixels; the last ones may reach past the picture's edge.
type plane struct {
	pix            []uint8
	stride, sx, sy int
}

func greyRaster(m *image.Gray) raster {
	b := m.Bounds()
	return raster{b.Dx(), b.Dy(), []plane{{m.Pix, m.Stride, 1, 1}}}
}

func colourRaster(m *image.YCbCr) raster {
	b := m.Bounds()
	sx, sy := subsampling(m.SubsampleRatio)
	return raster{b.Dx(), b.Dy(), []plane{
		{m.Y, m.YStride, 1, 1},
		{m.Cb, m.CStride, sx, sy},
		{m.Cr, m.CStride, sx, sy},
	}}
}

func subsampling(ratio image.YCbCrSubsampleRatio) (sx, sy int) {
	switch ratio {
	case image.YCbCrSubsampleRatio422:
		return 2, 1
	case image.YCbCrSubsampleRatio420:
		return 2, 2
	case image.YCbCrSubsampleRatio440:
		return 1, 2
	case image.YCbCrSubsampleRatio411:
		return 4, 1
	case image.YCbCrSubsampleRatio410:
		return 4, 2
	}
	return 1, 1
}

// image shows r, whose planes are all of full size, to the standard library.
func (r raster) image() image.Image {
	rect := image.Rect(0, 0, r.width, r.height)
	if len(r.planes) == 1 {
		return &image.Gray{Pix: r.planes[0].pix, Stride: r.planes[0].stride, Rect: rect}
	}
	return &image.YCbCr{
		Y: r.planes[0].pix, Cb: r.planes[1].pix, Cr: r.planes[2].pix,
		YStride: r.planes[0].stride, CStride: r.planes[1].stride,
		SubsampleRatio: image.YCbCrSubsampleRatio444, Rect: rect,
	}
}
