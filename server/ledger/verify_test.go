package ledger_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"

	"tidemark/server/ledger"
	"tidemark/server/record"
)

// every makes the test change each byte in turn, not one in many.
var every = flag.Bool("every", false, "change every byte of a ledger in turn")

// small fills a folder with enough records for a chunk of each sort, a snapshot
// and a tail, and closes it.
func small(t testing.TB) ledger.Options {
	t.Helper()
	o := options(t.TempDir())
	for _, part := range [][2]int{{0, 70}, {70, 75}} {
		l, err := ledger.Open(o)
		require.NoError(t, err)
		for n := part[0]; n < part[1]; n++ {
			r := note(t, n%3, "x")
			r.Dept, r.Day = id(1000), record.Date(20_000+n/10)
			if n%10 == 7 {
				r.Day--
			}
			c := command(n, r)
			c.Decide = always(ledger.Draft{Record: r, Outbox: []ledger.Message{{Route: "a", To: id(9)}}})
			appended(t, l, c)
		}
		if part[0] == 0 {
			require.NoError(t, l.RotateKey())
		}
		require.NoError(t, l.Close())
	}
	return o
}

func TestAnyByteThatWasChangedIsNoticed(t *testing.T) {
	o := small(t)
	verify(t, o)
	step := 41
	if *every {
		step = 1
	}
	name := filepath.Join(o.Dir, "ledger.db")
	for _, bucket := range []string{"records", "hashes", "ids", "snapshot", "days", "apart", "meta"} {
		changed := 0
		all := rows(t, name, bucket)
		for _, row := range all {
			for i := 0; i < len(row[0])+len(row[1]); i += step {
				k, v := bytes.Clone(row[0]), bytes.Clone(row[1])
				if i < len(k) {
					k[i] ^= 0x10
				} else {
					v[i-len(k)] ^= 0x10
				}
				replace(t, name, bucket, row[0], [2][]byte{k, v})
				require.False(t, clean(o), "%s %q byte %d", bucket, row[0], i)
				replace(t, name, bucket, k, all...)
				changed++
			}
		}
		require.Positive(t, changed, bucket)
	}
	signed, err := os.ReadFile(filepath.Join(o.Dir, "anchor"))
	require.NoError(t, err)
	for i := range signed {
		bad := bytes.Clone(signed)
		bad[i] ^= 0x10
		require.NoError(t, os.WriteFile(filepath.Join(o.Dir, "anchor"), bad, 0o600))
		require.False(t, clean(o), "anchor byte %d", i)
	}
	require.NoError(t, os.WriteFile(filepath.Join(o.Dir, "anchor"), signed, 0o600))
	verify(t, o)
}

// clean reports whether verify finds nothing.
func clean(o ledger.Options) bool {
	report, err := ledger.Verify(ledger.Verification{Dir: o.Dir, Fold: o.Fold})
	return err == nil && len(report.Wrong) == 0
}

func rows(t *testing.T, name, bucket string) (all [][2][]byte) {
	t.Helper()
	change(t, name, func(tx *bolt.Tx) error {
		return tx.Bucket([]byte(bucket)).ForEach(func(k, v []byte) error {
			all = append(all, [2][]byte{bytes.Clone(k), bytes.Clone(v)})
			return nil
		})
	})
	return all
}

// replace puts rows in the place of another.
func replace(t *testing.T, name, bucket string, old []byte, rows ...[2][]byte) {
	t.Helper()
	change(t, name, func(tx *bolt.Tx) error {
		b := tx.Bucket([]byte(bucket))
		if err := b.Delete(old); err != nil {
			return err
		}
		for _, row := range rows {
			if err := b.Put(row[0], row[1]); err != nil {
				return err
			}
		}
		return nil
	})
}

// change alters a closed store behind the ledger's back.
func change(t *testing.T, name string, f func(tx *bolt.Tx) error) {
	t.Helper()
	db, err := bolt.Open(name, 0o600, &bolt.Options{NoSync: true})
	require.NoError(t, err)
	require.NoError(t, db.Update(f))
	require.NoError(t, db.Close())
}

func TestWitnessesTellALedgerThatWasMadeAnew(t *testing.T) {
	o := small(t)
	v := ledger.Verification{Dir: o.Dir, Fold: o.Fold}
	report := verify(t, o)
	l, err := ledger.Open(o)
	require.NoError(t, err)
	signed, err := l.Checkpoint()
	require.NoError(t, err)
	size, root := l.Root()
	keys := l.Keys()
	require.NoError(t, l.Close())
	require.EqualValues(t, 75, size)
	require.Equal(t, report.Root[:], root[:])

	v.Key = keys[0].Public
	v.Witnesses = []string{string(signed), fmt.Sprintf("%d %x", size, root[:4])}
	report, err = ledger.Verify(v)
	require.NoError(t, err)
	require.Empty(t, report.Wrong)

	v.Witnesses = []string{fmt.Sprintf("75 %x", [4]byte{})}
	report, err = ledger.Verify(v)
	require.NoError(t, err)
	require.Equal(t, []string{"The first 75 records are not those that a witness has seen."},
		report.Wrong)
	v.Witnesses = []string{fmt.Sprintf("76 %x", root[:4])}
	report, err = ledger.Verify(v)
	require.NoError(t, err)
	require.Equal(t, []string{"The ledger went back: it holds 75 records, a witness has seen 76."},
		report.Wrong)

	v.Witnesses, v.Key = nil, "tidemark+00000000+AAAA"
	report, err = ledger.Verify(v)
	require.NoError(t, err)
	require.Len(t, report.Wrong, 1)
}
