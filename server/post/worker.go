package post

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"sync/atomic"
	"time"

	"tidemark/server/record"
)

// Worker delivers what waits in an outbox. All that it knows besides is how long
// whom to leave alone, which it may forget: it can be killed at any moment.
type Worker struct {
	o    Options
	wake chan struct{}
	back chan report

	// What follows belongs to the goroutine of Run.
	busy    map[record.ID]bool // addressees that a courier is on the way to
	targets pauses[record.ID]  // addressees that are left alone
	lanes   pauses[lane]       // what is left alone of an addressee
	unsaid  map[Key]bool       // delivered, but that could not be written down
	about   map[record.Seq]record.ID

	waiting atomic.Pointer[[]Wait]
}

// Options are what a Worker needs.
type Options struct {
	Outbox Outbox
	Author Author
	Mail   Sender           // nil: mails wait until there is one
	Hooks  Sender           // nil: events wait until there is one
	Clock  func() time.Time // time.Now if nil; the worker's timers are real all the same
	Rand   func() float64   // from 0 to 1; math/rand if nil
	Grace  time.Duration    // for what is on the way when Run is to end; 5 s if zero
	Log    *slog.Logger     // nothing is logged if nil
}

const (
	couriers = 8                // addressees that are served at the same time
	idle     = time.Minute      // longest time between two looks
	unread   = 10 * time.Second // until the next look at an outbox that cannot be read
)

// New makes a worker. It does nothing before Run.
func New(o Options) *Worker {
	if o.Mail == nil {
		o.Mail = absent("No mail server is set up.")
	}
	if o.Hooks == nil {
		o.Hooks = absent("Webhooks are not set up.")
	}
	if o.Clock == nil {
		o.Clock = time.Now
	}
	if o.Rand == nil {
		o.Rand = rand.Float64
	}
	if o.Grace == 0 {
		o.Grace = 5 * time.Second
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return &Worker{o: o, wake: make(chan struct{}, 1), back: make(chan report, couriers),
		busy: map[record.ID]bool{}, targets: pauses[record.ID]{}, lanes: pauses[lane]{},
		unsaid: map[Key]bool{}, about: map[record.Seq]record.ID{}}
}

// absent is a Sender that is not there.
type absent string

func (a absent) Send(context.Context, Letter) error { return &Failure{Why: string(a)} }

// Run delivers until ctx ends. What is on the way then may still arrive; nothing
// of the worker runs any more when Run has returned.
func (w *Worker) Run(ctx context.Context) {
	signal, stop := w.o.Outbox.Watch()
	defer stop()
	sending, cancel := context.WithCancel(context.WithoutCancel(ctx))
	defer cancel()
	for ctx.Err() == nil {
		began := time.Now()
		again := w.look(ctx, sending)
		// However much waits and however often it is told, looking takes no more
		// than a tenth of the time.
		sleep(ctx, min(9*time.Since(began), unread))
		w.rest(ctx, signal, again)
	}
	w.finish(cancel)
}

// Wake has the worker look at once: when a person has sent or dropped what was
// parked, or the clock was moved.
func (w *Worker) Wake() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// Waiting returns what is tried again later, the longest standing first.
func (w *Worker) Waiting() []Wait {
	if list := w.waiting.Load(); list != nil {
		return *list
	}
	return nil
}

// rest waits for something to happen, at most for d.
func (w *Worker) rest(ctx context.Context, signal <-chan struct{}, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-signal:
	case <-w.wake:
	case <-timer.C:
	case r := <-w.back:
		w.note(r)
	}
}

// finish waits for the couriers, and after a while calls them back.
func (w *Worker) finish(cancel context.CancelFunc) {
	defer time.AfterFunc(w.o.Grace, cancel).Stop()
	for len(w.busy) > 0 {
		w.note(<-w.back)
	}
}

func sleep(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}
