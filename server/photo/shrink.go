package photo

// shrink gives r at most side pixels long, by area averaging: a new pixel is
// the mean, rounded, of the part of the old picture that it covers. Each plane
// goes straight to the new size, so coarse chroma is never blown up to the old
// one. It never enlarges; a picture that fits keeps its size, its chroma comes
// out at full size.
func (r raster) shrink(side int) raster {
	w, h := fit(r.width, r.height, side)
	small := raster{width: w, height: h}
	for _, p := range r.planes {
		if w == r.width && h == r.height && p.sx == 1 && p.sy == 1 {
			small.planes = append(small.planes, p)
			continue
		}
		a := averager{p, spans(r.width, w, p.sx), spans(r.height, h, p.sy)}
		small.planes = append(small.planes, plane{a.run(), w, 1, 1})
	}
	return small
}

// fit gives the size of w by h pixels shrunk to a long side of at most side.
func fit(w, h, side int) (int, int) {
	long := max(w, h)
	if long <= side {
		return w, h
	}
	scale := func(n int) int { return max(1, (2*n*side+long)/(2*long)) }
	return scale(w), scale(h)
}

// span is the run of samples that one new pixel covers along an axis, in whole
// numbers: the first and last sample count head and tail, those between inner.
// The weights of a span sum to the axis's total.
type span struct{ first, last, head, tail int }

// axis is the spans of all new pixels.
type axis struct {
	spans        []span
	inner, total int
}

// spans lays n new pixels over size old ones, of which a sample covers sub.
func spans(size, n, sub int) axis {
	// In steps of 1/(sub*n) of a sample a new pixel is size steps wide and a
	// sample sub*n: whole numbers, so that nothing is lost at the borders.
	g := gcd(size, sub*n)
	a := axis{make([]span, n), sub * n / g, size / g}
	for i := range a.spans {
		from, to := i*a.total, (i+1)*a.total
		s := span{first: from / a.inner, last: (to - 1) / a.inner}
		if s.head = a.total; s.first < s.last {
			s.head = (s.first+1)*a.inner - from
			s.tail = to - s.last*a.inner
		}
		a.spans[i] = s
	}
	return a
}

// weight is how much sample i counts within s.
func (a axis) weight(s span, i int) int {
	switch i {
	case s.first:
		return s.head
	case s.last:
		return s.tail
	}
	return a.inner
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// averager shrinks one plane along both axes.
type averager struct {
	plane
	x, y axis
}

// run adds up columns first, row by old row, then the columns' sums: exact whole
// numbers throughout. A column's sum is below 256 times the old height, which
// fits 32 bits up to 16 million rows: a PNG has at most 12, a JPEG 65,535.
func (a averager) run() []uint8 {
	last := a.x.spans[len(a.x.spans)-1].last
	columns := make([]uint32, last+1)
	w := len(a.x.spans)
	out := make([]uint8, w*len(a.y.spans))
	for row, s := range a.y.spans {
		clear(columns)
		for y := s.first; y <= s.last; y++ {
			weight := uint32(a.y.weight(s, y))
			for x, v := range a.pix[y*a.stride:][:len(columns)] {
				columns[x] += weight * uint32(v)
			}
		}
		a.means(out[row*w:][:w], columns)
	}
	return out
}

// means sets out, a row of new pixels, rounded half up, from the weighted sums of
// the old columns over its height.
func (a averager) means(out []uint8, columns []uint32) {
	total, inner := uint64(a.x.total*a.y.total), uint64(a.x.inner)
	for i, s := range a.x.spans {
		sum := uint64(s.head) * uint64(columns[s.first])
		if s.first < s.last {
			between := uint64(0)
			for x := s.first + 1; x < s.last; x++ {
				between += uint64(columns[x])
			}
			sum += inner*between + uint64(s.tail)*uint64(columns[s.last])
		}
		out[i] = uint8((sum + total/2) / total)
	}
}
