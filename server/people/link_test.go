package people_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

var (
	burn    = people.ID{0xb1}
	channel = people.ID{0xb2}
	vendor  = people.ID{0xa1}
)

const fortnight = 14 * 24 * time.Hour

func TestLinkServesUntilItsProblemIsOver(t *testing.T) {
	h := newHouse(t)
	token, err := h.MakeLink(burn, vendor, morning)
	require.NoError(t, err)
	again, err := h.MakeLink(burn, vendor, evening)
	require.NoError(t, err)
	other, err := h.MakeLink(channel, vendor, morning)
	require.NoError(t, err)
	require.False(t, h.inFolder([]byte(token)), "only its hash is stored")

	want := people.Link{Problem: burn, Addressee: vendor, Made: morning.UTC(),
		Until: morning.Add(fortnight).UTC()}
	for range 3 { // looking uses nothing up
		got, err := h.Link(token, morning.Add(fortnight-time.Millisecond))
		require.NoError(t, err)
		require.Equal(t, want, got)
		h.restart()
	}
	_, err = h.Link(token, morning.Add(fortnight))
	requireCode(t, fault.Gone, err)
	_, err = h.Link("", morning)
	requireCode(t, fault.Gone, err)

	require.NoError(t, h.EndLinks(burn))
	h.restart()
	for _, ended := range []string{token, again} {
		_, err = h.Link(ended, morning)
		requireCode(t, fault.Gone, err)
	}
	_, err = h.Link(other, morning)
	require.NoError(t, err)
}

func TestLinksThatRanOutLeaveTheFile(t *testing.T) {
	h := newHouse(t)
	token, err := h.MakeLink(burn, vendor, morning)
	require.NoError(t, err)
	_, err = h.MakeLink(channel, vendor, morning.Add(fortnight))
	require.NoError(t, err)
	_, err = h.Link(token, morning)
	requireCode(t, fault.Gone, err)
}

func TestSetup(t *testing.T) {
	const half = 30 * time.Minute
	t.Run("works for half an hour, over a restart, until used", func(t *testing.T) {
		h := newHouse(t)
		token, err := h.MakeSetup(morning)
		require.NoError(t, err)
		h.restart()
		require.NoError(t, h.CheckSetup(token, morning.Add(half-time.Second)))
		requireCode(t, fault.Gone, h.CheckSetup(token, morning.Add(half)))
		requireCode(t, fault.Gone, h.UseSetup(token, morning.Add(half)))

		require.NoError(t, h.UseSetup(token, morning))
		requireCode(t, fault.Gone, h.UseSetup(token, morning))
		h.restart()
		requireCode(t, fault.Gone, h.CheckSetup(token, morning))
	})
	t.Run("ends with the first administrator", func(t *testing.T) {
		h := newHouse(t)
		token, err := h.MakeSetup(morning)
		require.NoError(t, err)
		require.NoError(t, h.EndSetup())
		requireCode(t, fault.Gone, h.CheckSetup(token, morning))
		require.NoError(t, h.EndSetup(), "with none is no error")
	})
	t.Run("is the newest one only", func(t *testing.T) {
		h := newHouse(t)
		old, err := h.MakeSetup(morning)
		require.NoError(t, err)
		token, err := h.MakeSetup(morning)
		require.NoError(t, err)
		requireCode(t, fault.Gone, h.CheckSetup(old, morning))
		require.NoError(t, h.CheckSetup(token, morning))
	})
	t.Run("lets one of two win", func(t *testing.T) {
		h := newHouse(t)
		token, err := h.MakeSetup(morning)
		require.NoError(t, err)
		var all sync.WaitGroup
		var won atomic.Int32
		for range 8 {
			all.Go(func() {
				if h.UseSetup(token, morning) == nil {
					won.Add(1)
				}
			})
		}
		all.Wait()
		require.EqualValues(t, 1, won.Load())
	})
}
