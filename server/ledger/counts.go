package ledger

import (
	"sync/atomic"
	"time"
)

// Counts are what a ledger has done since it was opened, for metrics.
type Counts struct {
	Records  int64         // stored
	Refused  int64         // commands that were refused
	Groups   int64         // commits that stored something
	Took     time.Duration // all of them together
	Waiting  int           // commands in the queue at this moment
	Repeated int64         // commands that had been stored before
}

type counts struct{ records, refused, groups, took, repeated atomic.Int64 }

// Counts returns them.
func (l *Ledger) Counts() Counts {
	return Counts{Records: l.counts.records.Load(), Refused: l.counts.refused.Load(), Groups: l.counts.groups.Load(),
		Took: time.Duration(l.counts.took.Load()), Repeated: l.counts.repeated.Load(),
		Waiting: len(l.queue.people) + len(l.queue.imports)}
}

// tallyGroup takes in a group that was answered.
func (l *Ledger) tallyGroup(g *group, took time.Duration, err error) {
	for _, it := range g.items {
		switch {
		case it.err != nil:
			l.counts.refused.Add(1)
		case it.receipt.Repeat:
			l.counts.repeated.Add(1)
		}
	}
	if err == nil && len(g.ends) > 0 {
		l.counts.records.Add(int64(len(g.ends)))
		l.counts.groups.Add(1)
		l.counts.took.Add(int64(took))
		if l.o.Stored != nil {
			l.o.Stored(len(g.ends), took)
		}
	}
}
