package record

import (
	"bytes"
	"encoding/hex"
	"fmt"
)

// Commitment is SHA-256 over a domain, a salt and a value kept elsewhere.
type Commitment [32]byte

// MarshalText writes 64 hex digits.
func (c Commitment) MarshalText() ([]byte, error) { return hex.AppendEncode(nil, c[:]), nil }

// UnmarshalText reads what MarshalText writes.
func (c *Commitment) UnmarshalText(b []byte) error {
	if len(b) != 64 {
		return fmt.Errorf("parse commitment: want 64 hex digits")
	}
	_, err := hex.Decode(c[:], b)
	return err
}

// Sealed maps a field's name to the commitment to its value.
type Sealed map[string]Commitment

// Append adds the record's line, without a newline, to b.
func (r *Record) Append(b []byte) []byte {
	c := coder{b: b}
	c.object(r.fields)
	return c.b
}

// fields lists the fields of a line in their order.
func (r *Record) fields(c *coder) {
	whole(c, "v", &r.V, 0, true)
	text(c, "kind", &r.Kind)
	quoted(c, "id", &r.ID, false)
	quoted(c, "of", &r.Of, false)
	whole(c, "seq", &r.Seq, 0, true)
	whole(c, "prev", &r.Prev, 0, true)
	quoted(c, "at", &r.At, true)
	quoted(c, "day", &r.Day, false)
	quoted(c, "covers", &r.Covers, false)
	c.yes("late", &r.Late)
	quoted(c, "dept", &r.Dept, false)
	quoted(c, "subject", &r.Subject, true)
	quoted(c, "by", &r.By, false)
	text(c, "via", &r.Via)
	quoted(c, "on_behalf_of", &r.OnBehalfOf, false)
	quoted(c, "sent_by", &r.SentBy, false)
	quoted(c, "dev", &r.Dev, false)
	whole(c, "dev_n", &r.DevN, 0, false)
	whole(c, "seen", &r.Seen, 0, true)
	quoted(c, "made", &r.Made, false)
	quoted(c, "sent", &r.Sent, false)
	if c.key("happened", true) {
		c.object(r.Happened.fields)
	}
	text(c, "cause", &r.Cause)
	whole(c, "corrects", &r.Corrects, None, false)
	c.list("rests_on", &r.RestsOn)
	text(c, "meaning", &r.Meaning)
	if c.key("effect", true) {
		c.object(r.Effect.fields)
	}
	c.value("body", &r.Body)
	c.sealed("sealed", &r.Sealed)
}

func (s *Span) fields(c *coder) {
	quoted(c, "from", &s.From, true)
	quoted(c, "to", &s.To, true)
	text(c, "said", &s.Said)
}

// Parse reads one line. It refuses unknown fields and kinds and whatever Append
// would have written otherwise: duplicate, re-cased or re-ordered keys, other
// forms of numbers, spaces, bad UTF-8.
func Parse(line []byte) (Record, error) {
	r := Record{Corrects: None}
	c := coder{reading: true, b: line}
	c.object(r.fields)
	if c.bad || len(c.b) > 0 || !bytes.Equal(r.Append(make([]byte, 0, len(line))), line) {
		return Record{}, fmt.Errorf("parse record %d: not in the form that records are written in", r.Seq)
	}
	if _, err := r.Content(); err != nil {
		return Record{}, fmt.Errorf("parse record %d: %w", r.Seq, err)
	}
	return r, nil
}
