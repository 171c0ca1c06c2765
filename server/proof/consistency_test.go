package proof

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Proofs published with the vector leaves.
func TestConsistencyIsThePublishedProof(t *testing.T) {
	leaves := vectorLeaves(t)
	_, c := grow(t, leaves, 8)
	for _, want := range []struct {
		old, new int64
		path     []string
	}{
		{1, 1, []string{}},
		{1, 8, []string{
			"96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4"}},
		{6, 8, []string{
			"0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
			"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
			"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7"}},
		{2, 5, []string{
			"5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
			"bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"}},
	} {
		p, err := ProveConsistency(want.old, want.new, c)
		require.NoError(t, err)
		held := []string{}
		for _, h := range p {
			held = append(held, hexed(h))
		}
		require.Equal(t, want.path, held)
	}
}

// checkpointOf returns the checkpoint over the first n vector leaves.
func checkpointOf(t testing.TB, n int64) Checkpoint {
	t.Helper()
	f, _ := grow(t, vectorLeaves(t)[:n], 8)
	return Checkpoint{origin, n, f.Root()}
}

func TestEverySizeIsConsistentWithEveryLaterOneAndNoOther(t *testing.T) {
	_, c := grow(t, vectorLeaves(t), 8)
	for new := range int64(9) {
		for old := range new + 1 {
			p, err := ProveConsistency(old, new, c)
			require.NoError(t, err)
			p, err = ParseConsistency(p.Text())
			require.NoError(t, err)
			from, to := checkpointOf(t, old), checkpointOf(t, new)
			require.NoError(t, p.Check(from, to), "%d to %d", old, new)

			forged := to
			forged.Root[0] ^= 1
			if old > 0 || new == 0 { // any tree goes on from the empty one
				require.Error(t, p.Check(from, forged), "%d to forged %d", old, new)
			}
			forged = from
			forged.Root[31] ^= 1
			require.Error(t, p.Check(forged, to), "forged %d to %d", old, new)
			require.Error(t, append(p, to.Root).Check(from, to), "a hash too many")
			if old < new {
				require.Error(t, p.Check(to, from), "%d back to %d", new, old)
			}
		}
	}
}

func TestEveryChangedByteOfAConsistencyIsNoticed(t *testing.T) {
	_, c := grow(t, vectorLeaves(t), 8)
	p, err := ProveConsistency(6, 8, c)
	require.NoError(t, err)
	old, new := checkpointOf(t, 6), checkpointOf(t, 8)
	everyChange([]byte(p.Text()), func(changed []byte, at int) {
		again, err := ParseConsistency(string(changed))
		if err == nil {
			err = again.Check(old, new)
		}
		require.Error(t, err, "byte %d", at)
	})
	new.Origin = "elsewhere.example"
	require.ErrorContains(t, p.Check(old, new), "elsewhere.example is not")
	_, err = ProveConsistency(8, 6, c)
	require.ErrorContains(t, err, "prove consistency of 6 with 8")
}

func FuzzParseConsistency(f *testing.F) {
	_, c := grow(f, vectorLeaves(f), 8)
	p, err := ProveConsistency(6, 8, c)
	require.NoError(f, err)
	old, new := checkpointOf(f, 6), checkpointOf(f, 8)
	f.Add(p.Text())
	f.Add(consistencyTitle)
	f.Fuzz(func(t *testing.T, text string) {
		again, err := ParseConsistency(text)
		if err != nil {
			return
		}
		require.Equal(t, text, again.Text())
		if again.Check(old, new) == nil {
			require.Equal(t, p, again, "a proof nobody made")
		}
	})
}
