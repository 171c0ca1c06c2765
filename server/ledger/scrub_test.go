package ledger_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/durable"
	"tidemark/server/ledger"
)

func scrub(t *testing.T, l *ledger.Ledger, photos *durable.Folder) (found []string) {
	t.Helper()
	require.NoError(t, l.Scrub(t.Context(), ledger.Scrub{PerSecond: 100_000, Photos: photos,
		Found: func(d *ledger.Damage) { found = append(found, d.What) }}))
	return found
}

func TestScrubbingFindsEachDamagedRecordAndPhotograph(t *testing.T) {
	o := small(t)
	photos, err := durable.OpenFolder(filepath.Join(o.Dir, "photos"))
	require.NoError(t, err)
	photo, err := photos.Put([]byte("a photograph"))
	require.NoError(t, err)
	l, err := ledger.Open(o)
	require.NoError(t, err)
	require.Empty(t, scrub(t, l, photos))
	require.NoError(t, l.Close())

	name := filepath.Join(o.Dir, "ledger.db")
	for _, n := range []int{3, 40} {
		row := rows(t, name, "records")[n]
		row[1][20] ^= 1
		replace(t, name, "records", row[0], row)
	}
	bad := filepath.Join(o.Dir, "photos", photo[:2], photo)
	require.NoError(t, os.WriteFile(bad, []byte("a phot0graph"), 0o600))
	l, err = ledger.Open(o)
	require.NoError(t, err)
	require.Equal(t, []string{"Record 3 is not what was stored.", "Record 40 is not what was stored.",
		"Photograph " + photo + " is not what was stored."}, scrub(t, l, photos))
	require.NoError(t, l.Close())
}

func TestScrubbingFindsADamagedHash(t *testing.T) {
	o := small(t)
	name := filepath.Join(o.Dir, "ledger.db")
	row := rows(t, name, "hashes")[0]
	row[1][2*32] ^= 1 // of a pair of leaves: only proofs read it
	replace(t, name, "hashes", row[0], row)
	l, err := ledger.Open(o)
	require.NoError(t, err)
	found := scrub(t, l, nil)
	require.NoError(t, l.Close())
	require.Equal(t, []string{"The hashes of records 0 to 63 are not those of the tree."}, found)
}

func TestScrubbingEndsWithItsContext(t *testing.T) {
	l := open(t, small(t))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, l.Scrub(ctx, ledger.Scrub{PerSecond: 1}), context.Canceled)
}
