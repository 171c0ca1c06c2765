package stats

import "math"

// cells is the exact sum of Huntington and Naus (1975) for the scan statistic.
// A line of length 1 holds L = floor(1/w) windows and a rest b; it is cut into
// 2L+1 cells, by turns of width b and w-b, so that every window that starts on a
// cut holds two neighbouring cells. Each way to spread the points over the
// cells without k in two neighbours adds the share of its orders that keep
// every window in between below k too: two determinants of 1/h!.
type cells struct {
	k, n, windows int
	odd, even     float64   // widths b and w-b
	inverse       []float64 // 1/h! for h up to n
	count         []int     // points in each cell, while the sum runs
	square        []float64 // room for a determinant
}

func newCells(k, n int, w float64) *cells {
	c := &cells{k: k, n: n, windows: int(math.Floor(1/w + 1e-12))}
	c.odd = max(0, 1-float64(c.windows)*w)
	if c.odd < 1e-12 {
		c.odd = 0
	}
	c.even = w - c.odd
	c.inverse = make([]float64, n+1)
	for h := range c.inverse {
		c.inverse[h] = math.Exp(-logFactorial(h))
	}
	c.count = make([]int, 2*c.windows+1)
	c.square = make([]float64, (c.windows+1)*(c.windows+1))
	return c
}

// cost estimates the multiplications of the sum: ways to spread the points,
// times the size of the larger determinant cubed.
func (c *cells) cost() float64 {
	ways := make([][]float64, c.n+1) // [points so far][points in the last cell]
	for i := range ways {
		ways[i] = make([]float64, c.n+1)
	}
	ways[0][0] = 1
	for cell := range c.count {
		next := make([][]float64, c.n+1)
		for sum := range next {
			next[sum] = make([]float64, c.n+1)
			for here := 0; here <= min(sum, c.limit(cell)); here++ {
				for last := 0; last+here < c.k && last <= sum-here; last++ {
					next[sum][here] += ways[sum-here][last]
				}
			}
		}
		ways = next
	}
	total := 0.0
	for _, w := range ways[c.n] {
		total += w
	}
	return total * math.Pow(float64(c.windows+1), 3)
}

// limit is the most points that a cell may hold: none in a cell of no width.
func (c *cells) limit(cell int) int {
	if cell%2 == 0 && c.odd == 0 {
		return 0
	}
	return c.k - 1
}

// without returns the probability that no window holds k points.
func (c *cells) without() float64 {
	return c.spread(0, c.n, math.Exp(logFactorial(c.n)))
}

// spread sums over all ways to put left points into the cells from cell on;
// factor is the probability share gathered so far.
func (c *cells) spread(cell, left int, factor float64) (sum float64) {
	if cell == len(c.count) {
		if left > 0 {
			return 0
		}
		return factor * c.determinant(c.windows+1, 0) * c.determinant(c.windows, 1)
	}
	width := c.even
	if cell%2 == 0 {
		width = c.odd
	}
	most := min(left, c.limit(cell))
	if cell > 0 {
		most = min(most, c.k-1-c.count[cell-1])
	}
	for here := 0; here <= most; here++ {
		c.count[cell] = here
		sum += c.spread(cell+1, left-here, factor)
		factor *= width
	}
	return sum
}

// determinant returns det|1/h(i,j)!| over windows that start on cells first,
// first+2, ...: with first = 0 the windows' own points, with 1 those of the
// windows moved on by one cell.
func (c *cells) determinant(size, first int) float64 {
	m := c.square[:size*size]
	for i := range size {
		for j := range size {
			h := 0
			for s := first + 2*j; s <= first+2*i; s++ {
				h += c.count[s]
			}
			for s := first + 2*i + 1; s < first+2*j; s++ {
				h -= c.count[s]
			}
			h += (j - i) * c.k
			m[i*size+j] = 0
			if h >= 0 && h <= c.n {
				m[i*size+j] = c.inverse[h]
			}
		}
	}
	return eliminate(m, size)
}

// eliminate returns the determinant of m, which it overwrites: Gauss with the
// largest pivot of each column.
func eliminate(m []float64, size int) float64 {
	det := 1.0
	for col := range size {
		pivot := col
		for row := col + 1; row < size; row++ {
			if math.Abs(m[row*size+col]) > math.Abs(m[pivot*size+col]) {
				pivot = row
			}
		}
		if m[pivot*size+col] == 0 {
			return 0
		}
		if pivot != col {
			det = -det
			for j := range size {
				m[col*size+j], m[pivot*size+j] = m[pivot*size+j], m[col*size+j]
			}
		}
		det *= m[col*size+col]
		for row := col + 1; row < size; row++ {
			f := m[row*size+col] / m[col*size+col]
			for j := col; j < size; j++ {
				m[row*size+j] -= f * m[col*size+j]
			}
		}
	}
	return det
}
