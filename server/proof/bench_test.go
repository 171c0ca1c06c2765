package proof

import (
	"crypto/sha256"
	"slices"
	"testing"
	"time"
)

// BenchmarkAppend adds leaves of 432 bytes to the tree, stores their hashes in
// groups of 16 and takes the root of each group. It reports the median of the
// per-round ratios to SHA-256 over the same leaves, both in one run.
func BenchmarkAppend(b *testing.B) {
	const group, leaves = 16, 4096
	leaf := make([]byte, 432)
	var ratios []float64
	for b.Loop() {
		var f Frontier
		c := Chunks{newMapStore()}
		begin := time.Now()
		for range leaves / group {
			hashes, first := make([]Hash, 0, 2*group), f.Stored()
			for range group {
				hashes = f.Append(hashes, leaf)
			}
			if err := c.Put(first, hashes); err != nil {
				b.Fatal(err)
			}
			f.Root()
		}
		middle := time.Now()
		for range leaves {
			sha256.Sum256(leaf)
		}
		ratios = append(ratios, float64(middle.Sub(begin))/float64(time.Since(middle)))
	}
	slices.Sort(ratios)
	b.ReportMetric(ratios[len(ratios)/2], "x-sha256")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*leaves), "ns/leaf-both")
}

// BenchmarkInclusion proves and checks 100 leaves of a tree of 100,000.
func BenchmarkInclusion(b *testing.B) {
	const size = 100_000
	var f Frontier
	var hashes []Hash
	leaf := make([]byte, 432)
	for range size {
		hashes = f.Append(hashes, leaf)
	}
	c := Chunks{newMapStore()}
	if err := c.Put(0, hashes); err != nil {
		b.Fatal(err)
	}
	var seqs []int64
	var leaves []Leaf
	for seq := int64(0); seq < size; seq += size / 100 {
		seqs, leaves = append(seqs, seq), append(leaves, Leaf{seq, leaf})
	}
	root := Checkpoint{origin, size, f.Root()}
	for b.Loop() {
		p, err := ProveInclusion(size, seqs, c)
		if err == nil {
			err = p.Check(root, leaves)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}
