package photo

// SharpFrom is the sharpness from which a photograph passes as sharp.
//
// PROVISIONAL, common practice, no source: the method is in common use, the
// number is not from any standard. It separates our drawn samples; the threshold
// must come from real photographs of seals, taken where sealers stand. A plain,
// sharp surface scores low too, so a low number is a question to the person who
// took the photograph, never a verdict.
const SharpFrom = 20.0

// measuredSide is the long side at which sharpness is measured, so that numbers
// from different cameras compare, and the grain of a dark room counts less than
// edges do. A smaller picture is measured as it is, and seems sharper for it.
const measuredSide = 800

// sharpness is the variance of the Laplacian (the four neighbours less four
// times the middle) over the inner pixels of the grey plane, in grey levels
// squared. It is 0 for a picture without inner pixels.
func sharpness(r raster) float64 {
	grey := raster{r.width, r.height, r.planes[:1]}.shrink(measuredSide)
	pix, stride := grey.planes[0].pix, grey.planes[0].stride
	var n, sum, squares int64
	for y := 1; y < grey.height-1; y++ {
		for i := y*stride + 1; i < y*stride+grey.width-1; i++ {
			around := int64(pix[i-1]) + int64(pix[i+1]) +
				int64(pix[i-stride]) + int64(pix[i+stride])
			l := around - 4*int64(pix[i])
			n, sum, squares = n+1, sum+l, squares+l*l
		}
	}
	if n == 0 {
		return 0
	}
	mean := float64(sum) / float64(n)
	return float64(squares)/float64(n) - mean*mean
}
