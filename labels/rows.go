package labels

import "strings"

// rows is text broken to fit: what stands on each row, and the font size in mm.
type rows struct {
	text []string
	size float64
}

const (
	smallest      = 2.1 // mm, 6 pt: text below it is not read at a bench
	smallestTitle = 2.8 // mm, 8 pt
	leading       = 1.25
)

// height returns the mm from the top of the first row to the foot of the last.
func (r rows) height() float64 { return leading * r.size * float64(len(r.text)) }

// titleRows sets s on one row, or on two where that makes it larger. No word is
// broken; the size may come out too small to print.
func titleRows(s string, width, height float64) rows {
	best := rows{[]string{s}, bold.shrink(s, width, .30*height)}
	for i, r := range s {
		if r != ' ' {
			continue
		}
		two := rows{[]string{s[:i], s[i+1:]}, .20 * height}
		for _, half := range two.text {
			two.size = bold.shrink(half, width, two.size)
		}
		if two.size >= best.size {
			best = two
		}
	}
	return best
}

// lineRows sets lines below each other, all at one size, large at most: whole
// if they are nearly as large then, else wrapped, else shortened. They may
// still come out higher than height.
func lineRows(lines []string, width, height, large float64) rows {
	whole := rows{lines, large}
	for _, s := range lines {
		whole.size = regular.shrink(s, width, whole.size)
	}
	if whole.size >= max(smallest, .8*large) && whole.height() <= height {
		return whole
	}
	for size := large; size >= smallest; size *= .97 {
		if r := wrapped(lines, width, size); r.height() <= height && r.narrower(width) {
			return r
		}
	}
	short := rows{size: smallest}
	for _, s := range lines {
		short.text = append(short.text, regular.shorten(s, width, smallest))
	}
	return short
}

// wrapped breaks lines at spaces. A word wider than width keeps its own row.
func wrapped(lines []string, width, size float64) rows {
	r := rows{size: size}
	for _, s := range lines {
		row := ""
		for _, word := range strings.Fields(s) {
			longer := strings.TrimSpace(row + " " + word)
			if row != "" && regular.width(longer)*size > width {
				r.text, longer = append(r.text, row), word
			}
			row = longer
		}
		r.text = append(r.text, row)
	}
	return r
}

func (r rows) narrower(width float64) bool {
	for _, s := range r.text {
		if regular.width(s)*r.size > width+1e-9 {
			return false
		}
	}
	return true
}
