package post_test

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/post"
	"tidemark/server/record"
)

// These run on real connections, in real time, with a clock that is moved.

type movedClock struct{ ahead atomic.Int64 }

func (c *movedClock) now() time.Time       { return time.Now().Add(time.Duration(c.ahead.Load())) }
func (c *movedClock) move(d time.Duration) { c.ahead.Add(int64(d)) }

func eventually(t *testing.T, ok func() bool) {
	t.Helper()
	require.Eventually(t, ok, 20*time.Second, 2*time.Millisecond)
}

func (b *box) empty() bool {
	list, err := b.Ledger.Pending(1)
	return err == nil && len(list) == 0
}

func runUntilStopped(w *post.Worker) (stop func()) {
	ctx, cancel := context.WithCancel(context.Background())
	over := make(chan struct{})
	go func() {
		w.Run(ctx)
		close(over)
	}()
	return func() {
		cancel()
		<-over
	}
}

// arrived returns the Message-IDs and, by addressee, the subjects.
func arrived(t *testing.T, s *mailServer) (ids map[string]int, subjects map[string][]string) {
	ids, subjects = map[string]int{}, map[string][]string{}
	for _, m := range s.mails() {
		h := m.message(t).Header
		ids[h.Get("Message-ID")]++
		subjects[m.to] = append(subjects[m.to], h.Get("Subject"))
	}
	return ids, subjects
}

func TestAMailServerThatWasDownForADayGetsEachMailOnceInOrder(t *testing.T) {
	dir := t.TempDir()
	b := openBox(t, dir)
	defer closeBox(t, b, dir)
	var s mailServer
	s.start(t, nil, nil)
	s.stop()
	var clock movedClock
	w := post.New(post.Options{Outbox: b, Author: author{box: b}, Mail: s.sender(t), Clock: clock.now})
	stop := runUntilStopped(w)
	defer stop()

	var want []string
	for n := range 48 {
		b.tell(t, n%2, ada, bruno)
		want = append(want, fmt.Sprint(n))
		tries := func() (sum int) {
			for _, wait := range w.Waiting() {
				sum += wait.Tries
			}
			return sum
		}
		before := tries()
		clock.move(30 * time.Minute)
		w.Wake()
		eventually(t, func() bool { return tries() >= before+2 || n == 0 && tries() > 0 })
	}
	require.Empty(t, s.mails())

	s.start(t, nil, nil)
	clock.move(15 * time.Minute)
	w.Wake()
	eventually(t, b.empty)
	ids, subjects := arrived(t, &s)
	require.Len(t, ids, 2*48)
	require.Equal(t, want, subjects[ada.String()+"@tide.example"])
	require.Equal(t, want, subjects[bruno.String()+"@tide.example"])
}

func TestWebhooksOfEveryTemperLeaveEachOtherAlone(t *testing.T) {
	dir := t.TempDir()
	b := openBox(t, dir)
	defer closeBox(t, b, dir)
	over, mended := make(chan struct{}), new(atomic.Bool)
	tempers := map[string]http.HandlerFunc{
		"good": func(http.ResponseWriter, *http.Request) {},
		"talks": func(w http.ResponseWriter, _ *http.Request) {
			_, _ = io.Copy(w, io.LimitReader(zeros{}, 10<<20))
		},
		"gone":  func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(410) },
		"fails": func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(500) },
		"moved": func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "/good", http.StatusFound) },
		"hangs": func(http.ResponseWriter, *http.Request) { <-over },
	}
	var got [6]atomic.Int32
	names := []string{"good", "talks", "gone", "fails", "moved", "hangs"}
	tg := newTarget(t, func(w http.ResponseWriter, r *http.Request) {
		name := strings.TrimPrefix(r.URL.Path, "/")
		if !mended.Load() {
			tempers[name](w, r)
		}
		for n := range names {
			if names[n] == name && mended.Load() {
				got[n].Add(1)
			}
		}
	})
	defer close(over)
	to := func(n int) record.ID { return record.ID{0xee, 15: byte(n)} }
	var clock movedClock
	w := post.New(post.Options{Outbox: b, Clock: clock.now,
		Hooks: tg.hooks(post.HookOptions{Timeout: 500 * time.Millisecond}),
		Author: hookAuthor{author{box: b}, func(id record.ID) string {
			return tg.URL + "/" + names[id[15]]
		}}})
	stop := runUntilStopped(w)
	defer stop()

	b.tell(t, 1, to(0), to(1), to(2), to(3), to(4), to(5))
	eventually(t, func() bool { return len(w.Waiting()) == 3 })
	words := map[record.ID]string{}
	for _, wait := range w.Waiting() {
		words[wait.To] = wait.Why
	}
	require.Contains(t, words[to(3)], "(500)")
	require.Contains(t, words[to(4)], "points elsewhere (302)")
	require.Contains(t, words[to(5)], "does not answer")
	parked, err := b.Ledger.Parked(10)
	require.NoError(t, err)
	require.Len(t, parked, 1)
	require.Equal(t, to(2), parked[0].To)
	require.Equal(t, "The webhook says that it is gone for good (410).", parked[0].Parked)

	mended.Store(true)
	clock.move(time.Hour)
	require.NoError(t, b.Resend(parked[0].Key))
	w.Wake()
	eventually(t, b.empty)
	for n, times := range []int32{0, 0, 1, 1, 1, 1} {
		require.Equal(t, times, got[n].Load(), names[n])
	}
}

// hookAuthor makes an event of each message.
type hookAuthor struct {
	author
	url func(record.ID) string
}

func (a hookAuthor) Letter(ctx context.Context, i post.Item) (post.Letter, error) {
	l, err := a.author.Letter(ctx, i)
	l.To, l.Event = a.url(i.To), event("").Event
	return l, err
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) { return len(b), nil }

// The tests that kill a process start this test program again as a child, which
// kills itself at the given point of its third message.
const (
	childPoint = "TIDEMARK_TEST_KILL"
	childDir   = "TIDEMARK_TEST_DIR"
	childMail  = "TIDEMARK_TEST_MAIL"
)

func TestMain(m *testing.M) {
	if os.Getenv(childPoint) == "" {
		os.Exit(m.Run())
	}
	deliverUntilKilled(os.Getenv(childPoint))
}

const tellings = 6

func deliverUntilKilled(point string) {
	b := openBox(stop{}, os.Getenv(childDir))
	for n := range tellings {
		b.tell(stop{}, n%2, ada)
	}
	var count int
	third := func() error {
		if count++; count == 3 {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {}
		}
		return nil
	}
	a := author{box: b}
	switch point {
	case "before delivery":
		a.letter = func(post.Item) error { return third() }
	case "before the mark":
		b.done.Store(&third)
	}
	config, err := post.ParseMail(os.Getenv(childMail))
	require.NoError(stop{}, err)
	w := post.New(post.Options{Outbox: b, Author: a, Mail: post.NewMail(config, nil)})
	w.Run(context.Background())
}

// stop is a TestingT of a child process.
type stop struct{}

func (stop) Errorf(format string, args ...any) { fmt.Fprintf(os.Stderr, format, args...) }
func (stop) FailNow()                          { os.Exit(3) }

func TestAProcessThatIsKilledRepeatsAtMostOneMessage(t *testing.T) {
	for point, repeats := range map[string]int{"before delivery": 0, "before the mark": 1} {
		t.Run(point, func(t *testing.T) {
			dir := t.TempDir()
			var s mailServer
			s.start(t, nil, nil)
			child := exec.Command(os.Args[0])
			child.Env = append(os.Environ(), childPoint+"="+point, childDir+"="+dir,
				childMail+"=smtp://"+s.address+"?from=sealers@tide.example")
			child.Stderr = os.Stderr
			err := child.Run()
			var exit *exec.ExitError
			require.ErrorAs(t, err, &exit)
			require.Equal(t, syscall.SIGKILL, exit.Sys().(syscall.WaitStatus).Signal())
			require.Len(t, s.mails(), 2+repeats)

			b := openBox(t, dir)
			defer closeBox(t, b, dir)
			w := post.New(post.Options{Outbox: b, Author: author{box: b}, Mail: s.sender(t)})
			defer runUntilStopped(w)()
			eventually(t, b.empty)
			ids, subjects := arrived(t, &s)
			require.Len(t, ids, tellings, "a repeat has the id of the first")
			want := []string{"0", "1", "2", "3", "4", "5"}
			if repeats == 1 {
				want = []string{"0", "1", "2", "2", "3", "4", "5"}
			}
			require.Equal(t, want, subjects[ada.String()+"@tide.example"])
		})
	}
}
