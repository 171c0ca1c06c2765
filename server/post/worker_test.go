package post_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/ledger"
	"tidemark/server/post"
	"tidemark/server/record"
)

// box is the outbox of a real ledger. Its hooks may be nil.
type box struct {
	*ledger.Ledger
	done atomic.Pointer[func() error] // asked before a message is taken off the list
	read func(rows int)
}

func (b *box) failDone(err error) {
	f := func() error { return err }
	b.done.Store(&f)
}

func (b *box) PendingAfter(after post.Key, limit int) ([]post.Item, error) {
	list, err := b.Ledger.PendingAfter(ledger.Key(after), limit)
	if b.read != nil {
		b.read(len(list))
	}
	return items(list), err
}

func (b *box) Parked() ([]post.Item, error) {
	list, err := b.Ledger.Parked(1 << 20)
	return items(list), err
}

func (b *box) Done(keys ...post.Key) error {
	if f := b.done.Load(); f != nil {
		if err := (*f)(); err != nil {
			return err
		}
	}
	return b.Ledger.Done(ledgerKeys(keys)...)
}

func (b *box) Park(why string, keys ...post.Key) error {
	return b.Ledger.Park(why, ledgerKeys(keys)...)
}

func ledgerKeys(keys []post.Key) (list []ledger.Key) {
	for _, k := range keys {
		list = append(list, ledger.Key(k))
	}
	return list
}

func items(list []ledger.Pending) (all []post.Item) {
	for _, p := range list {
		all = append(all, post.Item{Key: post.Key(p.Key), Route: p.Route, To: p.To})
	}
	return all
}

func openBox(t require.TestingT, dir string) *box {
	l, err := ledger.Open(ledger.Options{Dir: dir, Fold: fold()})
	require.NoError(t, err)
	return &box{Ledger: l}
}

func closeBox(t require.TestingT, b *box, dir string) {
	require.NoError(t, b.Close())
	report, err := ledger.Verify(ledger.Verification{Dir: dir, Fold: fold()})
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
}

// fold keeps the number of records of each subject.
func fold() ledger.Fold {
	return ledger.Fold{Shape: 1,
		Evolve: func(s record.Stage, r *record.Record) {
			n, _ := s.Value(r.Subject).(int)
			s.Set(r.Subject, n+1)
		},
		Decode: func(_ record.Type, b []byte) (any, error) {
			var n int
			err := json.Unmarshal(b, &n)
			return n, err
		}}
}

// tell records something about problem p, to be told to some people.
func (b *box) tell(t require.TestingT, p int, to ...record.ID) record.Seq {
	r, err := record.New(&record.Seen{})
	require.NoError(t, err)
	r.Subject = record.Subject{Type: record.Problem, ID: record.ID{1: 0xb0, 15: byte(p)}}
	r.Via, r.Meaning, r.Happened = record.ViaPIN, record.Did, record.Moment(1)
	d := ledger.Draft{Record: r}
	for _, id := range to {
		d.Outbox = append(d.Outbox, ledger.Message{Route: "engineering", To: id})
	}
	got, err := b.Append(context.Background(), ledger.Command{
		ID: record.ID{15: 1}.Derive(fmt.Sprint(b.Size())),
		Decide: func(record.View, record.Time) ([]ledger.Draft, error) {
			return []ledger.Draft{d}, nil
		}})
	require.NoError(t, err)
	return got.First
}

// author draws the sequence number of a message's record as its subject.
type author struct {
	box    *box
	letter func(post.Item) error
}

func (a author) Problem(seq record.Seq) (record.ID, error) {
	r, err := a.box.Read(seq)
	return r.Subject.ID, err
}

func (a author) Letter(_ context.Context, i post.Item) (post.Letter, error) {
	if a.letter != nil {
		if err := a.letter(i); err != nil {
			return post.Letter{}, err
		}
	}
	r, err := a.box.Read(i.Seq)
	return post.Letter{ID: i.LetterID(r.ID), To: i.To.String() + "@tide.example",
		Subject: fmt.Sprint(int64(i.Seq))}, err
}

// people is a Sender that does with each addressee what it is told to.
type people struct {
	mu    sync.Mutex
	does  map[record.ID]func(context.Context, post.Letter) error
	tries map[record.ID]int
	got   map[record.ID][]string // subjects
	took  func(to record.ID, subject string, before []string)
}

func (p *people) Send(ctx context.Context, l post.Letter) error {
	to, err := record.ParseID(l.To[:32])
	if err != nil {
		return err
	}
	p.mu.Lock()
	does := p.does[to]
	p.tries[to]++
	p.mu.Unlock()
	if does != nil {
		if err := does(ctx, l); err != nil {
			return err
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.took != nil {
		p.took(to, l.Subject, p.got[to])
	}
	p.got[to] = append(p.got[to], l.Subject)
	return nil
}

func (p *people) set(to record.ID, does func(context.Context, post.Letter) error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.does[to] = does
}

func (p *people) subjects(to record.ID) []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.got[to])
}

func fails(v post.Verdict, why string) func(context.Context, post.Letter) error {
	return func(context.Context, post.Letter) error { return &post.Failure{Verdict: v, Why: why} }
}

// house is a worker on a real ledger, in a bubble whose time stands still until
// the test sleeps.
type house struct {
	*box
	*people
	author author
	o      post.Options
	worker *post.Worker
	stop   func()
}

func inHouse(t *testing.T, test func(t *testing.T, h *house)) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(openBox(t, dir))
		t.Cleanup(func() {
			h.stop()
			closeBox(t, h.box, dir)
		})
		test(t, h)
	})
}

func newHouse(b *box) *house {
	h := &house{box: b, stop: func() {}, people: &people{
		does:  map[record.ID]func(context.Context, post.Letter) error{},
		tries: map[record.ID]int{}, got: map[record.ID][]string{}}}
	h.author = author{box: b}
	h.o = post.Options{Outbox: b, Mail: h.people, Rand: func() float64 { return 0 }}
	return h
}

// run starts a worker, as after a restart.
func (h *house) run() { h.runWith(h.author) }

func (h *house) runWith(a post.Author) {
	h.stop()
	h.o.Author = a
	ctx, cancel := context.WithCancel(context.Background())
	over := make(chan struct{})
	h.worker = post.New(h.o)
	go func() {
		h.worker.Run(ctx)
		close(over)
	}()
	h.stop = func() {
		cancel()
		<-over
	}
	synctest.Wait()
}

func (h *house) parked(t require.TestingT) []ledger.Pending {
	list, err := h.Ledger.Parked(1 << 20)
	require.NoError(t, err)
	return list
}

func (h *house) pending(t require.TestingT) []ledger.Pending {
	list, err := h.Ledger.Pending(1 << 20)
	require.NoError(t, err)
	return list
}

func (h *house) resend(t require.TestingT, list ...ledger.Pending) {
	var keys []ledger.Key
	for _, p := range list {
		keys = append(keys, p.Key)
	}
	require.NoError(t, h.Resend(keys...))
	h.worker.Wake()
	synctest.Wait()
}

func TestEachMessageIsDeliveredOnceInOrder(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.tell(t, 1, ada, bruno) // before the worker runs
		h.run()
		h.tell(t, 2, ada)
		h.tell(t, 1, ada, bruno)
		synctest.Wait()
		require.Equal(t, []string{"0", "1", "2"}, h.subjects(ada))
		require.Equal(t, []string{"0", "2"}, h.subjects(bruno))
		require.Empty(t, h.pending(t))
		h.run()
		time.Sleep(time.Hour)
		require.Len(t, h.subjects(ada), 3)
	})
}

func TestATargetThatWasDownForADayGetsAllOnce(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.set(ada, fails(post.LeaveAlone, "The mail server cannot be reached."))
		h.run()
		var want []string
		for n := range 48 {
			h.tell(t, n%3, ada)
			want = append(want, fmt.Sprint(n))
			time.Sleep(30 * time.Minute)
		}
		require.Empty(t, h.subjects(ada))
		require.Less(t, h.tries[ada], 24*4+12, "every quarter of an hour, once it lasts")
		list := h.worker.Waiting()
		require.Len(t, list, 1)
		require.Equal(t, ada, list[0].To)
		require.Equal(t, "The mail server cannot be reached.", list[0].Why)
		require.Equal(t, 24*time.Hour, time.Since(list[0].Since))

		h.set(ada, nil)
		time.Sleep(15 * time.Minute)
		require.Equal(t, want, h.subjects(ada))
		require.Empty(t, h.pending(t))
		time.Sleep(time.Minute)
		require.Empty(t, h.worker.Waiting())
	})
}

func TestOneThatFailsHoldsUpOnlyItself(t *testing.T) {
	for name, c := range map[string]struct {
		does func(context.Context, post.Letter) error
		ada  []string // of problem 1: 0 and 3; of problem 2: 1
	}{
		"its addressee is left alone": {fails(post.LeaveAlone, "down"), nil},
		"only the problem waits": {func(_ context.Context, l post.Letter) error {
			if l.Subject == "0" {
				return &post.Failure{Verdict: post.TryAgain, Why: "500"}
			}
			return nil
		}, []string{"1"}},
		"it hangs": {func(ctx context.Context, _ post.Letter) error {
			<-ctx.Done()
			return ctx.Err()
		}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			inHouse(t, func(t *testing.T, h *house) {
				h.set(ada, c.does)
				h.tell(t, 1, ada)
				h.tell(t, 2, ada)
				h.tell(t, 1, bruno)
				h.tell(t, 1, ada, bruno)
				h.run()
				time.Sleep(time.Second)
				require.Equal(t, []string{"2", "3"}, h.subjects(bruno))
				require.Equal(t, c.ada, h.subjects(ada))
			})
		})
	}
}

func TestWhatIsRefusedIsParkedWithAllBehindIt(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		refuse := fails(post.Refuse, "The mail server takes no mail for this addressee (550).")
		h.set(ada, func(ctx context.Context, l post.Letter) error {
			if l.Subject == "0" {
				return refuse(ctx, l)
			}
			return nil
		})
		h.tell(t, 1, ada, bruno)
		h.tell(t, 2, ada)
		h.tell(t, 1, ada, bruno)
		h.run()
		h.run() // knows it from the outbox alone
		h.tell(t, 1, ada, bruno)
		synctest.Wait()
		require.Equal(t, []string{"0", "2", "3"}, h.subjects(bruno))
		require.Equal(t, []string{"1"}, h.subjects(ada), "the other problem goes on")
		parked := h.parked(t)
		require.Len(t, parked, 3)
		require.Contains(t, parked[0].Parked, "(550)")
		require.Contains(t, parked[1].Parked, "comes after")
		require.Empty(t, h.pending(t))

		h.set(ada, nil)
		h.resend(t, parked[2])
		require.Equal(t, []string{"1"}, h.subjects(ada), "it must not overtake")
		require.Len(t, h.parked(t), 3)
		h.resend(t, parked[0])
		require.Equal(t, []string{"1", "0"}, h.subjects(ada))
		h.resend(t, parked[1], parked[2])
		require.Equal(t, []string{"1", "0", "2", "3"}, h.subjects(ada))
		require.Empty(t, h.parked(t))
	})
}

func TestWhatCouldNotBeTakenOffTheListIsNotSentAgain(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.failDone(errors.New("disk full"))
		h.tell(t, 1, ada)
		h.run()
		time.Sleep(time.Hour)
		require.Equal(t, []string{"0"}, h.subjects(ada))
		require.Len(t, h.worker.Waiting(), 1)

		h.tell(t, 1, ada)
		h.failDone(nil)
		time.Sleep(time.Hour)
		require.Equal(t, []string{"0", "1"}, h.subjects(ada))
		require.Empty(t, h.pending(t))
	})
}

func TestWhatHasNothingToTellIsDropped(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.author.letter = func(i post.Item) error {
			if i.Seq == 0 {
				return fmt.Errorf("draw letter: %w", post.ErrNothing)
			}
			return nil
		}
		h.tell(t, 1, ada)
		h.tell(t, 1, ada)
		h.run()
		require.Equal(t, []string{"1"}, h.subjects(ada))
		require.Empty(t, h.pending(t))
	})
}

func TestWhatCannotBeDrawnWaitsAndHoldsUpOnlyItsProblem(t *testing.T) {
	for name, err := range map[string]error{"an error": errors.New("no such sealer"), "a panic": nil} {
		t.Run(name, func(t *testing.T) {
			inHouse(t, func(t *testing.T, h *house) {
				h.author.letter = func(i post.Item) error {
					if i.Seq == 0 && err == nil {
						panic("nil sealer")
					}
					if i.Seq == 0 {
						return err
					}
					return nil
				}
				h.tell(t, 1, ada)
				h.tell(t, 2, ada)
				h.tell(t, 1, ada)
				h.run()
				require.Equal(t, []string{"1"}, h.subjects(ada))
				h.author.letter = nil
				h.run()
				require.Equal(t, []string{"1", "0", "2"}, h.subjects(ada))
			})
		})
	}
}

func TestWithoutAMailServerMailWaits(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.o.Mail = nil
		h.tell(t, 1, ada)
		h.run()
		time.Sleep(time.Hour)
		require.Len(t, h.pending(t), 1)
		require.Equal(t, "No mail server is set up.", h.worker.Waiting()[0].Why)
		h.o.Mail = h.people
		h.run()
		require.Equal(t, []string{"0"}, h.subjects(ada))
	})
}

func TestWhatIsOnItsWayMayArriveAfterTheEnd(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.set(ada, func(context.Context, post.Letter) error {
			time.Sleep(3 * time.Second)
			return nil
		})
		h.tell(t, 1, ada)
		h.tell(t, 1, ada)
		h.run()
		began := time.Now()
		h.stop()
		require.Equal(t, 3*time.Second, time.Since(began))
		require.Equal(t, []string{"0"}, h.subjects(ada))
		require.Len(t, h.pending(t), 1, "the next was not begun")
	})
}

func TestWhatHangsIsCalledBackAtTheEnd(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.set(ada, func(ctx context.Context, _ post.Letter) error {
			<-ctx.Done()
			return ctx.Err()
		})
		h.tell(t, 1, ada)
		h.run()
		began := time.Now()
		h.stop()
		require.Equal(t, 5*time.Second, time.Since(began))
		require.Len(t, h.pending(t), 1)
	})
}

func TestAClockThatJumpsLosesAndDoublesNothing(t *testing.T) {
	const year = 365 * 24 * time.Hour
	for name, jump := range map[string]time.Duration{"a year ahead": year, "a year back": -year} {
		t.Run(name, func(t *testing.T) {
			inHouse(t, func(t *testing.T, h *house) {
				var clock movedClock
				h.o.Clock = func() time.Time { return clock.now().Round(0) } // no monotonic reading
				h.set(ada, fails(post.LeaveAlone, "down"))
				h.tell(t, 1, ada)
				h.run()
				time.Sleep(time.Hour)
				h.set(ada, nil)
				clock.move(jump)
				time.Sleep(15 * time.Minute)
				require.Equal(t, []string{"0"}, h.subjects(ada))
				clock.move(-jump)
				h.tell(t, 1, ada)
				time.Sleep(15 * time.Minute)
				require.Equal(t, []string{"0", "1"}, h.subjects(ada))
			})
		})
	}
}

func TestOfManyThatWaitAStartReadsAPage(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		many := slices.Repeat([]record.ID{ada}, 500)
		for range 20 {
			h.tell(t, 1, many...)
		}
		h.tell(t, 1, bruno)
		release := make(chan struct{})
		h.set(ada, func(context.Context, post.Letter) error {
			<-release
			return &post.Failure{Verdict: post.LeaveAlone, Why: "down"}
		})
		var rows []int
		h.box.read = func(n int) { rows = append(rows, n) }
		h.run()
		require.Equal(t, 256, rows[0], "until the first is on its way")
		h.worker.Wake()
		synctest.Wait()
		require.Equal(t, []string{"20"}, h.subjects(bruno), "he is not kept waiting by them")
		require.Equal(t, []int{256, 512, 1024, 2048, 4096, 2065}, rows[1:7], "each of the 10,001 was read once")
		close(release)
	})
}

func TestWhatIsPutBackInTheMiddleOfALookIsNotOvertaken(t *testing.T) {
	inHouse(t, func(t *testing.T, h *house) {
		h.set(ada, fails(post.Refuse, "no such mailbox"))
		h.set(bruno, fails(post.LeaveAlone, "down"))
		h.tell(t, 1, ada)
		h.run()
		h.set(ada, nil)
		h.tell(t, 1, slices.Repeat([]record.ID{bruno}, 300)...)
		synctest.Wait()
		parked := h.parked(t)
		require.Len(t, parked, 1)
		put := 0
		h.box.read = func(rows int) {
			if rows == 256 && put == 0 { // the part that it belongs to has just been read
				put++
				require.NoError(t, h.Resend(parked[0].Key))
				h.worker.Wake()
			}
		}
		h.tell(t, 1, ada)
		synctest.Wait()
		time.Sleep(time.Minute)
		require.Equal(t, 1, put)
		require.Equal(t, []string{"0", "2"}, h.subjects(ada))
	})
}
