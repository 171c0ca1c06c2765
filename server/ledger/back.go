package ledger

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/proof"
)

// What others have seen of the ledger is the only thing that tells, from
// outside, that an older copy was put in the place of a newer one. So every
// answer of a server carries a Sight, every request brings the last one back,
// and as soon as one shows more than is here, or something else, nothing is
// stored any more until a person has decided.

var (
	metaAccepted = []byte("accepted")
	metaWitness  = []byte("witness")
)

// acceptedLoss says how much others have seen of records that are known to be gone.
type acceptedLoss struct {
	Seen int64 `json:"seen"`
	Kept int64 `json:"kept,omitempty"` // records that were here when the loss was accepted
}

// covers reports whether a sight of so many records may differ from what is here.
func (a acceptedLoss) covers(size int64) bool { return size > a.Kept && size <= a.Seen }

// Sight is what an answer shows of the ledger.
type Sight struct {
	Size int64
	Root proof.Hash
	// Token is the same signed by the ledger's key: whoever brings it back has
	// seen it. It holds no space, comma, semicolon or quote.
	Token string
}

// Sight returns what is to be seen of the ledger now. It is signed once for each
// size that somebody asks at, however many ask together.
func (l *Ledger) Sight() (Sight, error) {
	if last := l.sight.Load(); last != nil && last.Size == l.Size() {
		return *last, nil // without hashing the edge of the tree
	}
	l.signing.Lock()
	defer l.signing.Unlock()
	if last := l.sight.Load(); last != nil && last.Size == l.Size() {
		return *last, nil
	}
	c := l.checkpoint()
	signed, err := c.Sign(l.signer())
	if err != nil {
		return Sight{}, err
	}
	s := &Sight{c.Size, c.Root, tokenOf(c, signed)}
	l.sight.Store(s)
	return *s, nil
}

// tokenOf packs a signed checkpoint: size, root and signature, without what every
// one of this ledger has in common.
func tokenOf(c proof.Checkpoint, signed []byte) string {
	signature := signed[strings.LastIndexByte(string(signed), ' ')+1:]
	return fmt.Sprintf("%d.%s.%s", c.Size, base64.StdEncoding.EncodeToString(c.Root[:]),
		strings.TrimSpace(string(signature)))
}

// unpackToken makes the signed checkpoint again; nothing of it is believed yet.
func unpackToken(origin, token string) (size int64, root proof.Hash, signed []byte, ok bool) {
	parts := strings.Split(token, ".")
	if len(parts) != 3 || len(token) > 300 {
		return 0, root, nil, false
	}
	size, err := strconv.ParseInt(parts[0], 10, 64)
	raw, err2 := base64.StdEncoding.DecodeString(parts[1])
	if err != nil || err2 != nil || len(raw) != len(root) {
		return 0, root, nil, false
	}
	note := fmt.Sprintf("%s\n%s\n%s\n\n— %s %s\n", origin, parts[0], parts[1], origin, parts[2])
	return size, proof.Hash(raw), []byte(note), true
}

// Witness takes the token of a Sight that somebody brings back and reports
// whether the ledger went back, or went another way, since it was seen: then it
// is a *Damage, and nothing is stored any more until AcceptLoss. A token that no
// key of this ledger has signed says nothing, so no stranger can stop a server.
func (l *Ledger) Witness(token string) error {
	if back := l.back.Load(); back != nil {
		return back
	}
	size, root, signed, ok := unpackToken(l.identity.Origin, token)
	if !ok {
		return nil
	}
	l.mu.RLock()
	here, lost := l.now.tree.Size(), l.now.lost
	l.mu.RUnlock()
	if lost.covers(size) || size <= here && l.had(size, root) {
		return nil
	}
	if _, err := openCheckpoint(signed, l.Keys()); err != nil {
		return nil
	}
	if size > here {
		return l.wentBack(here, size, token)
	}
	d := damaged(nil, "The ledger went another way: its first %d records are not those that have been seen.", size)
	d.Do = backWayOut
	return l.raise(d, token)
}

// had reports whether the first records have, or had, that root.
func (l *Ledger) had(size int64, root proof.Hash) bool {
	if last := l.sight.Load(); last != nil && last.Size == size {
		return last.Root == root
	}
	if l.roots.get(size) == root {
		return true
	}
	_, hashes := l.Hashes()
	c, err := proof.NewCheckpoint(l.identity.Origin, size, hashes)
	if err != nil {
		l.o.Log.Error("read the root that was seen", "size", size, "err", err)
		return true // damage inside is told by others; this is not going back
	}
	l.roots.put(size, c.Root)
	return c.Root == root
}

const backWayOut = "If it was restored from an older backup on purpose, accept the loss: " +
	"tidemark accept-loss -data DIR. If not, stop the server and put the newer data folder back."

func (l *Ledger) wentBack(here, seen int64, token string) error {
	d := damaged(nil, "The ledger went back: it holds %d records, and %d have been seen.", here, seen)
	d.Do = backWayOut
	return l.raise(d, token)
}

// raise stops all storing and keeps the token, so that a restart forgets nothing.
func (l *Ledger) raise(d *Damage, token string) error {
	if !l.back.CompareAndSwap(nil, d) {
		return l.back.Load()
	}
	l.o.Log.Error("nothing is stored any more", "why", d.What, "do", d.Do)
	err := l.update(func(tx *bolt.Tx) error { return putJSON(tx, metaWitness, token) })
	if err != nil {
		l.o.Log.Error("keep what a witness has seen", "err", err)
	}
	return d
}

// recallWitness raises again what was raised before the server stopped.
func (l *Ledger) recallWitness() error {
	var token string
	err := l.view(func(tx *bolt.Tx) error {
		_, err := getJSON(tx, metaWitness, &token)
		return err
	})
	if err != nil || token == "" {
		return err
	}
	err = l.Witness(token)
	if d := (*Damage)(nil); errors.As(err, &d) {
		return nil // it starts, read-only
	}
	return err
}

// WentBack returns what Witness has found, nil if nothing did.
func (l *Ledger) WentBack() error {
	if d := l.back.Load(); d != nil {
		return d
	}
	return nil
}

// refuseBack is the answer to whoever wants to store something meanwhile.
func (l *Ledger) refuseBack() error {
	if l.back.Load() == nil {
		return nil
	}
	return fault.New(fault.Busy, "Nothing was stored: the records here are older than what was seen of them. "+
		"IT has to decide first. Write it on paper, or leave it on the phone.")
}

// AcceptLoss says that a person knows of records that were seen and are gone:
// from here on up to so many may have been seen, at least as many as Witness has
// been told of.
func (l *Ledger) AcceptLoss(seen int64) error {
	l.mu.RLock()
	here, before := l.now.tree.Size(), l.now.lost
	l.mu.RUnlock()
	lost := acceptedLoss{Seen: max(seen, before.Seen), Kept: here}
	if before.Seen > 0 {
		lost.Kept = min(before.Kept, here)
	}
	err := l.update(func(tx *bolt.Tx) error {
		var token string
		if _, err := getJSON(tx, metaWitness, &token); err != nil {
			return err
		}
		if size, _, _, ok := unpackToken(l.identity.Origin, token); ok {
			lost.Seen = max(lost.Seen, size)
			if size <= here { // it went another way
				lost.Kept = 0
			}
		}
		if err := tx.Bucket(inMeta).Delete(metaWitness); err != nil {
			return err
		}
		return putJSON(tx, metaAccepted, lost)
	})
	if err != nil {
		return fmt.Errorf("accept loss: %w", err)
	}
	l.mu.Lock()
	l.now.lost = lost
	l.mu.Unlock()
	l.back.Store(nil)
	return nil
}

func readAccepted(tx *bolt.Tx) (a acceptedLoss, err error) {
	_, err = getJSON(tx, metaAccepted, &a)
	return a, err
}
