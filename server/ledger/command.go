package ledger

import (
	"context"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Command is a wish to record something.
type Command struct {
	ID record.ID // made by the sender; the same id is stored once
	// Content is what the sender says, to tell a repetition from other content
	// under the same id. Its Seen is the size of the ledger that the id was made
	// at: the id is looked for from there on. Without Content every repetition
	// counts as the same, and the whole ledger is searched.
	Content *record.Record
	Import  bool // waits while people are being served
	// Decide makes records of the command, or refuses it with an error. It runs
	// in the writer, on the state that all before it have led to: it has to be
	// quick, may Read one old record and must not Append. Now never goes back,
	// even if the clock does. No drafts and no error: there is nothing to do.
	Decide func(v record.View, now record.Time) ([]Draft, error)
}

// Draft is a record to be stored. The writer sets ID, Of, Seq, Prev and At.
type Draft struct {
	Record record.Record
	Outbox []Message // to be delivered once it is stored
}

// Receipt tells what became of a command.
type Receipt struct {
	First  record.Seq  // its first record, None if there was nothing to do
	Count  int         // its records follow each other
	At     record.Time // the server's clock when they were stored
	Repeat bool        // they had been stored before
	Size   int64       // size of the ledger now
}

// item is a command on its way.
type item struct {
	Command
	print    uint64     // fingerprint of its id
	searched record.Seq // no record before this one has the id
	receipt  Receipt
	err      error
	done     chan struct{}
}

// Append decides and stores a command. The returned error is what Decide
// returned, or a fault:
//
//	invalid        the command has no id
//	conflict       the id was used for other content
//	busy           the ledger is being closed, or it went back; nothing was stored
//	full           no room on the disk; nothing was stored
//	not-confirmed  nobody knows; sending it again under the same id is safe
//	internal       Decide panicked or made a record that nobody could read back;
//	               nothing was stored
func (l *Ledger) Append(ctx context.Context, c Command) (Receipt, error) {
	if c.ID.IsZero() {
		return Receipt{}, fault.New(fault.Invalid, "The entry has no number. Enter it again.")
	}
	it := &item{Command: c, print: fingerprint(c.ID), done: make(chan struct{})}
	found, err := l.searchOld(it)
	if err != nil {
		return Receipt{}, err
	}
	if found != nil {
		return l.repeat(found, c.Content)
	}
	if err := l.refuseBack(); err != nil {
		return Receipt{}, err
	}
	if err := l.enqueue(ctx, it); err != nil {
		return Receipt{}, err
	}
	select {
	case <-it.done:
		return it.receipt, it.err
	case <-ctx.Done():
		return Receipt{}, fault.Wrap(ctx.Err(), fault.NotConfirmed,
			"Not confirmed. Sending it again is safe.")
	}
}

func (l *Ledger) enqueue(ctx context.Context, it *item) error {
	l.gate.RLock()
	defer l.gate.RUnlock()
	if l.closed {
		return fault.New(fault.Busy, "The server is stopping. Send it again in a minute.")
	}
	line := l.queue.people
	if it.Import {
		line = l.queue.imports
	}
	select {
	case line <- it: // there is nearly always room
		return nil
	default:
	}
	select {
	case line <- it:
		return nil
	case <-ctx.Done():
		return fault.Wrap(ctx.Err(), fault.Busy, "Nothing was stored. Send it again.")
	}
}
