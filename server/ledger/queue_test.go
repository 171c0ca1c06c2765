package ledger

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func filled(people, imports int) *queue[int] {
	q := newQueue[int]()
	for n := range people {
		q.people <- n
	}
	for n := range imports {
		q.imports <- 1000 + n
	}
	return q
}

func TestAGroupTakesPeopleBeforeImportsAndNotManyOfThose(t *testing.T) {
	group := slices.Collect(filled(10, 200).group())
	require.Len(t, group, 10+maxImports)
	require.Equal(t, []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 1000}, group[:11])
	require.Len(t, slices.Collect(filled(0, 200).group()), 1+maxImports)
}

func TestAGroupIsNoLargerThanItMay(t *testing.T) {
	q := filled(4*maxGroup, 10)
	require.Len(t, slices.Collect(q.group()), maxGroup)
	q.report(time.Millisecond)
	require.Len(t, slices.Collect(q.group()), maxGroup)
}

func TestLeavingAGroupLeavesTheRestForTheNext(t *testing.T) {
	q := filled(5, 0)
	for n := range q.group() {
		if n == 2 {
			break
		}
	}
	q.report(time.Millisecond)
	require.Equal(t, []int{3, 4}, slices.Collect(q.group()))
}

func TestWhoComesAgainAtOnceIsInTheNextGroupWhenItIsBusy(t *testing.T) {
	q := filled(2, 0)
	require.Len(t, slices.Collect(q.group()), 2)
	q.report(time.Hour) // so that only the limit ends the wait
	q.people <- 7
	var group []int
	for n := range q.group() {
		if group = append(group, n); len(group) == 1 {
			q.people <- 8 // while the first is being decided
		}
	}
	require.Equal(t, []int{7, 8}, group)
}

func TestWhatWasQueuedBeforeTheEndIsStillServed(t *testing.T) {
	q := filled(2, 1)
	close(q.done)
	var all []int
	for group := slices.Collect(q.group()); len(group) > 0; group = slices.Collect(q.group()) {
		all = append(all, group...)
		q.report(time.Millisecond)
	}
	slices.Sort(all)
	require.Equal(t, []int{0, 1, 1000}, all)
}
