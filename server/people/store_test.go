package people_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/people"
)

// Wednesday 25 November 2026, 06:00 in a time zone that is not UTC, so that
// what comes back is seen to be a moment and not a label.
var morning = time.Date(2026, 11, 25, 6, 0, 0, 0, time.FixedZone("", -5*3600))

var (
	marsh  = people.ID{1}
	iyer   = people.ID{2}
	nobody = people.ID{9}

	tablet = people.ID{0xd1}
	phone  = people.ID{0xd2}

	north = people.ID{0xe1}
	south = people.ID{0xe2}
)

// quick makes a PIN cost next to nothing.
var quick = people.Argon{Memory: 64, Time: 1, Threads: 1}

func options() people.Options {
	return people.Options{Pepper: []byte("pepper of the test, 32 bytes long"), Argon: quick}
}

// house is a store that can be closed and opened again. It is verified at the
// end of every test.
type house struct {
	*people.Store
	t    testing.TB
	path string
}

func newHouse(t testing.TB) *house {
	t.Helper()
	h := &house{t: t, path: filepath.Join(t.TempDir(), "people.db")}
	h.open()
	t.Cleanup(func() {
		require.NoError(t, h.Verify())
		require.NoError(t, h.Close())
	})
	return h
}

func (h *house) open() {
	h.t.Helper()
	store, err := people.Open(h.path, options())
	require.NoError(h.t, err)
	h.Store = store
}

func (h *house) restart() {
	h.t.Helper()
	require.NoError(h.t, h.Close())
	h.open()
}

// raw closes the store and changes its file behind its back.
func (h *house) raw(edit func(tx *bbolt.Tx) error) {
	h.t.Helper()
	require.NoError(h.t, h.Close())
	change(h.t, h.path, edit)
}

func change(t testing.TB, path string, edit func(tx *bbolt.Tx) error) {
	t.Helper()
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{Timeout: time.Second})
	require.NoError(t, err)
	require.NoError(t, db.Update(edit))
	require.NoError(t, db.Close())
}

// inFolder reports whether any file of the store's folder contains b.
func (h *house) inFolder(b []byte) bool {
	h.t.Helper()
	entries, err := os.ReadDir(filepath.Dir(h.path))
	require.NoError(h.t, err)
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(filepath.Dir(h.path), e.Name()))
		require.NoError(h.t, err)
		if bytes.Contains(data, b) {
			return true
		}
	}
	return false
}

func (h *house) stat() os.FileInfo {
	h.t.Helper()
	info, err := os.Stat(h.path)
	require.NoError(h.t, err)
	return info
}

// files names what lies in the store's folder.
func (h *house) files() (names []string) {
	entries, err := os.ReadDir(filepath.Dir(h.path))
	require.NoError(h.t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func requireCode(t testing.TB, code fault.Code, err error) {
	t.Helper()
	require.Error(t, err)
	require.Equal(t, code, fault.CodeOf(err), "%v", err)
}

func requireWait(t testing.TB, want time.Duration, err error) {
	t.Helper()
	got, ok := people.RetryAfter(err)
	require.True(t, ok, "%v tells no wait", err)
	require.Equal(t, want, got)
}

func TestOpenRefuses(t *testing.T) {
	t.Run("a pepper that is too short to be one", func(t *testing.T) {
		_, err := people.Open(filepath.Join(t.TempDir(), "people.db"),
			people.Options{Pepper: make([]byte, 15)})
		require.ErrorContains(t, err, "pepper")
	})
	t.Run("a cost no PIN can have", func(t *testing.T) {
		o := options()
		o.Argon.Threads = 0
		_, err := people.Open(filepath.Join(t.TempDir(), "people.db"), o)
		require.ErrorContains(t, err, "cost")
	})
	t.Run("a file that somebody else holds", func(t *testing.T) {
		h := newHouse(t)
		_, err := people.Open(h.path, options())
		requireCode(t, fault.Busy, err)
		require.ErrorContains(t, err, "Another process holds")
	})
	t.Run("a missing folder", func(t *testing.T) {
		_, err := people.Open(filepath.Join(t.TempDir(), "no", "people.db"), options())
		require.ErrorIs(t, err, os.ErrNotExist)
	})
	t.Run("a file of another release, and lets go of it", func(t *testing.T) {
		h := newHouse(t)
		h.raw(setFormat(2))
		_, err := people.Open(h.path, options())
		require.ErrorContains(t, err, "another release")
		change(t, h.path, setFormat(1))
		h.open()
	})
}

func setFormat(v byte) func(tx *bbolt.Tx) error {
	return func(tx *bbolt.Tx) error {
		return tx.Bucket([]byte("meta")).Put([]byte("format"), []byte{v})
	}
}

func TestOpenRefusesADamagedFile(t *testing.T) {
	for name, damage := range map[string]func(path string) error{
		"empty":       func(path string) error { return os.Truncate(path, 0) },
		"cut":         func(path string) error { return os.Truncate(path, 4*4096) },
		"cut short":   func(path string) error { return os.Truncate(path, 2*4096) },
		"not a store": func(path string) error { return os.WriteFile(path, make([]byte, 65536), 0o600) },
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "people.db")
			s, err := people.Open(path, options())
			require.NoError(t, err)
			_, err = s.Seal(morning, people.Value{Domain: "note", Bytes: make([]byte, 60_000)})
			require.NoError(t, err)
			require.NoError(t, s.Close())
			require.NoError(t, damage(path))

			_, err = people.Open(path, options())
			require.Error(t, err)
			require.ErrorContains(t, err, "people")
		})
	}
}

func TestOpenClearsWhatAKilledProcessLeft(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.Close())
	for _, suffix := range []string{".new", ".snapshot"} {
		require.NoError(t, os.WriteFile(h.path+suffix, []byte("half a copy"), 0o600))
	}
	h.open()
	require.Equal(t, []string{"people.db"}, h.files())
}

func TestTheFileIsForItsOwnerOnly(t *testing.T) {
	h := newHouse(t)
	value := people.Value{Domain: "note", Bytes: []byte("x")}
	commitments, err := h.Seal(morning, value)
	require.NoError(t, err)
	require.NoError(t, h.Erase(commitments, morning)) // puts another file in its place
	require.Equal(t, os.FileMode(0o600), h.stat().Mode().Perm())
}
