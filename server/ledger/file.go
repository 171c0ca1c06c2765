package ledger

import (
	"fmt"
	"os"
	"sync/atomic"
)

// openFile watches over the file that the store has open. Somebody may remove,
// replace or cut it meanwhile; then commits would go to where nobody finds them,
// or end in a signal.
type openFile struct {
	name   string
	last   os.FileInfo
	length atomic.Int64
}

func watchFile(name string) (*openFile, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, fmt.Errorf("watch store: %w", err)
	}
	f := &openFile{name: name, last: info}
	f.length.Store(info.Size())
	return f, nil
}

// check reports whether the file is still there, the same and no shorter. It
// costs a microsecond, before commits that cost hundreds.
func (f *openFile) check() error {
	info, err := os.Stat(f.name)
	switch {
	case err != nil:
		return fmt.Errorf("look at open store: %w", err)
	case !os.SameFile(info, f.last):
		return fmt.Errorf("look at open store: %s was replaced", f.name)
	case info.Size() < f.last.Size():
		return fmt.Errorf("look at open store: %s was cut from %d to %d bytes",
			f.name, f.last.Size(), info.Size())
	}
	f.last = info
	f.length.Store(info.Size())
	return nil
}

// size is the length of the file before the last commit.
func (f *openFile) size() int64 { return f.length.Load() }
