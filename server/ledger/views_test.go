package ledger_test

import (
	"bytes"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/ledger"
	"tidemark/server/record"
)

// indexed finds records by the number of their sealer and by their length.
func indexed(o ledger.Options, shape int) ledger.Options {
	o.Index = ledger.Index{Shape: shape, Entries: func(r *record.Record) []ledger.Entry {
		c, _ := r.Content()
		minutes := c.(*record.Changeover).Minutes
		return []ledger.Entry{{Key: fmt.Sprintf("shape %d length %d/", shape, minutes), Value: []byte{7}},
			{Key: "subject " + r.Subject.String() + "/"}}
	}}
	return o
}

func TestALookUpIsExactHoweverFarTheViewsAre(t *testing.T) {
	o := indexed(options(t.TempDir()), 1)
	l := open(t, o)
	for n := range 60 {
		appended(t, l, command(n, note(t, n%7, strings.Repeat("x", 1+n%5))))
		hits, err := l.Lookup("subject " + sealer(n%7).String())
		require.NoError(t, err)
		require.Len(t, hits, n/7+1)
		require.Equal(t, record.Seq(n), hits[n/7].Seq)
	}
	hits, err := l.Lookup("shape 1 length")
	require.NoError(t, err)
	require.Len(t, hits, 60)
	second := ledger.Entry{Key: "shape 1 length 2/", Value: []byte{7}}
	require.Equal(t, ledger.Hit{Entry: second, Seq: 1}, hits[12])
	hits, err = l.Lookup("shape 1 length 9")
	require.NoError(t, err)
	require.Empty(t, hits)
}

func TestViewsThatAreGoneDamagedOrOfAnotherShapeAreMadeAgain(t *testing.T) {
	for name, harm := range map[string]func(t *testing.T, file string){
		"gone":  func(t *testing.T, file string) { require.NoError(t, os.Remove(file)) },
		"cut":   func(t *testing.T, file string) { require.NoError(t, os.Truncate(file, 9000)) },
		"empty": func(t *testing.T, file string) { require.NoError(t, os.Truncate(file, 0)) },
		"junk": func(t *testing.T, file string) {
			require.NoError(t, os.WriteFile(file, bytes.Repeat([]byte("junk"), 9000), 0o600))
		},
		"of another": func(t *testing.T, file string) {
			other := indexed(options(t.TempDir()), 1)
			l, err := ledger.Open(other)
			require.NoError(t, err)
			require.NoError(t, l.Close())
			b, err := os.ReadFile(filepath.Join(other.Dir, "views.db"))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(file, b, 0o600))
		},
		"of another shape": func(*testing.T, string) {},
	} {
		t.Run(name, func(t *testing.T) {
			o := indexed(small(t), 1)
			l, err := ledger.Open(o)
			require.NoError(t, err)
			_, err = l.Lookup("shape 1")
			require.NoError(t, err)
			require.NoError(t, l.Close())
			harm(t, filepath.Join(o.Dir, "views.db"))
			shape := 1
			if name == "of another shape" {
				shape = 2
			}
			var log bytes.Buffer
			o = indexed(o, shape)
			o.Log = slog.New(slog.NewTextHandler(&log, nil))
			l = open(t, o)
			hits, err := l.Lookup(fmt.Sprintf("shape %d length 1/", shape))
			require.NoError(t, err)
			require.Len(t, hits, 75)
			if name != "gone" && name != "empty" {
				require.Contains(t, log.String(), "making the look-ups again")
			}
		})
	}
}
