package people

import (
	"path/filepath"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
)

func TestLaneRunsTwoHoldsEightAndRefusesTheRest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := newLane(argonRunning, argonWaiting)
		running, done := make(chan int, 100), make(chan struct{})
		for i := range argonRunning + argonWaiting {
			go func() {
				leave, err := l.enter()
				require.NoError(t, err)
				defer leave()
				running <- i
				<-done
			}()
		}
		synctest.Wait()
		require.Len(t, running, 2)
		_, err := l.enter()
		require.True(t, fault.Is(err, fault.Busy))
		_, waits := RetryAfter(err)
		require.True(t, waits)

		done <- struct{}{} // one leaves, the next comes in, and there is a place again
		synctest.Wait()
		require.Len(t, running, 3)
		require.Len(t, l.places, argonRunning+argonWaiting-1)

		close(done)
		synctest.Wait()
		require.Len(t, running, argonRunning+argonWaiting)
		require.Empty(t, l.places)
	})
}

func TestABusyLaneCountsNoTry(t *testing.T) {
	s := openInternal(t, filepath.Join(t.TempDir(), "people.db"))
	for range 3 {
		_, err := s.CheckPIN(ID{3}, ID{2}, "280417", someDay)
		require.True(t, fault.Is(err, fault.SignIn))
	}
	for range cap(s.lane.places) {
		s.lane.places <- struct{}{}
	}
	for range 5 {
		_, err := s.CheckPIN(ID{1}, ID{2}, "280417", someDay)
		require.True(t, fault.Is(err, fault.Busy))
	}
	_, err := s.CheckPIN(ID{3}, ID{2}, "280417", someDay)
	require.True(t, fault.Is(err, fault.TooMany), "who has to wait asks for no place")
	require.True(t, fault.Is(s.SetPIN(ID{1}, "280417", someDay), fault.Busy))
	for range cap(s.lane.places) {
		<-s.lane.places
	}
	require.NoError(t, s.SetPIN(ID{1}, "280417", someDay))
	_, err = s.CheckPIN(ID{1}, ID{2}, "280417", someDay)
	require.NoError(t, err)
}
