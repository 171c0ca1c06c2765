package post

import (
	"context"
	"errors"
	"fmt"

	"tidemark/server/record"
)

// report is what a courier brings back.
type report struct {
	to       record.ID
	outcomes []outcome
}

// outcome is what became of a message.
type outcome struct {
	message
	failure *Failure // nil: delivered, and off the list
}

// deliver takes a batch to its addressee. What comes after a message that did
// not get through, in the same lane, stays behind. It ends early when ctx does;
// the message that is on its way then only when sending does.
func (w *Worker) deliver(ctx, sending context.Context, b batch) report {
	r := report{to: b[0].To}
	stuck := map[lane]bool{}
	for _, m := range b {
		if ctx.Err() != nil {
			break
		}
		if stuck[m.lane] {
			continue
		}
		m, f := w.handle(sending, m)
		r.outcomes = append(r.outcomes, outcome{m, f})
		if f == nil {
			continue
		}
		if f.Verdict == LeaveAlone {
			break
		}
		stuck[m.lane] = true
	}
	return r
}

// handle sends a message, if that was not done, and writes down what became of
// it. If the process ends between the two, the message is sent again.
func (w *Worker) handle(ctx context.Context, m message) (message, *Failure) {
	const unwritten = "What became of the message could not be written down."
	if !m.sent {
		f := w.send(ctx, m.Item)
		if f != nil && f.Verdict == Refuse {
			if err := w.o.Outbox.Park(f.Why, m.Key); err != nil {
				return m, &Failure{Why: unwritten, Cause: err}
			}
		}
		if f != nil {
			return m, f
		}
		m.sent = true
	}
	if err := w.o.Outbox.Done(m.Key); err != nil {
		return m, &Failure{Why: unwritten, Cause: err}
	}
	return m, nil
}

// send draws an item and hands it to its sender. A panic in what draws it costs
// this message a delay, not the server its life.
func (w *Worker) send(ctx context.Context, i Item) (f *Failure) {
	defer func() {
		if p := recover(); p != nil {
			f = failure(fmt.Errorf("panic: %v", p))
		}
	}()
	l, err := w.o.Author.Letter(ctx, i)
	switch {
	case errors.Is(err, ErrNothing):
		return nil
	case err != nil:
		return failure(err)
	case l.Event != nil:
		err = w.o.Hooks.Send(ctx, l)
	default:
		err = w.o.Mail.Send(ctx, l)
	}
	if err != nil {
		return failure(err)
	}
	return nil
}

// note takes in what a courier brought back.
func (w *Worker) note(r report) {
	delete(w.busy, r.to)
	now := w.o.Clock()
	for _, o := range r.outcomes {
		delete(w.unsaid, o.Key)
		w.log(o.Item, o.failure)
		if o.failure != nil && o.failure.Verdict == LeaveAlone {
			w.targets.extend(r.to, o.failure, now, w.o.Rand())
			if o.sent {
				w.unsaid[o.Key] = true
			}
			continue
		}
		delete(w.targets, r.to)
		if o.failure != nil && o.failure.Verdict == TryAgain {
			w.lanes.extend(o.lane, o.failure, now, w.o.Rand())
			continue
		}
		delete(w.lanes, o.lane)
	}
}

func (w *Worker) log(i Item, f *Failure) {
	log := w.o.Log.With("seq", i.Seq, "n", i.N, "route", i.Route, "to", i.To)
	switch {
	case f == nil:
		log.Debug("message delivered")
	case f.Verdict == Refuse:
		log.Warn("message parked", "why", f.Why, "cause", f.Cause)
	default:
		log.Warn("message not delivered", "why", f.Why, "cause", f.Cause)
	}
}
