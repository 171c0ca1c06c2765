package proof

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io"

	"golang.org/x/mod/sumdb/note"
)

// Signer holds a ledger's secret key, Verifier the public one.
type (
	Signer   = note.Signer
	Verifier = note.Verifier
)

// NewKey makes an Ed25519 key pair for the ledger of the given origin and
// returns both halves in the text that NewSigner and NewVerifier take. Random
// gives 32 bytes.
func NewKey(random io.Reader, origin string) (secret, public string, err error) {
	if err := CheckOrigin(origin); err != nil {
		return "", "", fmt.Errorf("make key: %w", err)
	}
	secret, public, err = note.GenerateKey(random, origin)
	if err != nil {
		return "", "", fmt.Errorf("make key: %w", err)
	}
	return secret, public, nil
}

// NewSigner reads a secret key. The error does not repeat it.
func NewSigner(secret string) (Signer, error) {
	s, err := note.NewSigner(secret)
	if err != nil {
		return nil, errors.New("read secret key: not a key as NewKey made it")
	}
	return s, nil
}

// NewVerifier reads a public key.
func NewVerifier(public string) (Verifier, error) {
	v, err := note.NewVerifier(public)
	if err != nil {
		return nil, fmt.Errorf("read public key %q: %w", public, err)
	}
	return v, nil
}

// Sign returns the checkpoint as a note signed by the ledger's key. This is
// also the content of the anchor file beside a store.
func (c Checkpoint) Sign(key Signer) ([]byte, error) {
	if err := c.mayBeSignedBy(key); err != nil {
		return nil, fmt.Errorf("sign checkpoint: %w", err)
	}
	return note.Sign(&note.Note{Text: c.Text()}, key)
}

// OpenCheckpoint returns the checkpoint in a note that the ledger's key, and no
// other, has signed.
func OpenCheckpoint(signed []byte, key Verifier) (Checkpoint, error) {
	text, err := open(signed, key)
	if err != nil {
		return Checkpoint{}, fmt.Errorf("open checkpoint: %w", err)
	}
	c, err := ParseCheckpoint(text)
	if err == nil {
		err = c.mayBeSignedBy(key)
	}
	if err != nil {
		return Checkpoint{}, fmt.Errorf("open checkpoint: %w", err)
	}
	return c, nil
}

// mayBeSignedBy reports whether the checkpoint can be said and whether the key
// is one of the ledger it speaks of.
func (c Checkpoint) mayBeSignedBy(key interface{ Name() string }) error {
	if err := c.valid(); err != nil {
		return err
	}
	if key.Name() != c.Origin {
		return fmt.Errorf("the key of %s cannot speak for %s", key.Name(), c.Origin)
	}
	return nil
}

// open returns the text of a note that bears exactly one signature of each of
// the given keys, in their order, and nothing else. C2SP signed-note would have
// a reader skip signatures of unknown keys; nobody but the ledger signs our
// notes, and a byte that nobody checks should not be there.
func open(signed []byte, keys ...Verifier) (string, error) {
	n, err := note.Open(signed, note.VerifierList(keys...))
	if err != nil {
		return "", fmt.Errorf("check signature: %w", err)
	}
	if len(n.Sigs) != len(keys) || len(n.UnverifiedSigs) > 0 {
		return "", errors.New("check signature: not signed by just the keys asked for")
	}
	again := n.Text + "\n"
	for i, sig := range n.Sigs {
		// Decoding lets unused bits of the last character pass.
		raw, err := base64.StdEncoding.DecodeString(sig.Base64)
		if err != nil || sig.Hash != keys[i].KeyHash() {
			return "", errors.New("check signature: signatures are not in order")
		}
		again += "— " + sig.Name + " " + base64.StdEncoding.EncodeToString(raw) + "\n"
	}
	if again != string(signed) {
		return "", errors.New("check signature: the note is not written as it would be signed")
	}
	return n.Text, nil
}
