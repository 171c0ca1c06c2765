package proof

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/tlog"
	"pgregory.net/rapid"
)

// vectorLeaves are the leaves of the public test vectors for RFC 6962, 2.1.
func vectorLeaves(t testing.TB) [][]byte {
	t.Helper()
	var leaves [][]byte
	for _, text := range []string{"", "00", "10", "2021", "3031", "40414243",
		"5051525354555657", "606162636465666768696a6b6c6d6e6f"} {
		leaf, err := hex.DecodeString(text)
		require.NoError(t, err)
		leaves = append(leaves, leaf)
	}
	return leaves
}

// vectorRoots are the roots over the first n vector leaves, published with them.
func vectorRoots() []string {
	return []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
}

// mapStore keeps chunks in memory and gives out copies, as a store would.
type mapStore struct {
	chunks map[int64][]byte
	fail   error
}

func newMapStore() *mapStore { return &mapStore{chunks: map[int64][]byte{}} }

func (s *mapStore) Chunk(n int64) ([]byte, error) { return s.chunks[n], s.fail }

func (s *mapStore) PutChunk(n int64, value []byte) error {
	s.chunks[n] = value
	return s.fail
}

// grow appends leaves to an empty tree and stores the hashes in groups of the
// given size.
func grow(t require.TestingT, leaves [][]byte, group int) (Frontier, Chunks) {
	var f Frontier
	c := Chunks{newMapStore()}
	for len(leaves) > 0 {
		var hashes []Hash
		first, n := f.Stored(), min(group, len(leaves))
		for _, leaf := range leaves[:n] {
			hashes = f.Append(hashes, leaf)
		}
		require.NoError(t, c.Put(first, hashes))
		leaves = leaves[n:]
	}
	return f, c
}

// randomLeaves returns n leaves of up to 99 bytes, the same for the same seed.
func randomLeaves(n int, seed uint64) [][]byte {
	source := rand.New(rand.NewPCG(seed, 1))
	leaves := make([][]byte, n)
	for i := range leaves {
		leaves[i] = make([]byte, source.IntN(100))
		for j := range leaves[i] {
			leaves[i][j] = byte(source.Uint32())
		}
	}
	return leaves
}

func TestFrontierAndStoreGiveThePublishedRoots(t *testing.T) {
	leaves := vectorLeaves(t)
	for n, want := range vectorRoots() {
		f, c := grow(t, leaves[:n], 3)
		require.Equal(t, want, hexed(f.Root()), "size %d", n)
		checkpoint, err := NewCheckpoint("spd.example", int64(n), c)
		require.NoError(t, err)
		require.Equal(t, want, hexed(checkpoint.Root), "size %d", n)
	}
}

func hexed(h Hash) string { return hex.EncodeToString(h[:]) }

// The reference is golang.org/x/mod/sumdb/tlog, which reads the store where
// Frontier remembers.
func TestFrontierAgreesWithTheReferenceAtEverySize(t *testing.T) {
	var f Frontier
	var stored []Hash
	r := tlog.HashReaderFunc(func(indexes []int64) ([]Hash, error) {
		var hashes []Hash
		for _, i := range indexes {
			hashes = append(hashes, stored[i])
		}
		return hashes, nil
	})
	for n, leaf := range randomLeaves(600, 7) {
		want, err := tlog.StoredHashes(int64(n), leaf, r)
		require.NoError(t, err)
		require.Equal(t, int64(len(stored)), f.Stored())
		require.Equal(t, want, f.Append(nil, leaf))
		stored = append(stored, want...)

		root, err := tlog.TreeHash(f.Size(), r)
		require.NoError(t, err)
		require.Equal(t, root, f.Root())
		again, err := ReadFrontier(f.Size(), r)
		require.NoError(t, err)
		require.Equal(t, root, again.Root())
		require.Equal(t, f.Append(nil, []byte("next")), again.Append(nil, []byte("next")))
		f, err = ReadFrontier(int64(n)+1, r)
		require.NoError(t, err)
	}
}

func TestACopyOfAFrontierIsAStagedTree(t *testing.T) {
	f, _ := grow(t, vectorLeaves(t), 8)
	before := f.Root()
	staged := f
	staged.Append(nil, []byte("dropped"))
	require.Equal(t, before, f.Root())
	require.NotEqual(t, before, staged.Root())
}

func TestReadFrontierRefusesWhatItCannotRead(t *testing.T) {
	broken := errors.New("disk gone")
	_, c := grow(t, vectorLeaves(t), 3)
	_, err := ReadFrontier(9, c)
	require.ErrorContains(t, err, "not stored")
	_, err = ReadFrontier(8, Chunks{&mapStore{fail: broken}})
	require.ErrorIs(t, err, broken)
	short := tlog.HashReaderFunc(func([]int64) ([]Hash, error) { return nil, nil })
	_, err = ReadFrontier(8, short)
	require.ErrorContains(t, err, "0 hashes for 1")
}

func TestChunksHoldTheSameHoweverTheyWereGrouped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		leaves := randomLeaves(rapid.IntRange(0, 200).Draw(t, "leaves"), 3)
		_, one := grow(t, leaves, 1)
		f, many := grow(t, leaves, rapid.IntRange(1, 200).Draw(t, "group"))
		require.Equal(t, one, many)
		root, err := tlog.TreeHash(f.Size(), many)
		require.NoError(t, err)
		require.Equal(t, root, f.Root())
	})
}

func TestChunksRefuseAGapAnOverwriteAndAFailingStore(t *testing.T) {
	f, c := grow(t, vectorLeaves(t), 8)
	hash := []Hash{f.Root()}
	require.ErrorContains(t, c.Put(f.Stored()+1, hash), "holds 480 bytes, not 512")
	require.ErrorContains(t, c.Put(f.Stored()-1, hash), "holds 480 bytes, not 448")
	broken := errors.New("disk gone")
	require.ErrorIs(t, Chunks{&mapStore{fail: broken}}.Put(0, hash), broken)
	_, err := Chunks{&mapStore{fail: broken}}.ReadHashes([]int64{0})
	require.ErrorIs(t, err, broken)
}

func TestSizesThatNoTreeHasAreRefusedEverywhere(t *testing.T) {
	_, c := grow(t, vectorLeaves(t), 8)
	sound := testCheckpoint(t)
	for _, size := range []int64{-1, MaxSize + 1, 1<<62 + 1, math.MaxInt64} {
		odd := Checkpoint{origin, size, sound.Root}
		for name, try := range map[string]func() error{
			"frontier":          func() error { _, err := ReadFrontier(size, c); return err },
			"new checkpoint":    func() error { _, err := NewCheckpoint(origin, size, c); return err },
			"parse checkpoint":  func() error { _, err := ParseCheckpoint(odd.Text()); return err },
			"prove inclusion":   func() error { _, err := ProveInclusion(size, nil, c); return err },
			"check inclusion":   func() error { return Inclusion{}.Check(odd, []Leaf{{0, nil}}) },
			"prove from":        func() error { _, err := ProveConsistency(size, 8, c); return err },
			"prove to":          func() error { _, err := ProveConsistency(8, size, c); return err },
			"check consistency": func() error { return Consistency{}.Check(sound, odd) },
		} {
			require.ErrorContains(t, try(), fmt.Sprintf("size %d: want 0 to", size), name)
		}
	}
}
