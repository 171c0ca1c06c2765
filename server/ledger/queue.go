package ledger

import (
	"iter"
	"time"
)

const (
	maxGroup   = 256                  // items of one commit
	maxBytes   = 1 << 20              // of their records
	maxWait    = 2 * time.Millisecond // for a group to fill
	maxImports = 64                   // of one group, so that people do not wait for them
)

// queue gathers what is waiting into groups. It never waits when it is quiet;
// when it is busy it gives those just answered a moment to come again, because
// a commit costs the same for one record as for many.
type queue[T any] struct {
	people, imports chan T
	done            chan struct{} // closed once nothing more will come

	size  int           // of the group that is being taken
	last  int           // size of the group before
	took  time.Duration // by its commit
	timer *time.Timer
}

func newQueue[T any]() *queue[T] {
	timer := time.NewTimer(time.Hour)
	timer.Stop()
	return &queue[T]{people: make(chan T, 4*maxGroup), imports: make(chan T, maxGroup),
		done: make(chan struct{}), timer: timer}
}

// group gives the items of the next group as they come, so that they are worked
// on while others are still on their way, and none when all is done. Leaving the
// loop ends the group.
func (q *queue[T]) group() iter.Seq[T] {
	return func(yield func(T) bool) {
		q.size = 0
		first, ok := q.first()
		if !ok || !q.give(first, yield) || !q.drain(yield) || q.last < 2 {
			return
		}
		q.linger(min(2*q.last, maxGroup), yield)
	}
}

// report tells how long a group of the queue's last size took.
func (q *queue[T]) report(took time.Duration) { q.last, q.took = q.size, took }

func (q *queue[T]) give(it T, yield func(T) bool) bool {
	q.size++
	return yield(it)
}

// first waits for one item, people before imports.
func (q *queue[T]) first() (it T, ok bool) {
	select {
	case it = <-q.people:
		return it, true
	default:
	}
	select {
	case it = <-q.people:
	case it = <-q.imports:
	case <-q.done:
		return q.leftover()
	}
	return it, true
}

// leftover takes what was queued before the end.
func (q *queue[T]) leftover() (it T, ok bool) {
	select {
	case it = <-q.people:
	case it = <-q.imports:
	default:
		return it, false
	}
	return it, true
}

// drain takes what is there and reports whether more is welcome.
func (q *queue[T]) drain(yield func(T) bool) bool {
	return q.take(q.people, maxGroup, yield) &&
		q.take(q.imports, min(maxGroup, q.size+maxImports), yield)
}

func (q *queue[T]) take(from chan T, most int, yield func(T) bool) bool {
	for q.size < most {
		select {
		case it := <-from:
			if !q.give(it, yield) {
				return false
			}
		default:
			return true
		}
	}
	return true
}

// linger waits for more people as long as they keep coming: a quarter of the last
// commit for the next one, and for all of them no longer than that commit took.
func (q *queue[T]) linger(want int, yield func(T) bool) {
	defer q.timer.Stop()
	for end := time.Now().Add(min(q.took, maxWait)); q.size < want; {
		q.timer.Reset(min(q.took/4, time.Until(end)))
		select {
		case it := <-q.people:
			if !q.give(it, yield) {
				return
			}
		case <-q.timer.C:
			return
		}
	}
}
