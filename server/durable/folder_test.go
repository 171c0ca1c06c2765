package durable_test

import (
	"crypto/rand"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/durable"
)

// FIPS 180-2, appendix B.1: the SHA-256 of "abc".
const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

func openFolder(t testing.TB) (*durable.Folder, string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "photographs")
	f, err := durable.OpenFolder(dir)
	require.NoError(t, err)
	return f, dir
}

func put(t testing.TB, f *durable.Folder, text string) string {
	t.Helper()
	name, err := f.Put([]byte(text))
	require.NoError(t, err)
	return name
}

func TestAFileIsFoundUnderTheHashOfItsContent(t *testing.T) {
	f, dir := openFolder(t)
	require.Equal(t, abc, put(t, f, "abc"))
	require.Equal(t, abc, put(t, f, "abc"), "twice is fine")
	require.Equal(t, []string{abc}, names(t, filepath.Join(dir, "ba")))
	again, err := durable.OpenFolder(dir)
	require.NoError(t, err)
	data, err := again.Read(abc)
	require.NoError(t, err)
	require.Equal(t, "abc", string(data))
	has, err := again.Has(abc)
	require.NoError(t, err)
	require.True(t, has)
}

func TestADeletedFileIsGoneAndMayBeDeletedAgain(t *testing.T) {
	f, _ := openFolder(t)
	require.NoError(t, f.Delete(abc), "nothing there, not even its subfolder")
	put(t, f, "abc")
	require.NoError(t, f.Delete(abc))
	require.NoError(t, f.Delete(abc))
	has, err := f.Has(abc)
	require.NoError(t, err)
	require.False(t, has)
	_, err = f.Read(abc)
	require.ErrorIs(t, err, fs.ErrNotExist)
}

func TestDamageIsNeverServedAndHealedByPut(t *testing.T) {
	for name, damaged := range map[string]string{
		"changed": "abd", "cut": "ab", "emptied": "", "grown": "abcd"} {
		t.Run(name, func(t *testing.T) {
			f, dir := openFolder(t)
			put(t, f, "abc")
			path := filepath.Join(dir, "ba", abc)
			require.NoError(t, os.WriteFile(path, []byte(damaged), 0o600))
			data, err := f.Read(abc)
			require.ErrorIs(t, err, durable.ErrWrongContent)
			require.Nil(t, data)
			r, err := f.Open(abc)
			require.NoError(t, err)
			_, err = io.Copy(io.Discard, r)
			require.ErrorIs(t, err, durable.ErrWrongContent)
			require.NoError(t, r.Close())

			put(t, f, "abc")
			data, err = f.Read(abc)
			require.NoError(t, err)
			require.Equal(t, "abc", string(data))
		})
	}
}

func TestWhatIsNoNameIsRefusedEverywhere(t *testing.T) {
	f, _ := openFolder(t)
	for _, name := range []string{"", "..", abc[2:], abc + "00", "BA" + abc[2:], "../../" + abc[6:]} {
		_, err := f.Read(name)
		require.ErrorContains(t, err, "is not a SHA-256 in hex")
		_, err = f.Has(name)
		require.ErrorContains(t, err, "is not a SHA-256 in hex")
		require.ErrorContains(t, f.Delete(name), "is not a SHA-256 in hex")
	}
}

func TestWalkGivesEveryFileInOrderAndNothingElse(t *testing.T) {
	f, dir := openFolder(t)
	put(t, f, "abc")
	empty := put(t, f, "") // e3b0...
	strays := []string{"note.txt", "ba/.new-1", "ba/note.txt", "ba/" + empty, abc}
	for _, stray := range strays {
		require.NoError(t, os.WriteFile(filepath.Join(dir, stray), nil, 0o600))
	}
	sizes := map[string]int64{}
	var order []string
	require.NoError(t, f.Walk(func(name string, info fs.FileInfo) error {
		order, sizes[name] = append(order, name), info.Size()
		return nil
	}))
	require.Equal(t, []string{abc, empty}, order)
	require.Equal(t, map[string]int64{abc: 3, empty: 0}, sizes)

	require.ErrorIs(t, f.Walk(func(string, fs.FileInfo) error { return io.ErrClosedPipe }),
		io.ErrClosedPipe)
	n, err := f.Sweep()
	require.NoError(t, err)
	require.Equal(t, 1, n)
	require.Equal(t, []string{abc, empty, "note.txt"}, names(t, filepath.Join(dir, "ba")))
}

func TestManyAtOnceMayPutTheSame(t *testing.T) {
	f, dir := openFolder(t)
	var wait sync.WaitGroup
	for range 16 {
		wait.Go(func() {
			_, err := f.Put([]byte("abc"))
			if err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	require.Equal(t, []string{abc}, names(t, filepath.Join(dir, "ba")))
}

func TestAFolderIsNotMadeWhereNoneIsAround(t *testing.T) {
	_, err := durable.OpenFolder(filepath.Join(t.TempDir(), "none", "photographs"))
	require.ErrorIs(t, err, fs.ErrNotExist)
}

// BenchmarkPut stores 200 kB, a photograph's size, beside a plain write of the
// same bytes that is synced as well.
func BenchmarkPut(b *testing.B) {
	f, dir := openFolder(b)
	data := make([]byte, 200_000)
	b.Run("put", func(b *testing.B) {
		for b.Loop() {
			rand.Read(data[:32])
			_, err := f.Put(data)
			require.NoError(b, err)
		}
	})
	b.Run("write-and-sync", func(b *testing.B) {
		for b.Loop() {
			file, err := os.CreateTemp(dir, "")
			require.NoError(b, err)
			_, err = file.Write(data)
			require.NoError(b, err)
			require.NoError(b, file.Sync())
			require.NoError(b, file.Close())
		}
	})
}
