package record

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
)

// ID names a record, a person, a sealer, a storage. It is 16 random bytes,
// written as 32 lower-case hex digits. The zero ID means nobody, nothing.
type ID [16]byte

// ParseID reads what String writes, and only that.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 32 {
		return id, fmt.Errorf("parse id %q: want 32 hex digits", s)
	}
	var again [32]byte
	_, err := hex.Decode(id[:], []byte(s))
	if err != nil || string(id.append(again[:0])) != s {
		return ID{}, fmt.Errorf("parse id %q: want lower-case hex digits", s)
	}
	return id, nil
}

func (id ID) String() string { return hex.EncodeToString(id[:]) }

// IsZero reports whether id names nothing.
func (id ID) IsZero() bool { return id == ID{} }

// MarshalText writes the 32 digits, or nothing for the zero ID.
func (id ID) MarshalText() ([]byte, error) {
	if id.IsZero() {
		return []byte{}, nil
	}
	return id.append(nil), nil
}

func (id ID) append(b []byte) []byte { return hex.AppendEncode(b, id[:]) }

// UnmarshalText reads what MarshalText writes.
func (id *ID) UnmarshalText(b []byte) (err error) {
	if len(b) == 0 {
		*id = ID{}
		return nil
	}
	*id, err = ParseID(string(b))
	return err
}

// Nth is the id of record i of a command that makes several: the first carries
// the sender's id, record i the first 16 bytes of SHA-256(id || i as 8 bytes).
func (id ID) Nth(i int) ID {
	if i == 0 {
		return id
	}
	var n ID
	sum := sha256.Sum256(binary.BigEndian.AppendUint64(id[:], uint64(i)))
	copy(n[:], sum[:])
	return n
}

// Derive makes an id that always comes out the same for id and a purpose, so
// that a step made again after a restart is the same step.
func (id ID) Derive(purpose string) ID {
	var n ID
	sum := sha256.Sum256(append(append(id[:len(id):len(id)], 0), purpose...))
	copy(n[:], sum[:])
	return n
}
