package durable_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tidemark/server/durable"
	"tidemark/server/durable/faulty"
)

const before, after = "what was acknowledged before", "the new content, a little longer"

// everyFault runs act on a disk one call of which fails, for each of the calls
// it makes when none does, each error and both endings.
func everyFault(t *testing.T, act func(t *testing.T, w durable.Writer) error,
	check func(t *testing.T, failed string, d *faulty.Disk, err error)) {
	sound := &faulty.Disk{}
	t.Run("none", func(t *testing.T) { require.NoError(t, act(t, durable.Writer{Files: sound})) })
	for i, call := range sound.Calls() {
		for _, number := range []unix.Errno{unix.EIO, unix.ENOSPC, unix.EROFS} {
			for _, done := range []bool{false, true} {
				name := fmt.Sprintf("%d %s %s done=%v", i+1, call, unix.ErrnoName(number), done)
				t.Run(name, func(t *testing.T) {
					d := &faulty.Disk{At: i + 1, Err: number, Done: done}
					err := act(t, durable.Writer{Files: d})
					require.ErrorIs(t, err, number, "a failure is never passed over")
					full := number != unix.EIO && !strings.HasPrefix(call, "sync")
					require.Equal(t, full, durable.NoRoom(err))
					check(t, call, d, err)
				})
			}
		}
	}
}

func TestAFailedWriteFileLeavesTheOldFileOrTheNew(t *testing.T) {
	var dir string
	act := func(t *testing.T, w durable.Writer) error {
		dir = t.TempDir()
		require.NoError(t, durable.WriteFile(dir, "anchor", []byte(before)))
		return w.WriteFile(dir, "anchor", []byte(after))
	}
	everyFault(t, act, func(t *testing.T, failed string, d *faulty.Disk, _ error) {
		want := before
		if failed == "sync folder" || failed == "rename" && d.Done {
			want = after
		}
		require.Equal(t, want, content(t, filepath.Join(dir, "anchor")))
		if failed != "create" || !d.Done { // then nobody was told its name
			require.Equal(t, []string{"anchor"}, names(t, dir), "nothing is left behind")
		}

		require.NoError(t, durable.WriteFile(dir, "anchor", []byte(after)), "a retry is safe")
		require.Equal(t, after, content(t, filepath.Join(dir, "anchor")))
	})
}

func TestAFailedPutLosesNothingThatWasAcknowledged(t *testing.T) {
	var f *durable.Folder
	var kept string
	act := func(t *testing.T, w durable.Writer) error {
		sound, dir := openFolder(t)
		kept = put(t, sound, before)
		var err error
		if f, err = w.OpenFolder(dir); err != nil {
			f = sound
			return err
		}
		_, err = f.Put([]byte(after))
		f = sound
		return err
	}
	everyFault(t, act, func(t *testing.T, _ string, _ *faulty.Disk, _ error) {
		data, err := f.Read(kept)
		require.NoError(t, err)
		require.Equal(t, before, string(data))
		require.NoError(t, f.Walk(func(name string, _ fs.FileInfo) error {
			_, err := f.Read(name)
			return err
		}), "whatever is there is whole")
		data, err = f.Read(put(t, f, after))
		require.NoError(t, err)
		require.Equal(t, after, string(data), "a retry is safe")
	})
}

func TestAFailedPutOfWhatIsThereOrDeleteCanBeRepeated(t *testing.T) {
	for name, try := range map[string]func(*durable.Folder) error{
		"put":    func(f *durable.Folder) error { _, err := f.Put([]byte("abc")); return err },
		"delete": func(f *durable.Folder) error { return f.Delete(abc) },
	} {
		t.Run(name, func(t *testing.T) {
			var sound *durable.Folder
			act := func(t *testing.T, w durable.Writer) error {
				var dir string
				sound, dir = openFolder(t)
				put(t, sound, "abc")
				f, err := w.OpenFolder(dir)
				if err != nil {
					return err
				}
				return try(f)
			}
			everyFault(t, act, func(t *testing.T, _ string, _ *faulty.Disk, _ error) {
				require.NoError(t, try(sound))
				has, err := sound.Has(abc)
				require.NoError(t, err)
				require.Equal(t, name == "put", has)
			})
		})
	}
}

func TestATempThatCannotBeRemovedIsReportedAndSweptLater(t *testing.T) {
	dir := t.TempDir()
	twice := brokenTwice{&faulty.Disk{At: 2, Err: unix.ENOSPC}}
	err := durable.Writer{Files: twice}.WriteFile(dir, "anchor", []byte(after))
	require.ErrorIs(t, err, unix.ENOSPC)
	require.ErrorIs(t, err, unix.EIO)
	require.True(t, durable.NoRoom(err), "nothing was stored, room is the reason")
	n, err := durable.Sweep(dir)
	require.NoError(t, err)
	require.Equal(t, 1, n)
}

// brokenTwice also fails to remove.
type brokenTwice struct{ *faulty.Disk }

func (brokenTwice) Remove(name string) error {
	return &fs.PathError{Op: "remove", Path: name, Err: unix.EIO}
}

func TestNoRoomIsToldFromAllElse(t *testing.T) {
	write := func(number error) error {
		return fmt.Errorf("write: %w", &fs.PathError{Op: "write", Err: number})
	}
	for name, c := range map[string]struct {
		err  error
		want bool
	}{
		"no error":            {nil, false},
		"disk full":           {write(unix.ENOSPC), true},
		"over quota":          {write(unix.EDQUOT), true},
		"file too large":      {write(unix.EFBIG), true},
		"read-only":           {write(unix.EROFS), true},
		"input/output":        {write(unix.EIO), false},
		"full while renaming": {&os.LinkError{Op: "rename", Err: unix.ENOSPC}, true},
		"full while growing":  {os.NewSyscallError("fallocate", unix.ENOSPC), true},
		"full in a sync":      {&fs.PathError{Op: "sync", Err: unix.ENOSPC}, false},
		"full in fdatasync":   {fmt.Errorf("commit: %w", unix.ENOSPC), false},
		"another error":       {errors.New("no space left on device"), false},
	} {
		require.Equal(t, c.want, durable.NoRoom(c.err), name)
	}
}

// content reads a file that must be there.
func content(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}
