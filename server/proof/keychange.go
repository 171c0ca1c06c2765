package proof

import (
	"errors"
	"fmt"
	"strings"

	"golang.org/x/mod/sumdb/note"
)

const keyChangeTitle = "tidemark key change 1\n"

// KeyChange says that from a size on a ledger signs with another key. Both keys
// sign it: the old one to let go, the new one to show that it is held.
type KeyChange struct {
	Checkpoint
	Old, New string // public keys
}

// Sign returns the change as a note signed by both keys, the old one first.
func (k KeyChange) Sign(oldKey, newKey Signer) ([]byte, error) {
	signed, err := note.Sign(&note.Note{Text: k.text()}, oldKey, newKey)
	if err != nil {
		return nil, fmt.Errorf("sign key change: %w", err)
	}
	if _, err := OpenKeyChange(signed, k.Old); err != nil {
		return nil, fmt.Errorf("sign key change: %w", err)
	}
	return signed, nil
}

// OpenKeyChange returns the change in a note that the trusted old key and the
// new key named in it have signed. Trusted is a public key.
func OpenKeyChange(signed []byte, trusted string) (KeyChange, error) {
	k, err := parseKeyChange(string(signed))
	if err != nil {
		return KeyChange{}, fmt.Errorf("open key change: %w", err)
	}
	if k.Old != trusted {
		return KeyChange{}, errors.New("open key change: it is not from the trusted key")
	}
	var keys []Verifier
	for _, public := range []string{k.Old, k.New} {
		key, err := NewVerifier(public)
		if err != nil {
			return KeyChange{}, fmt.Errorf("open key change: %w", err)
		}
		if err := k.mayBeSignedBy(key); err != nil {
			return KeyChange{}, fmt.Errorf("open key change: %w", err)
		}
		keys = append(keys, key)
	}
	text, err := open(signed, keys...)
	if err != nil {
		return KeyChange{}, fmt.Errorf("open key change: %w", err)
	}
	if text != k.text() {
		return KeyChange{}, errors.New("open key change: more lines than a key change has")
	}
	return k, nil
}

// FollowKeys starts with a trusted public key and returns the key that stands at
// the end of the signed changes, which are in order and may begin before it. A
// change that no key before it has signed, because that key was lost, leads nowhere:
// then the last key that can be reached is returned.
func FollowKeys(trusted string, changes ...[]byte) (newest string, followed int) {
	size := int64(0)
	for _, signed := range changes {
		if k, err := OpenKeyChange(signed, trusted); err == nil && k.Size >= size {
			trusted, size, followed = k.New, k.Size, followed+1
		}
	}
	return trusted, followed
}

func (k KeyChange) text() string {
	return keyChangeTitle + k.Checkpoint.Text() + k.Old + "\n" + k.New + "\n"
}

// parseKeyChange reads the lines of a change, before any signature is checked:
// the key to check with stands in them.
func parseKeyChange(signed string) (KeyChange, error) {
	body, ok := strings.CutPrefix(signed, keyChangeTitle)
	if !ok {
		return KeyChange{}, errors.New("the first line is not that of a key change")
	}
	c, rest, err := cutCheckpoint(body)
	if err != nil {
		return KeyChange{}, err
	}
	lines := strings.SplitN(rest, "\n", 3)
	if len(lines) < 3 {
		return KeyChange{}, errors.New("want two keys")
	}
	return KeyChange{c, lines[0], lines[1]}, nil
}

// cutCheckpoint reads a checkpoint at the beginning of text and returns the
// rest.
func cutCheckpoint(text string) (Checkpoint, string, error) {
	end := 0
	for range 3 {
		end += strings.IndexByte(text[end:], '\n') + 1
	}
	c, err := ParseCheckpoint(text[:end])
	return c, text[end:], err
}
