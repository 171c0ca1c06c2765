package ledger

import "time"

const (
	maxGroup   = 256                    // items of one commit
	maxBytes   = 1 << 20                // of their records
	maxWait    = 500 * time.Microsecond // for a group to fill
	maxImports = 64                     // of one group, so that people do not wait for them
)

// queue gathers what is waiting into groups. It never waits when it is quiet;
// when it is busy it gives those just answered a moment to come again, because
// a commit costs the same for one record as for many.
type queue[T any] struct {
	people, imports chan T
	done            chan struct{} // closed once nothing more will come

	group []T
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

// next returns the next group, after those left over from the last one, and
// nothing when all is done. The slice is good until the next call.
func (q *queue[T]) next(left []T) []T {
	q.group = append(q.group[:0], left...)
	if len(q.group) == 0 && !q.first() {
		return nil
	}
	q.drain()
	if q.last > 1 {
		q.linger(min(2*q.last, maxGroup))
	}
	return q.group
}

// report tells how large a group was and how long it took.
func (q *queue[T]) report(size int, took time.Duration) { q.last, q.took = size, took }

// first waits for one item, people before imports.
func (q *queue[T]) first() bool {
	select {
	case it := <-q.people:
		q.group = append(q.group, it)
		return true
	default:
	}
	select {
	case it := <-q.people:
		q.group = append(q.group, it)
	case it := <-q.imports:
		q.group = append(q.group, it)
	case <-q.done:
		q.drain()
	}
	return len(q.group) > 0
}

// drain takes what is there.
func (q *queue[T]) drain() {
	q.take(q.people, maxGroup)
	q.take(q.imports, min(maxGroup, len(q.group)+maxImports))
}

func (q *queue[T]) take(from chan T, most int) {
	for len(q.group) < most {
		select {
		case it := <-from:
			q.group = append(q.group, it)
		default:
			return
		}
	}
}

// linger waits for more people, a quarter of the last commit at most.
func (q *queue[T]) linger(want int) {
	if len(q.group) >= want {
		return
	}
	q.timer.Reset(min(q.took/4, maxWait))
	defer q.timer.Stop()
	for len(q.group) < want {
		select {
		case it := <-q.people:
			q.group = append(q.group, it)
		case <-q.timer.C:
			return
		}
	}
}
