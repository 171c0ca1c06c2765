package ledger

import (
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

// Whatever is forgotten, the rest is found, and the whole fingerprints of the
// records that fill no chunk are at hand.
func TestRecentForgetsTheOldestOnly(t *testing.T) {
	print := func(n int) uint64 { return fingerprint(record.ID{byte(n), byte(n >> 8)}) }
	ids := newRecent(0, 0)
	for n := range 5000 {
		ids.add(print(n))
	}
	for _, before := range []record.Seq{0, 64, 64, 4096, 4992} {
		ids.forget(before)
		require.EqualValues(t, 5000, ids.end())
		for n := range 5000 {
			found := slices.Contains(ids.find(print(n)), record.Seq(n))
			require.Equal(t, record.Seq(n) >= before, found, n)
		}
		require.Equal(t, []uint64{print(4992), print(4993)}, ids.last[:2])
	}
}

// A ledger that runs for long forgets ids at its snapshots, and finds each of them
// in the store from then on.
func TestARunningLedgerForgetsIDs(t *testing.T) {
	l := benchOpen(t, t.TempDir())
	defer func() { require.NoError(t, l.Close()) }()
	l.o.Recent, l.db.NoSync = 1000, true
	var wait sync.WaitGroup
	const callers, each = 64, 200
	first := make([]record.Record, callers)
	for caller := range callers {
		wait.Go(func() {
			for n := range each {
				r := benchCheck(time.Now(), caller)
				if n == 0 {
					first[caller] = r
				}
				require.NoError(t, appendOne(l, r))
			}
		})
	}
	wait.Wait()
	require.Greater(t, l.now.ids.base, record.Seq(snapshotEvery))
	require.Less(t, len(l.now.ids.tags), 2*snapshotEvery)
	for _, r := range first {
		require.NoError(t, appendOne(l, r))
	}
	require.EqualValues(t, callers*each, l.Size())
}
