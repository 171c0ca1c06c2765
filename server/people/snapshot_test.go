package people_test

import (
	"bytes"
	"errors"
	"io"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

// restore puts a backup in the file's place.
func (h *house) restore(backup []byte) {
	h.t.Helper()
	require.NoError(h.t, h.Close())
	require.NoError(h.t, os.WriteFile(h.path, backup, 0o600))
	h.open()
}

func TestSnapshotCarriesAllButWhatMustNotComeBack(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	guess(t, h, iyer, tablet, morning)
	device, _, err := h.LetIn(north, morning)
	require.NoError(t, err)
	link, err := h.MakeLink(burn, vendor, morning)
	require.NoError(t, err)
	commitments := seal(t, h, name("L. Marsh"), name("Quillon Vantreight"))
	require.NoError(t, h.Erase(commitments[1:], evening))
	post(t, h, north, "a", "open channel", morning)
	session := signIn(t, h, marsh, tablet)
	code, _, err := h.MakeEnrolment(north, marsh, morning)
	require.NoError(t, err)
	setup, err := h.MakeSetup(morning)
	require.NoError(t, err)

	var backup bytes.Buffer
	require.NoError(t, h.Snapshot(&backup))
	require.Equal(t, []string{"people.db"}, h.files())
	requireOpen(t, h, session) // the store itself lost nothing
	h.restore(backup.Bytes())

	requireSignedIn(t, h, marsh, tablet, goodPIN)
	_, err = h.Device(device)
	require.NoError(t, err)
	_, err = h.Link(link, morning)
	require.NoError(t, err)
	require.Equal(t, "L. Marsh", string(reveal(t, h, commitments[0]).Value.Bytes))
	require.Equal(t, people.Erased, reveal(t, h, commitments[1]).Status)
	require.Equal(t, []string{"open channel"}, bodies(t, h, north))
	refusals, err := h.Refusals(10)
	require.NoError(t, err)
	require.Len(t, refusals, 1)

	requireOver(t, h, session)
	_, err = h.UseEnrolment(code, morning)
	requireCode(t, fault.Invalid, err)
	requireCode(t, fault.Gone, h.CheckSetup(setup, morning))
}

func TestSnapshotHoldsNothingWhileItsReaderIsSlow(t *testing.T) {
	h := newHouse(t)
	seal(t, h, name("before"))
	r, w := io.Pipe()
	done := make(chan error, 1)
	go func() { done <- errors.Join(h.Snapshot(w), w.Close()) }()

	first := make([]byte, 4096)
	_, err := io.ReadFull(r, first)
	require.NoError(t, err)
	// The reader stands still: changes, even a rewrite, go through.
	during := seal(t, h, name("during"))
	require.NoError(t, h.Erase(during, morning))
	require.Equal(t, []string{"people.db"}, h.files())

	rest, err := io.ReadAll(r)
	require.NoError(t, err)
	require.NoError(t, <-done)
	backup := append(first, rest...)
	require.Contains(t, string(backup), "before")
	require.NotContains(t, string(backup), "during")
	h.restore(backup)
}

func TestSnapshotTellsWhenItsReaderGaveUp(t *testing.T) {
	h := newHouse(t)
	r, w := io.Pipe()
	require.NoError(t, r.CloseWithError(io.ErrClosedPipe))
	require.ErrorIs(t, h.Snapshot(w), io.ErrClosedPipe)
	require.Equal(t, []string{"people.db"}, h.files())
}

// Everybody at once, with rewrites in between: what was confirmed is there.
func TestReadersAndWritersGoOnDuringRewrites(t *testing.T) {
	h := newHouse(t)
	stays := seal(t, h, name("L. Marsh"))[0]
	token := signIn(t, h, marsh, tablet)
	stop := make(chan struct{})
	failed := make(chan error, 3)
	busy := func(work func() error) {
		go func() {
			for {
				select {
				case <-stop:
					failed <- nil
					return
				default:
				}
				if err := work(); err != nil {
					failed <- err
					return
				}
			}
		}()
	}
	var sealed [][32]byte
	busy(func() error {
		commitments, err := h.Seal(morning, name("colleague"))
		sealed = append(sealed, commitments...)
		return err
	})
	busy(func() error {
		r, err := h.Reveal(stays)
		if err == nil && r.Status != people.Present {
			err = errors.New("a value that stays is " + string(r.Status))
		}
		_, sessionErr := h.Session(token, morning)
		return errors.Join(err, sessionErr)
	})
	busy(func() error { return h.Snapshot(io.Discard) })
	for range 20 {
		gone := seal(t, h, name("Quillon Vantreight"))
		reveal(t, h, gone[0])
		require.NoError(t, h.Erase(gone, evening))
		require.Equal(t, people.Erased, reveal(t, h, gone[0]).Status)
	}
	close(stop)
	for range 3 {
		require.NoError(t, <-failed)
	}
	require.False(t, h.inFolder([]byte("Quillon Vantreight")))
	require.NotEmpty(t, sealed)
	for _, commitment := range sealed {
		require.Equal(t, people.Present, reveal(t, h, commitment).Status)
	}
}
