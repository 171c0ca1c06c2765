package ledger_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/ledger"
	"tidemark/server/record"
)

// The tally is kept up in memory; a list that is read page by page from the disk
// says the same after whatever was done, and so does a ledger that was opened anew.
func TestTheTallySaysWhatTheOutboxHolds(t *testing.T) {
	o := options(t.TempDir())
	l, err := ledger.Open(o)
	require.NoError(t, err)
	luck := rand.New(rand.NewPCG(7, 11))
	want := map[ledger.Key]bool{} // parked or not
	for i := range 120 {
		switch keys := chosenOf(want, luck, 5); luck.IntN(5) {
		case 0, 1:
			addMessages(t, l, byte(i), luck.IntN(4), want)
		case 2:
			require.NoError(t, l.Park("refused", keys...))
			mark(want, keys, true)
		case 3:
			require.NoError(t, l.Resend(keys...))
			mark(want, keys, false)
		case 4:
			require.NoError(t, l.Done(keys...))
			for _, k := range keys {
				delete(want, k)
			}
		}
		if i%10 == 9 { // asked for the first time in the middle
			requireTally(t, l, want)
		}
	}
	require.NoError(t, l.Close())
	requireTally(t, open(t, o), want)
}

func addMessages(t *testing.T, l *ledger.Ledger, i byte, n int, want map[ledger.Key]bool) {
	t.Helper()
	r, err := record.New(&record.Note{})
	require.NoError(t, err)
	r.Subject = record.Subject{Type: record.Sealer, ID: record.ID{1}}
	receipt, err := l.Append(t.Context(), ledger.Command{ID: record.ID{9, i}, Decide: func(record.View, record.Time) ([]ledger.Draft, error) {
		return []ledger.Draft{{Record: r, Outbox: make([]ledger.Message, n)}}, nil
	}})
	require.NoError(t, err)
	for at := range n {
		want[ledger.Key{Seq: receipt.First, N: at}] = false
	}
}

// chosenOf picks some messages, and one that is not there.
func chosenOf(want map[ledger.Key]bool, luck *rand.Rand, n int) []ledger.Key {
	keys := []ledger.Key{{Seq: 9999}}
	for k := range want {
		if len(keys) <= n && luck.IntN(2) == 0 {
			keys = append(keys, k)
		}
	}
	return keys
}

func mark(want map[ledger.Key]bool, keys []ledger.Key, parked bool) {
	for _, k := range keys {
		if _, there := want[k]; there {
			want[k] = parked
		}
	}
}

func requireTally(t *testing.T, l *ledger.Ledger, want map[ledger.Key]bool) {
	t.Helper()
	waiting, parked, err := l.Messages()
	require.NoError(t, err)
	var onDisk []ledger.Pending
	for after := (ledger.Key{Seq: record.None}); ; {
		page, err := l.PendingAfter(after, 3)
		require.NoError(t, err)
		if len(page) == 0 {
			break
		}
		onDisk, after = append(onDisk, page...), page[len(page)-1].Key
	}
	listed, err := l.Parked(1000)
	require.NoError(t, err)
	require.Equal(t, []int{waiting, parked}, []int{len(onDisk), len(listed)})
	require.Equal(t, len(want), waiting+parked)
	for _, p := range onDisk {
		require.Equal(t, false, want[p.Key])
	}
	for _, p := range listed {
		require.True(t, want[p.Key])
		require.Equal(t, "refused", p.Parked)
	}
}
