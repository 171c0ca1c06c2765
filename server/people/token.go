package people

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"io"
	"sync"
)

// tokenBytes makes 192 bits, more than the 160 that RFC 6749, 10.10, asks for,
// and fills its 32 base64url characters without spare bits: a token has one
// spelling only.
const tokenBytes = 24

// newToken returns a token for whoever is to hold it, and the key under which
// the store will know it.
func (s *Store) newToken() (token string, key [32]byte, err error) {
	raw, err := s.rand.bytes(tokenBytes)
	if err != nil {
		return "", key, err
	}
	token = base64.RawURLEncoding.EncodeToString(raw)
	return token, tokenKey(token), nil
}

// tokenKey needs no salt and no slow hash: nobody guesses 192 bits.
func tokenKey(token string) [32]byte { return sha256.Sum256([]byte(token)) }

// source shares a reader that may not be shared.
type source struct {
	mu sync.Mutex
	r  io.Reader
}

func (s *source) bytes(n int) ([]byte, error) {
	b := make([]byte, n)
	return b, s.fill(b)
}

func (s *source) id() (ID, error) {
	var id ID
	err := s.fill(id[:])
	return id, err
}

func (s *source) fill(b []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, err := io.ReadFull(s.r, b); err != nil {
		return fmt.Errorf("read random bytes: %w", err)
	}
	return nil
}
