package ledger

import (
	"context"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"tidemark/server/durable"
	"tidemark/server/record"
)

// The tests that kill a process, or trace one, start this test program again as
// a child that appends and says what was acknowledged.
const (
	childMode  = "TIDEMARK_TEST_CHILD"
	childDir   = "TIDEMARK_TEST_DIR"
	childClock = "TIDEMARK_TEST_CLOCK"
)

func TestMain(m *testing.M) {
	switch mode := os.Getenv(childMode); mode {
	case "":
		os.Exit(m.Run())
	case "kill":
		appendUntilKilled()
	case "trace":
		appendWithPhotographs()
	case "verify":
		verifyAndExit()
	case "rest":
		openAndRest()
	}
}

func must(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(3)
	}
}

// appendUntilKilled appends from 16 callers and writes each acknowledged id to
// standard output. A byte shared with the parent is 1 from the first write of a
// commit until the next group is staged, which is at once when 16 callers wait.
func appendUntilKilled() {
	dir := os.Getenv(childDir)
	flag := openFlag(filepath.Join(dir, "..", "flag"))
	fold := benchFold()
	evolve := fold.Evolve
	fold.Evolve = func(s record.Stage, r *record.Record) {
		flag[0] = 0
		evolve(s, r)
	}
	l, err := Open(Options{Dir: dir, Fold: fold})
	must(err)
	f := faulty(l)
	write := *f.write
	*f.write = func(b []byte, off int64) (int, error) {
		flag[0] = 1
		return write(b, off)
	}
	var wait sync.WaitGroup
	for caller := range 16 {
		wait.Go(func() {
			for n := 0; ; n++ {
				r := benchCheck(time.Now(), caller+n)
				must(appendOne(l, r))
				_, err := os.Stdout.WriteString(r.ID.String() + "\n")
				must(err)
			}
		})
	}
	wait.Wait()
}

func openFlag(name string) []byte {
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o600)
	must(err)
	must(f.Truncate(1))
	b, err := unix.Mmap(int(f.Fd()), 0, 1, unix.PROT_READ|unix.PROT_WRITE, unix.MAP_SHARED)
	must(err)
	return b
}

func appendOne(l *Ledger, r record.Record) error {
	_, err := l.Append(context.Background(), Command{ID: r.ID, Content: &r,
		Decide: func(record.View, record.Time) ([]Draft, error) {
			return []Draft{{Record: r, Outbox: []Message{{To: r.By}}}}, nil
		}})
	return err
}

// tracedAppends is how many records the traced child makes.
const tracedAppends = 60

// appendWithPhotographs makes a ledger and appends to it, from four callers at a
// time, records that name a photograph put beside it before.
func appendWithPhotographs() {
	dir := os.Getenv(childDir)
	l, err := Open(Options{Dir: dir, Fold: benchFold()})
	must(err)
	photos, err := durable.OpenFolder(filepath.Join(dir, "photos"))
	must(err)
	random := rand.New(rand.NewPCG(1, 2))
	for n := 0; n < tracedAppends; n += 4 {
		var wait sync.WaitGroup
		for i := range 4 {
			photo := make([]byte, 1+random.IntN(5000))
			photo[0] = byte(n + i)
			wait.Go(func() {
				name, err := photos.Put(photo)
				must(err)
				r := benchCheck(time.Now(), n+i)
				r.Sealed = record.Sealed{"photo": commitment(name)}
				must(appendOne(l, r))
				_, err = os.Stdout.WriteString("ack " + r.ID.String() + "\n")
				must(err)
			})
		}
		wait.Wait()
	}
	must(l.Close())
}

func commitment(name string) (c record.Commitment) {
	_, err := hex.Decode(c[:], []byte(name))
	must(err)
	return c
}
