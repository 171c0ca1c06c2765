package ledger

import (
	"tidemark/server/record"
)

// Status is how a ledger is doing, for a health page and for metrics.
type Status struct {
	Size     int64       // records
	Latest   record.Time // the latest time that was given to one; the clock should not be behind it
	Bytes    int64       // length of ledger.db, room to grow into included
	Anchored int64       // records that the anchor is signed for
	Behind   int64       // records that are not in the look-ups yet
	Stopped  error       // why nothing is stored any more; nil as long as all is well
	Back     error       // what a witness has seen of records that are gone, nil if none has
}

// Status returns how the ledger is doing.
func (l *Ledger) Status() Status {
	l.mu.RLock()
	s := Status{Size: l.now.tree.Size(), Latest: l.now.clock}
	l.mu.RUnlock()
	s.Anchored = l.anchor.saved.Load()
	if l.views != nil {
		s.Behind = s.Size - l.views.applied.Load()
	}
	if broken := l.broken.Load(); broken != nil {
		s.Stopped = broken
	}
	s.Back = l.WentBack()
	s.Bytes = l.file.size()
	return s
}
