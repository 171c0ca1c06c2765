package people

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
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
	open := descriptors(t, path)
	require.Len(t, open, 1)
	require.NoError(t, syscall.Close(open[0]))
}

// descriptors returns those of this process that are open on a file.
func descriptors(t *testing.T, path string) (open []int) {
	t.Helper()
	links, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	for _, link := range links {
		if name, err := os.Readlink("/proc/self/fd/" + link.Name()); err != nil || name != path {
			continue
		}
		n, err := strconv.Atoi(link.Name())
		require.NoError(t, err)
		open = append(open, n)
	}
	return open
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

// Whoever waited for the lock of a file that a rewrite replaced gets the lock
// of something without a name.
func TestAWaiterNeverOwnsTheFileARewriteReplaced(t *testing.T) {
	path := filepath.Join(t.TempDir(), "people.db")
	old, err := openFile(path)
	require.NoError(t, err)
	waiter := make(chan error, 1)
	go func() {
		_, err := openFile(path)
		waiter <- err
	}()
	for len(descriptors(t, path)) < 2 {
		time.Sleep(time.Millisecond)
	}
	fresh, err := openFile(path + newSuffix)
	require.NoError(t, err)
	require.NoError(t, os.Rename(path+newSuffix, path))
	require.NoError(t, old.Close())
	require.True(t, fault.Is(<-waiter, fault.Busy))
	require.NoError(t, fresh.Close())
}

func TestARewrittenFileIsSyncedAtEachCommit(t *testing.T) {
	s := openInternal(t, filepath.Join(t.TempDir(), "people.db"))
	commitments, err := s.Seal(someDay, Value{"note", []byte("x")})
	require.NoError(t, err)
	require.NoError(t, s.Erase(commitments, someDay))
	require.False(t, s.db.NoSync)
	require.False(t, s.db.NoGrowSync)
}

func TestSessionsAreBounded(t *testing.T) {
	s := openInternal(t, filepath.Join(t.TempDir(), "people.db"))
	require.NoError(t, s.update(func(tx *bbolt.Tx) error {
		for n := range maxSessions {
			key := tokenKey(fmt.Sprint(n))
			until := someDay.Add(time.Hour + time.Duration(n)*time.Second)
			row := sessionRow{Person: ID{1}, Until: stamp(until)}
			s.sessions.put(key, row.session())
			if err := tx.Bucket(bucketSessions).Put(key[:], pack(row)); err != nil {
				return err
			}
		}
		return nil
	}))
	token, err := s.StartSession(ID{2}, ID{3}, someDay, someDay.Add(time.Minute))
	require.NoError(t, err)
	_, err = s.Session(token, someDay)
	require.NoError(t, err)
	_, err = s.Session("0", someDay)
	require.Error(t, err, "it would have ended soonest")
	require.Len(t, s.sessions.all(), maxSessions)
	require.NoError(t, s.view(func(tx *bbolt.Tx) error {
		require.Equal(t, maxSessions, rows(tx.Bucket(bucketSessions)))
		return nil
	}))
}

func TestRevealedValuesInMemoryAreBounded(t *testing.T) {
	s := openInternal(t, filepath.Join(t.TempDir(), "people.db"))
	commitments, err := s.Seal(someDay, Value{"note", make([]byte, maxKept)},
		Value{"note", make([]byte, maxKept+1)})
	require.NoError(t, err)
	for n := range keepValues {
		s.revealed.put([32]byte{byte(n), byte(n >> 8), 1}, Revealed{})
	}
	for _, commitment := range commitments {
		r, err := s.Reveal(commitment)
		require.NoError(t, err)
		require.Equal(t, Present, r.Status)
	}
	require.Len(t, s.revealed.all(), keepValues)
	_, kept := s.revealed.get(commitments[1])
	require.False(t, kept, "too long to keep")
}

// A reader may have fetched a value just before it was erased, and keep it in
// memory just after: memory is emptied when the reader is done.
func TestMemoryIsEmptiedAfterTheReadersAreDone(t *testing.T) {
	s := openInternal(t, filepath.Join(t.TempDir(), "people.db"))
	s.swap.RLock()
	emptied := make(chan struct{})
	go func() {
		s.dropRevealed()
		close(emptied)
	}()
	time.Sleep(10 * time.Millisecond)
	s.revealed.put([32]byte{1}, Revealed{})
	s.swap.RUnlock()
	<-emptied
	require.Empty(t, s.revealed.all())
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
