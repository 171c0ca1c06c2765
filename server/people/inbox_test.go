package people_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

func post(t testing.TB, h *house, dept people.ID, poster, body string, now time.Time) people.ID {
	t.Helper()
	id, err := h.AddReport(dept, poster, []byte(body), now)
	require.NoError(t, err)
	return id
}

func bodies(t testing.TB, h *house, dept people.ID) (list []string) {
	t.Helper()
	reports, err := h.Reports(dept)
	require.NoError(t, err)
	for _, r := range reports {
		list = append(list, string(r.Body))
	}
	return list
}

func TestReportsWaitForTheirDepartment(t *testing.T) {
	h := newHouse(t)
	post(t, h, north, "a", "second", evening)
	post(t, h, north, "b", "first", morning)
	post(t, h, south, "a", "elsewhere", morning)
	h.restart()
	require.Equal(t, []string{"first", "second"}, bodies(t, h, north))
	require.Equal(t, []string{"elsewhere"}, bodies(t, h, south))
	require.Empty(t, bodies(t, h, people.ID{}))
}

func TestTakeReportLetsOneWin(t *testing.T) {
	h := newHouse(t)
	id := post(t, h, north, "a", "open channel", morning)

	var mu sync.Mutex
	var winner people.ID
	var losers []error
	var all sync.WaitGroup
	for n := range byte(8) {
		all.Go(func() {
			by := people.ID{1, n}
			_, err := h.TakeReport(id, by, morning)
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				winner = by
			} else {
				losers = append(losers, err)
			}
		})
	}
	all.Wait()
	require.Len(t, losers, 7)
	for _, err := range losers {
		requireCode(t, fault.Stale, err)
		var taken *people.TakenError
		require.True(t, errors.As(err, &taken))
		require.Equal(t, people.TakenError{By: winner, At: morning.UTC()}, *taken)
	}
}

func TestAReportIsKeptUntilItIsOnRecord(t *testing.T) {
	h := newHouse(t)
	id := post(t, h, north, "a", "open channel on sealer 2", morning)
	requireCode(t, fault.Stale, h.FinishReport(id)) // not before somebody took it
	for n := range 2 {                              // the taker may come back, even after a restart
		taken, err := h.TakeReport(id, marsh, evening.Add(time.Duration(n)*time.Hour))
		require.NoError(t, err)
		require.Equal(t, people.Report{ID: id, Dept: north, At: morning.UTC(),
			Body: []byte("open channel on sealer 2"), TakenBy: marsh, TakenAt: evening.UTC()}, taken)
		require.Equal(t, []string{"open channel on sealer 2"}, bodies(t, h, north))
		h.restart()
	}

	require.NoError(t, h.FinishReport(id))
	require.NoError(t, h.FinishReport(id), "twice is no error")
	require.Empty(t, bodies(t, h, north))
	_, err := h.TakeReport(id, marsh, evening)
	requireCode(t, fault.Gone, err)
	_, err = h.TakeReport(id, iyer, evening)
	var taken *people.TakenError
	require.True(t, errors.As(err, &taken), "still known who it was: %v", err)
	require.Equal(t, marsh, taken.By)

	_, err = h.Sweep(evening, func([32]byte) bool { return true })
	require.NoError(t, err)
	require.False(t, h.inFolder([]byte("open channel on sealer 2")))
	_, err = h.TakeReport(people.ID{}, marsh, evening)
	requireCode(t, fault.Gone, err)
}

func TestSweepFinishesReportsTakenLongAgo(t *testing.T) {
	h := newHouse(t)
	taken := post(t, h, north, "a", "taken", morning)
	_, err := h.TakeReport(taken, marsh, morning)
	require.NoError(t, err)
	post(t, h, north, "a", "nobody looked", morning)
	_, err = h.Sweep(evening, nil)
	require.NoError(t, err)
	require.Equal(t, []string{"nobody looked"}, bodies(t, h, north), "however long it waits")
	require.False(t, h.inFolder([]byte("taken")))
}

func TestAPosterIsSlowedAfterTwentyReportsAnHour(t *testing.T) {
	h := newHouse(t)
	for n := range 20 {
		post(t, h, north, "a", "x", morning.Add(time.Duration(n)*time.Minute))
	}
	h.restart()
	at := morning.Add(20 * time.Minute)
	_, err := h.AddReport(south, "a", nil, at)
	requireCode(t, fault.TooMany, err)
	requireWait(t, 40*time.Minute, err)
	post(t, h, north, "b", "another poster", at)

	post(t, h, north, "a", "an hour after the first", morning.Add(time.Hour))
	_, err = h.AddReport(north, "a", nil, morning.Add(time.Hour))
	requireWait(t, time.Minute, err)
}

func TestAFullInboxTakesNoMoreAndDropsNone(t *testing.T) {
	h := newHouse(t)
	for n := range 500 {
		post(t, h, north, fmt.Sprint(n), fmt.Sprint("report ", n), morning.Add(time.Duration(n)))
	}
	_, err := h.AddReport(north, "one more", nil, morning)
	requireCode(t, fault.TooMany, err)
	require.ErrorContains(t, err, "telephone")
	reports, err := h.Reports(north)
	require.NoError(t, err)
	require.Len(t, reports, 500)
	post(t, h, south, "one more", "another department", morning)

	_, err = h.TakeReport(reports[0].ID, marsh, morning)
	require.NoError(t, err)
	require.NoError(t, h.FinishReport(reports[0].ID))
	post(t, h, north, "one more", "there is room again", morning)
}

func TestAddReportRefusesALongBody(t *testing.T) {
	h := newHouse(t)
	_, err := h.AddReport(north, "a", bytes.Repeat([]byte{'x'}, 16<<10+1), morning)
	requireCode(t, fault.TooLarge, err)
}

func TestFinishedReportsLeaveTheFileAfterAMonth(t *testing.T) {
	h := newHouse(t)
	id := post(t, h, north, "a", "x", morning)
	_, err := h.TakeReport(id, marsh, morning)
	require.NoError(t, err)
	require.NoError(t, h.FinishReport(id))
	post(t, h, north, "a", "y", morning.AddDate(0, 0, 31))
	_, err = h.TakeReport(id, iyer, morning)
	requireCode(t, fault.Gone, err)
}

func TestRefusals(t *testing.T) {
	h := newHouse(t)
	for n := range 2003 {
		require.NoError(t, h.LogRefusal(people.Refusal{
			At: morning.Add(time.Duration(n) * time.Second), Person: marsh, Device: tablet,
			What: fmt.Sprint("refused ", n),
		}))
	}
	_, err := h.CheckPIN(iyer, phone, wrongPIN, evening)
	requireCode(t, fault.SignIn, err)
	h.restart()

	list, err := h.Refusals(5000)
	require.NoError(t, err)
	require.Len(t, list, 2000)
	want := people.Refusal{At: evening.UTC(), Person: iyer, Device: phone, What: "wrong PIN"}
	require.Equal(t, want, list[0])
	require.Equal(t, "refused 2002", list[1].What)
	require.Equal(t, "refused 4", list[1999].What)
	list, err = h.Refusals(2)
	require.NoError(t, err)
	require.Len(t, list, 2)
}

func TestARefusalsTextIsCutBetweenLetters(t *testing.T) {
	h := newHouse(t)
	long := people.Refusal{At: morning, What: "x" + strings.Repeat("ä", 60)}
	require.NoError(t, h.LogRefusal(long))
	list, err := h.Refusals(1)
	require.NoError(t, err)
	require.Equal(t, "x"+strings.Repeat("ä", 49), list[0].What)
}
