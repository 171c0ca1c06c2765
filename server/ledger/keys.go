package ledger

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/proof"
)

var metaKeys = []byte("keys")

// KeyEntry is a public key that a ledger signs or has signed with.
type KeyEntry struct {
	Public string `json:"public"`
	From   int64  `json:"from"` // size of the ledger when it was taken into use
	// Change is the note in which the key before and this one sign the change
	// (proof.KeyChange). It is missing for the first key, and where the key
	// before was lost.
	Change []byte `json:"change,omitempty"`
}

// keys is the key in use and those before it.
type keys struct {
	dir     string
	signer  proof.Signer
	entries []KeyEntry // the newest last
}

// Keys returns the ledger's public keys, the oldest first.
func (l *Ledger) Keys() []KeyEntry {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return append([]KeyEntry(nil), l.keys.entries...)
}

// newKey makes a key, stores its secret half and returns it with its public one.
func newKey(o Options, origin string) (proof.Signer, string, error) {
	secret, public, err := proof.NewKey(o.Random, origin)
	if err != nil {
		return nil, "", err
	}
	signer, err := proof.NewSigner(secret)
	if err != nil {
		return nil, "", err
	}
	err = os.Mkdir(o.Keys, 0o700)
	if err == nil || errors.Is(err, os.ErrExist) {
		err = durable.SyncDir(filepath.Dir(o.Keys)) // or the key is lost with its folder
	}
	if err != nil {
		return nil, "", fmt.Errorf("make folder of keys: %w", err)
	}
	if err := durable.WriteFile(o.Keys, keyFile(signer), []byte(secret+"\n")); err != nil {
		return nil, "", fmt.Errorf("store key: %w", err)
	}
	return signer, public, nil
}

// keyFile names the file of a key, so that no key can ever replace another.
func keyFile(k interface{ KeyHash() uint32 }) string {
	return fmt.Sprintf("ledger-%08x.key", k.KeyHash())
}

// loadKeys reads the entries and the secret half of the newest.
func loadKeys(tx *bolt.Tx, o Options) (*keys, error) {
	k := &keys{dir: o.Keys}
	if ok, err := getJSON(tx, metaKeys, &k.entries); err != nil || !ok || len(k.entries) == 0 {
		return nil, errors.Join(err, damaged(nil, "ledger.db names no key."))
	}
	verifier, err := proof.NewVerifier(k.entries[len(k.entries)-1].Public)
	if err != nil {
		return nil, damaged(err, "The key in ledger.db is damaged.")
	}
	secret, err := os.ReadFile(filepath.Join(k.dir, keyFile(verifier)))
	if errors.Is(err, os.ErrNotExist) {
		return k, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read key: %w", err)
	}
	k.signer, err = proof.NewSigner(strings.TrimSpace(string(secret)))
	if err != nil || k.signer.KeyHash() != verifier.KeyHash() || k.signer.Name() != verifier.Name() {
		return nil, fault.Wrap(err, fault.Invalid,
			"The signing key in %s is not the one of this ledger.", k.dir)
	}
	return k, nil
}

// ready makes sure that there is a key to sign with.
func (l *Ledger) readyKey() error {
	if l.keys.signer != nil {
		return nil
	}
	if !l.o.NewKey {
		return fault.New(fault.Invalid, "The signing key is not in %s. Put it back there, or, "+
			"if it is lost, start once with -new-key.", l.keys.dir)
	}
	signer, public, err := newKey(l.o, l.identity.Origin)
	if err != nil {
		return err
	}
	return l.useKey(signer, KeyEntry{Public: public, From: l.Size()})
}

// RotateKey takes a new key into use. The change is signed by the old key and
// the new one; the old secret is removed.
func (l *Ledger) RotateKey() error {
	l.rotating.Lock()
	defer l.rotating.Unlock()
	c := l.checkpoint()
	signer, public, err := newKey(l.o, c.Origin)
	if err != nil {
		return err
	}
	old := l.keys.entries[len(l.keys.entries)-1]
	change, err := proof.KeyChange{Checkpoint: c, Old: old.Public, New: public}.
		Sign(l.keys.signer, signer)
	if err != nil {
		return err
	}
	gone := keyFile(l.keys.signer)
	if err := l.useKey(signer, KeyEntry{public, c.Size, change}); err != nil {
		return err
	}
	if err := errors.Join(l.anchor.save(), os.Remove(filepath.Join(l.keys.dir, gone))); err != nil {
		return fmt.Errorf("remove old key: %w", err)
	}
	return nil
}

func (l *Ledger) useKey(signer proof.Signer, e KeyEntry) error {
	entries := append(l.Keys(), e)
	err := l.update(func(tx *bolt.Tx) error { return putJSON(tx, metaKeys, entries) })
	if err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.keys.signer, l.keys.entries = signer, entries
	return nil
}

// Checkpoint returns the size and root as a note signed by the ledger's key.
func (l *Ledger) Checkpoint() ([]byte, error) { return l.checkpoint().Sign(l.signer()) }

func (l *Ledger) signer() proof.Signer {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return l.keys.signer
}

// openCheckpoint reads a checkpoint that one of the keys has signed.
func openCheckpoint(signed []byte, entries []KeyEntry) (c proof.Checkpoint, err error) {
	err = errors.New("there is no key")
	for _, e := range entries {
		var key proof.Verifier
		if key, err = proof.NewVerifier(e.Public); err != nil {
			continue
		}
		if c, err = proof.OpenCheckpoint(signed, key); err == nil {
			return c, nil
		}
	}
	return proof.Checkpoint{}, err
}
