package desk

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"time"

	"tidemark/server/record"
)

// ticket says who was signed in on a device when a page was drawn. A phone keeps
// it with each entry that it cannot send at once, so that the entry arrives as
// that person's whoever is signed in by then. Only TakeKept takes it.
//
// Its text is base64url, without padding, of
//
//	version, 1 (1 byte) | person (16) | device (16) | issued, ms since 1970 (8) |
//	size of the ledger then (8) | HMAC-SHA-256 of all before (32)
type ticket struct {
	person, device record.ID
	issued         record.Time
	size           int64
}

// How long a ticket is good for: a shift to make entries in, and then the time
// that a phone may lie in a drawer.
const (
	makeWithin = 12 * time.Hour
	sendWithin = 14 * 24 * time.Hour
)

const (
	ticketVersion = 1
	ticketBytes   = 1 + 16 + 16 + 8 + 8
)

// ticketFor signs a ticket for the caller of a page drawn at a size of the
// ledger, "" for one without a session on a device.
func (d *Desk) ticketFor(who Caller, size int64) string {
	if who.Person.IsZero() || who.Device.IsZero() || !who.Link.IsZero() {
		return ""
	}
	b := append([]byte{ticketVersion}, who.Person[:]...)
	b = append(b, who.Device[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(d.now()))
	b = binary.BigEndian.AppendUint64(b, uint64(size))
	return base64.RawURLEncoding.EncodeToString(append(b, d.signTicket(b)...))
}

// openTicket reads a ticket that this installation has signed, however old.
func (d *Desk) openTicket(text string) (t ticket, ours bool) {
	b, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil || len(b) != ticketBytes+sha256.Size || b[0] != ticketVersion {
		return ticket{}, false
	}
	said, mac := b[:ticketBytes], b[ticketBytes:]
	if !hmac.Equal(mac, d.signTicket(said)) {
		return ticket{}, false
	}
	t.person, t.device = record.ID(said[1:17]), record.ID(said[17:33])
	t.issued = record.Time(binary.BigEndian.Uint64(said[33:]))
	t.size = int64(binary.BigEndian.Uint64(said[41:]))
	return t, true
}

func (d *Desk) signTicket(said []byte) []byte {
	h := hmac.New(sha256.New, d.tickets)
	h.Write(said)
	return h.Sum(nil)
}

// covers reports whether a ticket is good for an entry that was made at one time
// and arrived at another. A doubtful time is judged as the latest it can be.
func (t ticket) covers(made, arrived record.Time) bool {
	return made.Sub(t.issued) <= makeWithin && arrived.Sub(t.issued) <= sendWithin
}
