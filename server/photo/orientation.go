package photo

// orientation is the Orientation tag of TIFF 6.0 and Exif, 1 to 8: where the
// stored picture's first row and first column belong. Any other value counts as
// 1, upright.
type orientation int

// upright turns r, whose planes are all of full size, as o asks.
func (r raster) upright(o orientation) raster {
	if o < 2 || o > 8 {
		return r
	}
	turned := raster{width: r.width, height: r.height}
	if o.swapsAxes() {
		turned.width, turned.height = r.height, r.width
	}
	for _, p := range r.planes {
		start, right, down := o.path(r.width, r.height, p.stride)
		pix := make([]uint8, 0, turned.width*turned.height)
		for y := range turned.height {
			i := start + y*down
			for range turned.width {
				pix = append(pix, p.pix[i])
				i += right
			}
		}
		turned.planes = append(turned.planes, plane{pix, turned.width, 1, 1})
	}
	return turned
}

// swapsAxes reports whether stored rows are columns of the upright picture.
func (o orientation) swapsAxes() bool { return o >= 5 }

// path says how the upright picture walks over the stored samples: where its
// top left one is, and the steps to the right and downwards.
func (o orientation) path(w, h, stride int) (start, right, down int) {
	right, down = 1, stride
	if o == 2 || o == 3 || o == 7 || o == 8 { // stored columns run backwards
		start, right = w-1, -1
	}
	if o == 3 || o == 4 || o == 6 || o == 7 { // stored rows run backwards
		start, down = start+(h-1)*stride, -stride
	}
	if o.swapsAxes() {
		right, down = down, right
	}
	return start, right, down
}
