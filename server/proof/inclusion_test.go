package proof

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"
)

// Audit paths published with the vector leaves: leaf, size, hashes from the
// leaf up.
func TestInclusionHoldsThePublishedAuditPaths(t *testing.T) {
	leaves := vectorLeaves(t)
	for _, want := range []struct {
		seq, size int64
		path      []string
	}{
		{0, 1, []string{}},
		{0, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{5, 8, []string{
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
		{2, 3, []string{
			"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"}},
		{1, 5, []string{
			"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
	} {
		f, c := grow(t, leaves[:want.size], 2)
		p, err := ProveInclusion(want.size, []int64{want.seq}, c)
		require.NoError(t, err)
		held := []string{}
		for _, h := range p.hashes {
			held = append(held, hexed(h))
		}
		require.ElementsMatch(t, want.path, held)
		root := Checkpoint{origin, want.size, f.Root()}
		leaf := Leaf{want.seq, leaves[want.seq]}
		require.NoError(t, p.Check(root, []Leaf{leaf}))
	}
}

// provenLeaves returns the vector tree's leaves 1, 2 and 5 with their proof.
func provenLeaves(t testing.TB) (Checkpoint, []Leaf, Inclusion) {
	t.Helper()
	leaves := vectorLeaves(t)
	_, c := grow(t, leaves, 8)
	p, err := ProveInclusion(8, []int64{1, 2, 5}, c)
	require.NoError(t, err)
	given := []Leaf{{1, leaves[1]}, {2, leaves[2]}, {5, leaves[5]}}
	return testCheckpoint(t), given, p
}

func TestEveryChangedByteOfAnInclusionIsNoticed(t *testing.T) {
	c, leaves, p := provenLeaves(t)
	again, err := ParseInclusion(p.Text())
	require.NoError(t, err)
	require.NoError(t, again.Check(c, leaves))
	everyChange([]byte(p.Text()), func(changed []byte, at int) {
		again, err := ParseInclusion(string(changed))
		if err == nil {
			err = again.Check(c, leaves)
		}
		require.Error(t, err, "byte %d", at)
	})
}

func TestEveryChangedByteOfALeafOrRootIsNoticed(t *testing.T) {
	c, leaves, p := provenLeaves(t)
	for i := range leaves {
		everyChange(leaves[i].Bytes, func(changed []byte, at int) {
			forged := append([]Leaf{}, leaves...)
			forged[i].Bytes = changed
			require.ErrorContains(t, p.Check(c, forged), "not what the ledger holds")
		})
	}
	everyChange(c.Root[:], func(changed []byte, at int) {
		if len(changed) == len(c.Root) {
			require.Error(t, p.Check(Checkpoint{origin, 8, Hash(changed)}, leaves))
		}
	})
	for _, size := range []int64{-1, 0, 5, 6, 7, 9, 16} {
		require.Error(t, p.Check(Checkpoint{origin, size, c.Root}, leaves), "size %d", size)
	}
}

func TestLeavesInAnotherOrderNumberOrSetAreRefused(t *testing.T) {
	c, l, p := provenLeaves(t)
	for name, leaves := range map[string][]Leaf{
		"none":           {},
		"one left out":   {l[0], l[1]},
		"one twice":      {l[0], l[1], l[1], l[2]},
		"not rising":     {l[1], l[0], l[2]},
		"other number":   {l[0], l[1], {4, l[2].Bytes}},
		"negative":       {{-1, l[0].Bytes}, l[0], l[1], l[2]},
		"past the tree":  {l[0], l[1], l[2], {8, nil}},
		"one not proven": {l[0], l[1], l[2], {7, vectorLeaves(t)[7]}},
	} {
		require.Error(t, p.Check(c, leaves), name)
	}
}

func TestProveInclusionReportsWhatItCannotProve(t *testing.T) {
	_, c := grow(t, vectorLeaves(t), 8)
	_, err := ProveInclusion(8, []int64{8}, c)
	require.ErrorContains(t, err, "prove record 8")
	_, err = ProveInclusion(100, []int64{3}, c)
	require.ErrorContains(t, err, "not stored")
	broken := errors.New("disk gone")
	_, err = ProveInclusion(8, []int64{3}, Chunks{&mapStore{fail: broken}})
	require.ErrorIs(t, err, broken)
	short := tlog.HashReaderFunc(func([]int64) ([]Hash, error) { return nil, nil })
	_, err = ProveInclusion(8, []int64{3}, short)
	require.ErrorContains(t, err, "0 hashes")
}

func TestAnyLeavesOfAnyTreeAreProven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := randomLeaves(rapid.IntRange(1, 150).Draw(t, "size"), 9)
		f, c := grow(t, all, 64)
		var seqs []int64
		var leaves []Leaf
		for i, leaf := range all {
			if rapid.Bool().Draw(t, "given") {
				seqs, leaves = append(seqs, int64(i)), append(leaves, Leaf{int64(i), leaf})
			}
		}
		p, err := ProveInclusion(f.Size(), seqs, c)
		require.NoError(t, err)
		p, err = ParseInclusion(p.Text())
		require.NoError(t, err)
		require.NoError(t, p.Check(Checkpoint{origin, f.Size(), f.Root()}, leaves))
	})
}

func FuzzParseInclusion(f *testing.F) {
	c, leaves, p := provenLeaves(f)
	f.Add(p.Text())
	f.Add(inclusionTitle)
	f.Fuzz(func(t *testing.T, text string) {
		again, err := ParseInclusion(text)
		if err != nil {
			return
		}
		require.Equal(t, text, again.Text())
		if again.Check(c, leaves) == nil {
			require.Equal(t, p, again, "a proof nobody made")
		}
	})
}
