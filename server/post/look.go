package post

import (
	"context"
	"fmt"
	"time"

	"tidemark/server/record"
)

// lane is what order is kept within.
type lane struct {
	to, problem record.ID
}

// message is an item on its way.
type message struct {
	Item
	lane lane
	sent bool // it was delivered before: only to be written down
}

// batch is what goes to one addressee, in order.
type batch []message

// page is how many messages a look reads at first; each part is twice the last.
const page = 256

// behind is why a message is parked that could have been sent.
const behind = "It comes after a message that waits for you to decide."

// look sends couriers to all that are due and returns when to look again.
func (w *Worker) look(ctx, sending context.Context) time.Duration {
	now := w.o.Clock()
	batches, err := w.due(now)
	if err != nil {
		w.o.Log.Error("look into outbox", "error", err)
		return unread
	}
	for _, b := range batches {
		if len(w.busy) == couriers {
			break
		}
		w.busy[b[0].To] = true
		go func() { w.back <- w.deliver(ctx, sending, b) }()
	}
	w.targets.tidy(now, func(to record.ID) bool { return w.busy[to] })
	w.lanes.tidy(now, func(l lane) bool { return w.busy[l.to] })
	list := waits(w.targets, w.lanes)
	w.waiting.Store(&list)
	return w.lanes.next(now, w.targets.next(now, idle))
}

// due returns batches for addressees who are free. It reads no more of the
// outbox than it takes to find some, and nothing of it twice: what comes is at
// its end. What is parked is read before all else and again after each part,
// because a person may put messages back in between, also into a part that was
// read already: none must overtake another by that.
func (w *Worker) due(now time.Time) ([]batch, error) {
	before, err := w.o.Outbox.Parked()
	if err != nil {
		return nil, fmt.Errorf("read parked messages: %w", err)
	}
	for after, limit := first, page; ; limit *= 2 {
		items, err := w.o.Outbox.PendingAfter(after, limit)
		if err != nil {
			return nil, fmt.Errorf("read pending messages: %w", err)
		}
		f, err := w.find(items, before, now)
		if err != nil {
			return nil, err
		}
		if list := w.batches(f, now); len(list) > 0 || len(items) < limit {
			return list, nil
		}
		after = items[len(items)-1].Key
	}
}

// found is what a look found in a part of the outbox.
type found struct {
	items         []Item // for addressees who are neither served nor left alone
	before, after held   // parked before the outbox was read, and after this part
}

// held is the oldest parked message of a lane.
type held map[lane]Key

// holds reports whether a message comes after one that is parked.
func (h held) holds(l lane, k Key) bool {
	first, ok := h[l]
	return ok && first.before(k)
}

// find looks who of a part of the outbox can be served.
func (w *Worker) find(items, before []Item, now time.Time) (f found, err error) {
	wanted := map[record.ID]bool{}
	for _, i := range items {
		if !w.busy[i.To] && !w.targets.holds(i.To, now) {
			f.items = append(f.items, i)
			wanted[i.To] = true
		}
	}
	if len(f.items) == 0 {
		return f, nil
	}
	after, err := w.o.Outbox.Parked()
	if err != nil {
		return f, fmt.Errorf("read parked messages again: %w", err)
	}
	f.before, f.after = w.held(before, wanted, now), w.held(after, wanted, now)
	return f, nil
}

func (w *Worker) held(parked []Item, wanted map[record.ID]bool, now time.Time) held {
	h := held{}
	for _, p := range parked {
		if !wanted[p.To] {
			continue
		}
		l, ok := w.lane(p, now)
		if first, known := h[l]; ok && (!known || p.before(first)) {
			h[l] = p.Key
		}
	}
	return h
}

// batches parts items by addressee, in the order in which the addressees come.
// It leaves out lanes that are left alone, and parks what comes after a message
// that is parked: so order is kept, and a person sees it.
func (w *Worker) batches(f found, now time.Time) (list []batch) {
	var park []Key
	place := map[record.ID]int{}
	for _, i := range f.items {
		l, ok := w.lane(i, now)
		if !ok || w.lanes.holds(l, now) {
			continue
		}
		if was, is := f.before.holds(l, i.Key), f.after.holds(l, i.Key); was || is {
			if was && is {
				park = append(park, i.Key)
			}
			continue
		}
		n, ok := place[i.To]
		if !ok {
			n, list = len(list), append(list, nil)
			place[i.To] = n
		}
		list[n] = append(list[n], message{i, l, w.unsaid[i.Key]})
	}
	if len(park) > 0 {
		if err := w.o.Outbox.Park(behind, park...); err != nil {
			w.o.Log.Error("park messages", "error", err)
		}
	}
	return list
}

// lane returns an item's lane. If it cannot be told, the addressee is left
// alone; false stands for that, too.
func (w *Worker) lane(i Item, now time.Time) (lane, bool) {
	if w.targets.holds(i.To, now) {
		return lane{}, false
	}
	problem, ok := w.about[i.Seq]
	if ok {
		return lane{i.To, problem}, true
	}
	problem, err := w.o.Author.Problem(i.Seq)
	if err != nil {
		f := &Failure{Why: "The record of the message cannot be read.", Cause: err}
		w.targets.extend(i.To, f, now, w.o.Rand())
		w.log(i, f)
		return lane{}, false
	}
	if len(w.about) > 40*page {
		clear(w.about)
	}
	w.about[i.Seq] = problem
	return lane{i.To, problem}, true
}
