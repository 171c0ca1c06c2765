package people

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

var someDay = time.Date(2026, 11, 25, 11, 0, 0, 0, time.UTC)

func openInternal(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(path, Options{Pepper: make([]byte, 32), Argon: Argon{64, 1, 1}})
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, s.Verify())
		require.NoError(t, s.Close())
	})
	return s
}

func TestFailed(t *testing.T) {
	write := func(cause error) error {
		return fmt.Errorf("commit: %w", &fs.PathError{Op: "write", Err: cause})
	}
	for name, c := range map[string]struct {
		err     error
		code    fault.Code
		suspect bool
	}{
		"a full disk stored nothing":          {write(syscall.ENOSPC), fault.Full, false},
		"a read-only disk stored nothing":     {write(syscall.EROFS), fault.Full, false},
		"a broken disk may have":              {write(syscall.EIO), fault.NotConfirmed, true},
		"a failed sync may have, if full too": {syscall.ENOSPC, fault.NotConfirmed, true},
	} {
		t.Run(name, func(t *testing.T) {
			s := &Store{path: filepath.Join(t.TempDir(), "people.db")}
			require.Equal(t, c.code, fault.CodeOf(s.failed(c.err)))
			require.Equal(t, c.suspect, s.suspect)
			_, err := os.Stat(s.path + suspectSuffix)
			require.Equal(t, c.suspect, err == nil)
		})
	}
}

// The disk is made to fail by closing the file under the store: the write comes
// back with an error that tells nothing about what was stored.
func TestAfterADoubtfulCommitNothingIsTakenUntilTheFileWasCopied(t *testing.T) {
	path := filepath.Join(t.TempDir(), "people.db")
	s, err := Open(path, Options{Pepper: make([]byte, 32)})
	require.NoError(t, err)
	kept, err := s.Seal(someDay, Value{"note", []byte("confirmed")})
	require.NoError(t, err)
	token, err := s.StartSession(ID{1}, ID{2}, someDay, someDay.Add(time.Hour))
	require.NoError(t, err)

	closeUnder(t, path)
	_, err = s.Seal(someDay, Value{"note", []byte("doubtful")})
	require.True(t, fault.Is(err, fault.NotConfirmed), "%v", err)
	_, err = s.Seal(someDay, Value{"note", []byte("refused")})
	require.True(t, fault.Is(err, fault.NotConfirmed), "%v", err)
	r, err := s.Reveal(kept[0])
	require.NoError(t, err)
	require.Equal(t, "confirmed", string(r.Value.Bytes), "reading goes on")
	require.Error(t, s.Close()) // the descriptor is gone

	before, err := os.Stat(path)
	require.NoError(t, err)
	s = openInternal(t, path)
	after, err := os.Stat(path)
	require.NoError(t, err)
	require.False(t, os.SameFile(before, after), "the file was copied")
	_, err = os.Stat(path + suspectSuffix)
	require.ErrorIs(t, err, fs.ErrNotExist)

	r, err = s.Reveal(kept[0])
	require.NoError(t, err)
	require.Equal(t, "confirmed", string(r.Value.Bytes))
	_, err = s.Session(token, someDay)
	require.NoError(t, err)
	_, err = s.Seal(someDay, Value{"note", []byte("taken again")})
	require.NoError(t, err)
}

// closeUnder closes this process's descriptor of a file.
func closeUnder(t *testing.T, path string) {
	t.Helper()
	fds, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	for _, fd := range fds {
		if name, err := os.Readlink("/proc/self/fd/" + fd.Name()); err == nil && name == path {
			var n int
			_, err := fmt.Sscan(fd.Name(), &n)
			require.NoError(t, err)
			require.NoError(t, syscall.Close(n))
			return
		}
	}
	t.Fatal("the file is not open")
}

// Rows of people who do not exist must not push out the long wait of one who
// does.
func TestMissesAreBounded(t *testing.T) {
	s := openInternal(t, filepath.Join(t.TempDir(), "people.db"))
	slowed := missKey(ID{1}, ID{2})
	require.NoError(t, s.update(func(tx *bbolt.Tx) error {
		b := tx.Bucket(bucketMisses)
		if err := b.Put(slowed, pack(misses{9, stamp(someDay)})); err != nil {
			return err
		}
		for n := range maxMisses - 1 {
			id := ID{0xff, byte(n >> 8), byte(n)}
			if err := b.Put(missKey(id, ID{2}), pack(misses{1, stamp(someDay)})); err != nil {
				return err
			}
		}
		return nil
	}))
	for n := range 20 {
		_, err := s.charge(ID{0xfe, byte(n)}, ID{2}, someDay.Add(time.Minute))
		require.NoError(t, err)
	}
	require.NoError(t, s.view(func(tx *bbolt.Tx) error {
		require.Equal(t, maxMisses, rows(tx.Bucket(bucketMisses)))
		require.NotNil(t, tx.Bucket(bucketMisses).Get(slowed))
		return nil
	}))
}

func TestASecondOwnerNeverGetsTheFileARewriteReplaced(t *testing.T) {
	path := filepath.Join(t.TempDir(), "people.db")
	s := openInternal(t, path)
	replaced, err := os.Open(path)
	require.NoError(t, err)
	defer replaced.Close()
	require.True(t, samePlace(path, replaced))

	commitments, err := s.Seal(someDay, Value{"note", []byte("x")})
	require.NoError(t, err)
	require.NoError(t, s.Erase(commitments, someDay))
	require.False(t, samePlace(path, replaced))
	_, err = openFile(path)
	require.True(t, fault.Is(err, fault.Busy), "the new file is held as the old one was")
}

func TestInWords(t *testing.T) {
	for wait, want := range map[time.Duration]string{
		0:                              "1 second",
		time.Second + time.Millisecond: "2 seconds",
		90 * time.Second:               "90 seconds",
		91 * time.Second:               "2 minutes",
		60*time.Minute - 1:             "60 minutes",
		90*time.Minute + time.Second:   "2 hours",
		25 * time.Hour:                 "25 hours",
	} {
		require.Equal(t, want, inWords(wait), wait.String())
	}
}
