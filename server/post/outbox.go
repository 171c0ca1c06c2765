package post

import (
	"context"
	"errors"

	"tidemark/server/record"
)

// Outbox is where messages wait until they are delivered. Its methods are called
// from several goroutines.
type Outbox interface {
	// PendingAfter returns up to limit messages that are to be sent and come after
	// one, the oldest first.
	PendingAfter(after Key, limit int) ([]Item, error)
	// Parked returns all messages that wait for a person to decide.
	Parked() ([]Item, error)
	// Done takes messages off the list.
	Done(keys ...Key) error
	// Park leaves messages to a person. Why holds no name and no address.
	Park(why string, keys ...Key) error
	// Watch returns a channel that gets a signal when there may be new messages.
	Watch() (signal <-chan struct{}, stop func())
}

// Author knows what messages are about and draws them. Its methods are called
// from several goroutines.
type Author interface {
	// Problem returns the problem that a record is about, zero if none.
	Problem(record.Seq) (record.ID, error)
	// Letter draws a message as things stand now; its ID is the item's LetterID.
	// An error is as good as one of a Sender. ErrNothing takes it off the list.
	Letter(context.Context, Item) (Letter, error)
}

// ErrNothing says that a message has nothing to tell any more.
var ErrNothing = errors.New("nothing to tell any more")

// Key names a message: number N of those of record Seq.
type Key struct {
	Seq record.Seq
	N   int
}

// first comes before every message.
var first = Key{Seq: record.None}

func (k Key) before(o Key) bool { return k.Seq < o.Seq || k.Seq == o.Seq && k.N < o.N }

// Item is a message that waits: a step of a route, for one addressee.
type Item struct {
	Key
	Route string
	To    record.ID
}

// LetterID is the id of the item's letter, the same at each attempt. Of is the
// id of the item's record.
func (i Item) LetterID(of record.ID) record.ID {
	return of.Derive("letter " + i.Route + " " + i.To.String())
}
