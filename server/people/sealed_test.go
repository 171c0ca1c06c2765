package people_test

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/people"
)

func name(s string) people.Value { return people.Value{Domain: "person/name", Bytes: []byte(s)} }

func seal(t testing.TB, h *house, values ...people.Value) [][32]byte {
	t.Helper()
	commitments, err := h.Seal(morning, values...)
	require.NoError(t, err)
	return commitments
}

func reveal(t testing.TB, h *house, commitment [32]byte) people.Revealed {
	t.Helper()
	r, err := h.Reveal(commitment)
	require.NoError(t, err)
	return r
}

func erasedAt(when time.Time) people.Revealed {
	return people.Revealed{Status: people.Erased, At: when.UTC()}
}

// Both hashes were made with Python's hashlib from the formula in the package
// comment, with the salt 00 01 .. 1f.
func TestCommitment(t *testing.T) {
	var salt [32]byte
	for i := range salt {
		salt[i] = byte(i)
	}
	for want, v := range map[string]people.Value{
		"456f6d8c45f00c662eb4a3f61b9e8423eb1964e96e6f7b38ebf6fed6f977a77f": name("Ada Example"),
		"0f7f60205a22b8942ab9a1f3a741ac622e16733451bdf3315bc0e8746f49eed5": {Domain: "note"},
	} {
		got := people.Commitment(v, salt)
		require.Equal(t, want, hex.EncodeToString(got[:]))
	}
}

func TestSealAndReveal(t *testing.T) {
	h := newHouse(t)
	long := people.Value{Domain: "note", Bytes: bytes.Repeat([]byte("ä"), 32<<10)}
	empty := people.Value{Domain: "note", Bytes: []byte{}}
	values := []people.Value{name("L. Marsh"), name("L. Marsh"), empty, long}
	commitments := seal(t, h, values...)
	require.NotEqual(t, commitments[0], commitments[1], "equal names do not look equal")
	for range 2 {
		for i, commitment := range commitments {
			r := reveal(t, h, commitment)
			require.Equal(t, people.Present, r.Status)
			require.Equal(t, values[i].Domain, r.Value.Domain)
			require.True(t, bytes.Equal(values[i].Bytes, r.Value.Bytes))
			require.Equal(t, morning.UTC(), r.At)
			require.Equal(t, commitment, people.Commitment(r.Value, r.Salt), "a reader can check it")
		}
		h.restart()
	}
	require.Equal(t, people.Revealed{Status: people.Missing}, reveal(t, h, [32]byte{1}))
}

func TestRevealedBytesAreTheCallersOwn(t *testing.T) {
	h := newHouse(t)
	commitment := seal(t, h, name("L. Marsh"))[0]
	for range 3 { // from the file, then from memory
		r := reveal(t, h, commitment)
		require.Equal(t, "L. Marsh", string(r.Value.Bytes))
		clear(r.Value.Bytes)
	}
}

func TestSealRefuses(t *testing.T) {
	h := newHouse(t)
	long := people.Value{Domain: "note", Bytes: make([]byte, 64<<10+1)}
	_, err := h.Seal(morning, name("kept out, too"), long)
	requireCode(t, fault.TooLarge, err)
	for _, domain := range []string{"", "a\x00b", strings.Repeat("d", 65)} {
		_, err := h.Seal(morning, people.Value{Domain: domain})
		require.ErrorContains(t, err, "no domain")
	}
	require.False(t, h.inFolder([]byte("kept out, too")), "all or none")
}

func TestEraseLeavesNoByte(t *testing.T) {
	h := newHouse(t)
	// Enough around it to be moved from page to page, and a long one.
	secret, long := []byte("Quillon Vantreight"), bytes.Repeat([]byte("zebrawood "), 3000)
	gone := seal(t, h, name(string(secret)), people.Value{Domain: "note", Bytes: long})
	var kept [][32]byte
	for i := range 50 {
		kept = append(kept, seal(t, h, name(fmt.Sprintf("colleague %d", i)))...)
	}
	salt := reveal(t, h, gone[0]).Salt // in memory now, too
	session := signIn(t, h, marsh, tablet)
	require.True(t, h.inFolder(secret))
	require.True(t, h.inFolder(salt[:]))

	require.NoError(t, h.Erase(gone, evening))
	for range 2 {
		require.False(t, h.inFolder(secret))
		require.False(t, h.inFolder(salt[:]))
		require.False(t, h.inFolder([]byte("zebrawood")))
		for _, commitment := range gone {
			require.Equal(t, erasedAt(evening), reveal(t, h, commitment))
		}
		for i, commitment := range kept {
			colleague := fmt.Sprintf("colleague %d", i)
			require.Equal(t, colleague, string(reveal(t, h, commitment).Value.Bytes))
		}
		requireOpen(t, h, session)
		require.Equal(t, []string{"people.db"}, h.files())
		h.restart()
	}
	requireOver(t, h, "")
	seal(t, h, name("life goes on"))
}

// What makes TestEraseLeavesNoByte worth something: deleting a row alone leaves
// its bytes in the file.
func TestADeletedRowStaysInFreePages(t *testing.T) {
	h := newHouse(t)
	commitment := seal(t, h, name("Quillon Vantreight"))[0]
	for i := range 20 {
		seal(t, h, name(fmt.Sprint("colleague ", i)))
	}
	h.raw(func(tx *bbolt.Tx) error { return tx.Bucket([]byte("sealed")).Delete(commitment[:]) })
	h.open()
	require.Equal(t, people.Missing, reveal(t, h, commitment).Status)
	require.True(t, h.inFolder([]byte("Quillon Vantreight")))
}

// A kill after the deletion and before the rewrite leaves the note that it is
// owed; the next start pays.
func TestAnErasureCutShortIsFinishedByTheNextStart(t *testing.T) {
	h := newHouse(t)
	commitment := seal(t, h, name("Quillon Vantreight"))[0]
	h.raw(func(tx *bbolt.Tx) error {
		if err := tx.Bucket([]byte("meta")).Put([]byte("rewrite owed"), []byte{1}); err != nil {
			return err
		}
		return tx.Bucket([]byte("sealed")).Delete(commitment[:])
	})
	require.True(t, h.inFolder([]byte("Quillon Vantreight")))
	h.open()
	require.False(t, h.inFolder([]byte("Quillon Vantreight")))
}

func TestErasuresAreAppliedAgainAfterARestore(t *testing.T) {
	h := newHouse(t)
	commitments := seal(t, h, name("Quillon Vantreight"), name("L. Marsh"))
	var backup bytes.Buffer
	require.NoError(t, h.Snapshot(&backup))
	require.NoError(t, h.Erase(commitments[:1], evening))
	list, err := h.Erasures()
	require.NoError(t, err)
	require.Equal(t, []people.Erasure{{Commitment: commitments[0], At: evening.UTC()}}, list)

	h.restore(backup.Bytes())
	require.Equal(t, people.Present, reveal(t, h, commitments[0]).Status)
	require.NoError(t, h.ApplyErasures(list))
	require.False(t, h.inFolder([]byte("Quillon Vantreight")))
	require.Equal(t, erasedAt(evening), reveal(t, h, commitments[0]))
	require.Equal(t, people.Present, reveal(t, h, commitments[1]).Status)

	// Once more, later, and for a value that is not here: the first time stands.
	list[0].At = evening.AddDate(1, 0, 0)
	list = append(list, people.Erasure{Commitment: [32]byte{7}, At: evening})
	before := h.stat()
	require.NoError(t, h.ApplyErasures(list))
	require.True(t, os.SameFile(before, h.stat()), "nothing to forget, nothing to rewrite")
	require.Equal(t, evening.UTC(), reveal(t, h, commitments[0]).At)
	require.Equal(t, people.Erased, reveal(t, h, [32]byte{7}).Status)
}

func TestSweepForgetsWhatNoRecordUses(t *testing.T) {
	h := newHouse(t)
	old := seal(t, h, name("Quillon Vantreight"), name("L. Marsh"))
	young, err := h.Seal(evening, name("on its way"))
	require.NoError(t, err)
	reveal(t, h, old[0]) // into memory
	used := func(commitment [32]byte) bool { return commitment == old[1] }

	swept, err := h.Sweep(evening, used)
	require.NoError(t, err)
	require.Equal(t, 1, swept)
	require.Equal(t, people.Missing, reveal(t, h, old[0]).Status)
	require.Equal(t, people.Present, reveal(t, h, old[1]).Status)
	require.Equal(t, people.Present, reveal(t, h, young[0]).Status)
	require.False(t, h.inFolder([]byte("Quillon Vantreight")))

	swept, err = h.Sweep(evening, used)
	require.NoError(t, err)
	require.Zero(t, swept)
}

func BenchmarkReveal(b *testing.B) {
	h := newHouse(b)
	const page = 200
	values := make([]people.Value, page)
	for i := range values {
		values[i] = name(fmt.Sprint("colleague ", i))
	}
	commitments := seal(b, h, values...)
	long := seal(b, h, people.Value{Domain: "note", Bytes: make([]byte, 257)}) // never kept in memory
	read := func(b *testing.B, commitments [][32]byte, n int) {
		for b.Loop() {
			for i := range n {
				if _, err := h.Reveal(commitments[i%len(commitments)]); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
	b.Run("200 names", func(b *testing.B) { read(b, commitments, page) })
	b.Run("200 from the file", func(b *testing.B) { read(b, long, page) })
}

// BenchmarkErase is one erasure among 100,000 values of 100 bytes.
func BenchmarkErase(b *testing.B) {
	h := newHouse(b)
	const lot = 5000
	values := make([]people.Value, lot)
	for range 100_000 / lot {
		for i := range values {
			values[i] = people.Value{Domain: "note", Bytes: bytes.Repeat([]byte("x"), 100)}
		}
		seal(b, h, values...)
	}
	now := morning
	for b.Loop() {
		b.StopTimer()
		gone := seal(b, h, name("Quillon Vantreight"))
		now = now.Add(time.Second)
		b.StartTimer()
		require.NoError(b, h.Erase(gone, now))
	}
}
