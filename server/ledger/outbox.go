package ledger

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/record"
)

// Message is something to be told to somebody because of a record. It holds no
// address and no text: both are made when it is sent.
type Message struct {
	Route string    `json:"route"` // the step of the route it belongs to
	To    record.ID `json:"to"`
}

// Key names a message: number N of those of record Seq.
type Key struct {
	Seq record.Seq
	N   int
}

// Pending is a message that was not delivered yet.
type Pending struct {
	Key
	Message
	Parked string // why it waits for a person to decide; empty if it is to be sent
}

// outboxRow is a message of a group.
type outboxRow struct {
	Key
	Message
}

// outboxValue is what is stored of a message under its key.
type outboxValue struct {
	Message
	Parked string `json:"parked,omitempty"`
}

// Pending returns up to limit messages that are to be sent, the oldest first.
// There are none while the ledger has gone back: they may have been sent before.
func (l *Ledger) Pending(limit int) ([]Pending, error) {
	return l.PendingAfter(Key{Seq: record.None}, limit)
}

// PendingAfter is Pending from behind a message on.
func (l *Ledger) PendingAfter(after Key, limit int) (found []Pending, err error) {
	if l.back.Load() != nil {
		return nil, nil
	}
	size := record.Seq(l.Size())
	err = l.view(func(tx *bolt.Tx) error {
		c := tx.Bucket(inOutbox).Cursor()
		k, v := c.First()
		if after.Seq != record.None {
			if k, v = c.Seek(after.bytes()); bytes.Equal(k, after.bytes()) {
				k, v = c.Next()
			}
		}
		for ; k != nil && len(found) < limit; k, v = c.Next() {
			if looksParked(v) {
				continue
			}
			p, err := readPending(k, v)
			if err != nil {
				return err
			}
			if p.Seq < size {
				found = append(found, p)
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read outbox: %w", err)
	}
	return found, nil
}

// Done takes messages off the list: delivered, or dropped by a person.
func (l *Ledger) Done(keys ...Key) error {
	return l.update(func(tx *bolt.Tx) error {
		b := tx.Bucket(inOutbox)
		for _, k := range keys {
			if err := l.drop(b, k); err != nil {
				return err
			}
		}
		return nil
	})
}

// Park sets messages aside for a person to decide. Why is plain text for that
// person and holds no name and no address. A message that is done stays done.
func (l *Ledger) Park(why string, keys ...Key) error {
	return l.update(func(tx *bolt.Tx) error { return park(tx, why, keys, l.tally.stage) })
}

// drop takes a message off the list, if it is there.
func (l *Ledger) drop(b *bolt.Bucket, k Key) error {
	v := b.Get(k.bytes())
	if v == nil {
		return nil
	}
	was, err := readPending(k.bytes(), v)
	if err != nil {
		return err
	}
	if err := b.Delete(k.bytes()); err != nil {
		return fmt.Errorf("delete message: %w", err)
	}
	l.tally.stage(move{key: k, was: &was})
	return nil
}

// Resend puts parked messages back among those that are to be sent.
func (l *Ledger) Resend(keys ...Key) error { return l.Park("", keys...) }

func park(tx *bolt.Tx, why string, keys []Key, moved func(move)) error {
	b := tx.Bucket(inOutbox)
	for _, k := range keys {
		v := b.Get(k.bytes())
		if v == nil {
			continue
		}
		p, err := readPending(k.bytes(), v)
		if err != nil {
			return err
		}
		if err := putMessage(b, k, outboxValue{p.Message, why}); err != nil {
			return err
		}
		moved(move{k, &p, &Pending{k, p.Message, why}})
	}
	return nil
}

func (k Key) bytes() []byte {
	return binary.BigEndian.AppendUint16(key(int64(k.Seq)), uint16(k.N))
}

func readPending(k, v []byte) (Pending, error) {
	var value outboxValue
	if err := json.Unmarshal(v, &value); err != nil || len(k) != 10 {
		return Pending{}, fmt.Errorf("read message %x: %w", k, err)
	}
	at := Key{record.Seq(number(k)), int(binary.BigEndian.Uint16(k[8:]))}
	return Pending{at, value.Message, value.Parked}, nil
}

func putMessage(b *bolt.Bucket, k Key, value outboxValue) error {
	v, err := json.Marshal(value)
	if err != nil {
		return fmt.Errorf("encode message: %w", err)
	}
	if err := b.Put(k.bytes(), v); err != nil {
		return fmt.Errorf("put message: %w", err)
	}
	return nil
}

func (g *group) putOutbox(tx *bolt.Tx) error {
	for _, m := range g.outbox {
		if err := putMessage(growing(tx, inOutbox), m.Key, outboxValue{Message: m.Message}); err != nil {
			return err
		}
		g.l.tally.stage(move{key: m.Key, is: &Pending{Key: m.Key, Message: m.Message}})
	}
	return nil
}
