package people_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

// guess tries a wrong PIN and requires that it was looked at.
func guess(t testing.TB, h *house, person, device people.ID, now time.Time) error {
	t.Helper()
	_, err := h.CheckPIN(person, device, wrongPIN, now)
	requireCode(t, fault.SignIn, err)
	return err
}

// NIST SP 800-63B, 5.2.2: waits that grow "e.g., 30 seconds up to an hour", and
// no more than 100 failures in a row (the 100 from a published summary, the
// example of the waits from memory).
func TestWrongPINsAreSlowed(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	now := morning
	for i, wait := range []time.Duration{
		0, 0, 30 * time.Second, time.Minute, 2 * time.Minute, 4 * time.Minute, 8 * time.Minute,
		16 * time.Minute, 32 * time.Minute, time.Hour, time.Hour,
	} {
		err := guess(t, h, marsh, tablet, now)
		if wait == 0 {
			_, waits := people.RetryAfter(err)
			require.False(t, waits, "miss %d", i+1)
			continue
		}
		requireWait(t, wait, err)

		// One second early even the right one is not looked at.
		_, err = h.CheckPIN(marsh, tablet, goodPIN, now.Add(wait-time.Second))
		requireCode(t, fault.TooMany, err)
		requireWait(t, time.Second, err)
		require.ErrorContains(t, err, "Try again in 1 second.")
		now = now.Add(wait)
	}
}

func TestWrongPINsAreCountedOverARestart(t *testing.T) {
	h := newHouse(t)
	for range 4 {
		_, _ = h.CheckPIN(marsh, tablet, wrongPIN, morning)
	}
	h.restart()
	_, err := h.CheckPIN(marsh, tablet, wrongPIN, morning)
	requireCode(t, fault.TooMany, err)
	requireWait(t, 30*time.Second, err)
}

func TestWrongPINsSlowOnePersonOnOneDevice(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	require.NoError(t, h.SetPIN(iyer, goodPIN, morning))
	for range 3 {
		guess(t, h, marsh, tablet, morning)
	}
	_, err := h.CheckPIN(marsh, tablet, goodPIN, morning)
	requireCode(t, fault.TooMany, err)
	requireSignedIn(t, h, marsh, phone, goodPIN)
	requireSignedIn(t, h, iyer, tablet, goodPIN)

	_, err = h.CheckPIN(marsh, tablet, goodPIN, morning)
	requireCode(t, fault.TooMany, err) // the other device ended nothing here
}

func TestARightPINEndsTheRow(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	for range 10 {
		guess(t, h, marsh, tablet, morning)
		guess(t, h, marsh, tablet, morning)
		requireSignedIn(t, h, marsh, tablet, goodPIN)
	}
}

func TestANewPINLiftsTheWait(t *testing.T) {
	h := newHouse(t)
	for _, device := range []people.ID{tablet, phone} {
		for range 3 {
			guess(t, h, marsh, device, morning)
			guess(t, h, iyer, device, morning)
		}
	}
	pin, err := h.ResetPIN(marsh, morning)
	require.NoError(t, err)
	requireSignedIn(t, h, marsh, tablet, pin)
	requireSignedIn(t, h, marsh, phone, pin)
	_, err = h.CheckPIN(iyer, tablet, wrongPIN, morning)
	requireCode(t, fault.TooMany, err) // a neighbour in the file keeps hers
}

func TestAHundredWrongPINsLock(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	now := morning
	for range 100 {
		guess(t, h, marsh, tablet, now)
		now = now.Add(time.Hour)
	}
	_, err := h.CheckPIN(marsh, tablet, goodPIN, now.AddDate(10, 0, 0))
	requireCode(t, fault.TooMany, err)
	require.ErrorContains(t, err, "locked")
	_, waits := people.RetryAfter(err)
	require.False(t, waits, "waiting does not help")

	pin, err := h.ResetPIN(marsh, now)
	require.NoError(t, err)
	requireSignedIn(t, h, marsh, tablet, pin)
}

func TestGuessesAtTheSameTimeAreCountedOneByOne(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	codes := make(chan fault.Code, 8) // all find a place in the queue
	var all sync.WaitGroup
	for range cap(codes) {
		all.Go(func() {
			_, err := h.CheckPIN(marsh, tablet, wrongPIN, morning)
			codes <- fault.CodeOf(err)
		})
	}
	all.Wait()
	close(codes)
	seen := map[fault.Code]int{}
	for code := range codes {
		seen[code]++
	}
	require.Equal(t, map[fault.Code]int{fault.SignIn: 3, fault.TooMany: 5}, seen)
}

func TestAClockPutBackLocksNobodyOut(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	for range 3 {
		guess(t, h, marsh, tablet, morning)
	}
	yesterday := morning.AddDate(0, 0, -1)
	requireWait(t, time.Minute, guess(t, h, marsh, tablet, yesterday))
	_, err := h.CheckPIN(marsh, tablet, wrongPIN, yesterday)
	requireCode(t, fault.TooMany, err) // and gives one guess, not many
}
