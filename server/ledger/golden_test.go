package ledger_test

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/ledger"
	"tidemark/server/record"
)

var update = flag.Bool("update", false, "make the folder of this format, if there is none")

// Folders of every format are kept as they were written, and have to open for
// ever: a tar file each of ledger.db, the anchor and the keys.
func TestFoldersOfEveryFormatOpen(t *testing.T) {
	golden := filepath.Join("..", "..", "testdata", "golden")
	newest := filepath.Join(golden, "folder-1.tar.gz")
	if _, err := os.Stat(newest); *update && errors.Is(err, os.ErrNotExist) {
		pack(t, small(t).Dir, newest)
	}
	names, err := filepath.Glob(filepath.Join(golden, "folder-*.tar.gz"))
	require.NoError(t, err)
	require.Contains(t, names, newest)
	for _, name := range names {
		o := options(t.TempDir())
		unpack(t, name, o.Dir)
		verify(t, o)
		l := open(t, o)
		require.EqualValues(t, 75, l.Size())
		require.Equal(t, 25, value(l, sealer(1)).N)
		require.Len(t, l.Keys(), 2)
		pending, err := l.Pending(1000)
		require.NoError(t, err)
		require.Len(t, pending, 75)
		from, to := l.Day(id(1000), 20_003)
		require.Equal(t, [2]record.Seq{30, 40}, [2]record.Seq{from, to})
		require.True(t, add(t, l, 3, 0).Repeat)
		require.Equal(t, record.Seq(75), add(t, l, 900, 0).First)
	}
}

func TestAFolderOfANewerFormatIsLeftAlone(t *testing.T) {
	o := small(t)
	name := filepath.Join(o.Dir, "ledger.db")
	for _, row := range rows(t, name, "meta") {
		if string(row[0]) == "identity" {
			row[1] = bytes.Replace(row[1], []byte(`"format":1`), []byte(`"format":2,"more":true`), 1)
			replace(t, name, "meta", row[0], row)
		}
	}
	_, err := ledger.Open(o)
	require.ErrorContains(t, err, "was made by a newer version of this program")
	_, err = ledger.Verify(ledger.Verification{Dir: o.Dir, Fold: o.Fold})
	require.ErrorContains(t, err, "was made by a newer version of this program")
}

func pack(t *testing.T, dir, name string) {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	require.NoError(t, err)
	w := tar.NewWriter(z)
	require.NoError(t, os.Remove(filepath.Join(dir, "lock")))
	b, err := os.ReadFile(filepath.Join(dir, "ledger.db"))
	require.NoError(t, err)
	cut(t, dir, int64(pages(b))*4096) // the rest is room to grow into
	require.NoError(t, w.AddFS(os.DirFS(dir)))
	require.NoError(t, errors.Join(w.Close(), z.Close()))
	require.NoError(t, os.WriteFile(name, out.Bytes(), 0o644))
}

func unpack(t *testing.T, name, dir string) {
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	require.NoError(t, err)
	in := tar.NewReader(z)
	for h, err := in.Next(); err != io.EOF; h, err = in.Next() {
		require.NoError(t, err)
		if h.Typeflag != tar.TypeReg {
			continue
		}
		b, err := io.ReadAll(in)
		require.NoError(t, err)
		to := filepath.Join(dir, filepath.FromSlash(h.Name))
		require.NoError(t, os.MkdirAll(filepath.Dir(to), 0o700))
		require.NoError(t, os.WriteFile(to, b, 0o600))
	}
}
