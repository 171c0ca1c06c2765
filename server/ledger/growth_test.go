package ledger

import (
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"
	"golang.org/x/sys/unix"

	"tidemark/server/proof"
	"tidemark/server/record"
)

var grow = flag.Int("grow", 300_000, "how many records the growth benchmark goes up to")

// years is how long the house has written when its ledger is as long as the flag
// -grow says: 300 thousand records in ten years are those of some forty sealers, ten
// million those of more than a thousand.
const years = 10

// BenchmarkGrowth fills one ledger, ten thousand records first and then up to
// the flag -grow, evenly over ten years of its clock, and measures at each size:
// the start and the memory at rest of a process of its own, the ten newest records
// of a sealer, an append, an inclusion proof, and the bytes of the file. Starts are
// made by turns with those of a copy of the first size, and start-ratio is the
// median of what the pairs say, start-work-ratio the same of processor time.
//
//	go test -run xxx -bench Growth -benchtime 1x ./server/ledger -grow 10000000
func BenchmarkGrowth(b *testing.B) {
	g := &grown{b: b, dir: b.TempDir(), every: (years * 365 * 24 * time.Hour).Milliseconds() / int64(*grow)}
	g.clock.Store(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli())
	first := b.TempDir()
	sizes := []int{10_000}
	for size := 100_000; size < *grow; size *= 10 {
		sizes = append(sizes, size)
	}
	for _, size := range append(sizes, *grow) {
		b.Run(fmt.Sprintf("records=%d", size), func(b *testing.B) {
			g.b = b
			g.fill(size)
			if g.first == "" {
				g.first, g.then = first, g.clock.Load()
				require.NoError(b, os.CopyFS(g.first, os.DirFS(g.dir)))
			}
			for b.Loop() {
				g.measure()
			}
			b.ReportMetric(0, "ns/op")
		})
	}
}

// grown is a ledger that is being filled.
type grown struct {
	b     *testing.B
	dir   string
	first string // a copy of it at the first size
	every int64  // milliseconds of the clock from one record to the next
	clock atomic.Int64
	then  int64 // what the clock showed at the first size
	made  atomic.Int64
}

func (g *grown) options() Options {
	return Options{Dir: g.dir, Fold: benchFold(), Clock: func() time.Time {
		return time.UnixMilli(g.clock.Load())
	}}
}

// fill appends without syncing, which the figures do not rest on.
func (g *grown) fill(size int) {
	l, err := Open(g.options())
	require.NoError(g.b, err)
	l.db.NoSync = true
	var wait sync.WaitGroup
	for range 256 {
		wait.Go(func() {
			for g.made.Add(1) <= int64(size) {
				g.append(l)
			}
			g.made.Add(-1)
		})
	}
	wait.Wait()
	require.NoError(g.b, l.db.Sync())
	require.NoError(g.b, l.Close())
}

func (g *grown) append(l *Ledger) {
	at := time.UnixMilli(g.clock.Add(g.every))
	r := benchCheck(at, int(at.UnixMilli()/g.every))
	r.Seen = l.Size()
	if err := appendOne(l, r); err != nil {
		g.b.Error(err)
	}
}

func (g *grown) measure() {
	b := g.b
	var starts, ratios, works []float64
	var rest float64
	for range 15 {
		was := g.startAgain(g.first, g.then)
		is := g.startAgain(g.dir, g.clock.Load())
		starts, ratios = append(starts, is.took), append(ratios, is.took/was.took)
		works, rest = append(works, is.work/was.work), is.rest
	}
	b.ReportMetric(median(starts)/1e3, "start-ms")
	b.ReportMetric(median(ratios), "start-ratio")
	b.ReportMetric(median(works), "start-work-ratio")
	b.ReportMetric(rest, "rest-MB")
	l, err := Open(g.options())
	require.NoError(b, err)
	size, hashes := l.Hashes()
	b.ReportMetric(hot(func(n int64) {
		_, err := proof.ProveInclusion(size, []int64{n * n * 7919 % size}, hashes)
		require.NoError(b, err)
	}), "proof-us")
	b.ReportMetric(hot(func(n int64) {
		left := 10
		for _, err := range l.Chain(record.Subject{Type: record.Sealer, ID: record.ID{4, byte(n % 40)}}) {
			require.NoError(b, err)
			if left--; left == 0 {
				break
			}
		}
	}), "page-us")
	b.ReportMetric(perSecond(64, side{func(int, int) { g.append(l) }, func() {}}), "append/s")
	b.ReportMetric(float64(g.bytes())/float64(l.Size()), "bytes/record")
	g.made.Store(l.Size())
	require.NoError(b, l.Close())
}

// bytes is how much of the file is used.
func (g *grown) bytes() int64 {
	in, err := inspect(filepath.Join(g.dir, ledgerFile))
	require.NoError(g.b, err)
	return in.newest.pages * in.newest.pageSize
}

// hot runs f on 30 cases, then twenty times more, and returns the microseconds
// of one of those.
func hot(f func(n int64)) float64 {
	var began time.Time
	for round := range 21 {
		if round == 1 {
			began = time.Now()
		}
		for n := range int64(30) {
			f(n)
		}
	}
	return float64(time.Since(began).Microseconds()) / 600
}

// started is what a start took, in microseconds, and the memory that is its own
// at rest, in megabytes.
type started struct{ took, work, rest float64 }

// startAgain opens a ledger in a process of its own.
func (g *grown) startAgain(dir string, clock int64) (s started) {
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), childMode+"=rest", childDir+"="+dir, childClock+"="+strconv.FormatInt(clock, 10))
	child.Stderr = os.Stderr
	out, err := child.Output()
	require.NoError(g.b, err)
	_, err = fmt.Sscan(string(out), &s.took, &s.work, &s.rest)
	require.NoError(g.b, err)
	s.rest /= 1024
	return s
}

// openAndRest is the child of startAgain.
func openAndRest() {
	now, err := strconv.ParseInt(os.Getenv(childClock), 10, 64)
	must(err)
	began, worked := time.Now(), processorTime()
	l, err := Open(Options{Dir: os.Getenv(childDir), Fold: benchFold(),
		Clock: func() time.Time { return time.UnixMilli(now) }})
	must(err)
	took, work := time.Since(began), processorTime()-worked
	debug.FreeOSMemory()
	status, err := os.ReadFile("/proc/self/status")
	must(err)
	_, rest, _ := strings.Cut(string(status), "RssAnon:")
	fmt.Println(took.Microseconds(), work.Microseconds(), strings.Fields(rest)[0])
	must(l.Close())
}

func processorTime() time.Duration {
	var u unix.Rusage
	must(unix.Getrusage(unix.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkVerify compares a whole verification, and a start that has to fold
// everything again, with hashing the same bytes once by SHA-256.
func BenchmarkVerify(b *testing.B) {
	g := &grown{b: b, dir: b.TempDir(), every: 31_500}
	g.clock.Store(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli())
	g.fill(50_000)
	shape := benchFold().Shape
	for b.Loop() {
		began := time.Now()
		report, err := Verify(Verification{Dir: g.dir, Fold: benchFold()})
		require.NoError(b, err)
		verify := time.Since(began)

		o := g.options()
		shape++
		o.Fold.Shape = shape
		began = time.Now()
		l, err := Open(o)
		require.NoError(b, err)
		fold := time.Since(began)
		require.NoError(b, l.Close())

		sum := g.sum()
		b.ReportMetric(float64(verify)/float64(sum), "verify/sha256")
		b.ReportMetric(verify.Seconds()*1e6/float64(report.Size), "verify-s/million")
		b.ReportMetric(fold.Seconds()*1e6/float64(report.Size), "fold-s/million")
	}
	b.ReportMetric(0, "ns/op")
}

// sum is how long hashing every record takes.
func (g *grown) sum() time.Duration {
	db, err := openReadOnly(g.dir)
	require.NoError(g.b, err)
	defer db.Close()
	hash := sha256.New()
	began := time.Now()
	require.NoError(g.b, db.View(func(tx *bolt.Tx) error {
		return tx.Bucket(inRecords).ForEach(func(_, v []byte) error {
			hash.Write(v)
			return nil
		})
	}))
	return time.Since(began)
}

// BenchmarkSlowBackup compares the latency of 64 callers while a backup is read
// at a thousand bytes a second with that of undisturbed ones.
func BenchmarkSlowBackup(b *testing.B) {
	g := &grown{b: b, dir: b.TempDir(), every: 31_500}
	g.clock.Store(time.Now().UnixMilli())
	g.fill(20_000)
	l, err := Open(g.options())
	require.NoError(b, err)
	var ratios []float64
	for b.Loop() {
		alone := perSecond(64, side{func(int, int) { g.append(l) }, func() {}})
		w := &slow{quit: make(chan struct{}), first: make(chan struct{}, 1)}
		gone := make(chan struct{})
		go func() {
			defer close(gone)
			_, err := l.Backup(w, Backup{})
			require.ErrorIs(b, err, errEnough)
		}()
		<-w.first
		disturbed := perSecond(64, side{func(int, int) { g.append(l) }, func() {}})
		close(w.quit)
		<-gone
		ratios = append(ratios, alone/disturbed) // the latency of a fixed number of callers
	}
	b.ReportMetric(median(ratios), "latency-ratio")
	b.ReportMetric(0, "ns/op")
	require.NoError(b, l.Close())
}

// slow takes a thousand bytes a second.
type slow struct {
	quit  chan struct{}
	first chan struct{}
}

var errEnough = errors.New("enough")

func (s *slow) Write(b []byte) (int, error) {
	select {
	case s.first <- struct{}{}:
	default:
	}
	select {
	case <-s.quit:
		return 0, errEnough
	case <-time.After(time.Duration(len(b)) * time.Millisecond):
		return len(b), nil
	}
}
