package people_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"tidemark/server/people"
)

func TestWhatAPhoneMadeAndDidNotSendIsMissingUntilItComes(t *testing.T) {
	h := newHouse(t)
	store := people.ID{0x51}
	came := func(at time.Time, numbers ...int64) {
		for _, n := range numbers {
			require.NoError(t, h.Came(north, phone, store, n, at))
		}
	}
	missing := func() (list []people.Gap) {
		all, err := h.Storages(north)
		require.NoError(t, err)
		for _, s := range all {
			require.Equal(t, []people.ID{store, phone}, []people.ID{s.ID, s.Device})
			list = append(list, s.Gaps...)
		}
		return list
	}
	came(morning, 1, 2, 3, 2)
	require.Empty(t, missing(), "all three, one of them twice")
	came(morning, 9)
	came(evening, 12)
	require.Equal(t, []people.Gap{{From: 4, To: 8, Since: morning.UTC()}, {From: 10, To: 11, Since: evening.UTC()}}, missing())
	h.restart()
	came(evening, 6, 6, 4)
	require.Equal(t, []people.Gap{{From: 5, To: 5, Since: morning.UTC()}, {From: 7, To: 8, Since: morning.UTC()},
		{From: 10, To: 11, Since: evening.UTC()}}, missing())
	came(evening, 8, 11, 5, 10, 7)
	require.Empty(t, missing(), "nothing is missing any more")

	require.NoError(t, h.Came(north, phone, people.ID{}, 7, morning), "no storage: nothing to count")
	require.NoError(t, h.Came(south, tablet, people.ID{0x52}, 2, morning))
	require.Empty(t, missing(), "another department's")
}

func TestAFileFromBeforeStoragesWereCountedIsOpenedAsEver(t *testing.T) {
	h := newHouse(t)
	h.raw(func(tx *bbolt.Tx) error { return tx.DeleteBucket([]byte("storages")) })
	h.open()
	require.NoError(t, h.Came(north, phone, people.ID{0x51}, 2, morning))
	list, err := h.Storages(north)
	require.NoError(t, err)
	require.Len(t, list, 1)
}
