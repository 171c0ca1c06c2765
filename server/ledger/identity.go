package ledger

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// format is the version of the buckets' layout.
const format = 1

var metaIdentity = []byte("identity")

// Identity says which ledger this is. It is made with the ledger and never
// changes.
type Identity struct {
	Format int         `json:"format"`
	Site   record.ID   `json:"site"`   // random
	Origin string      `json:"origin"` // what checkpoints call it
	Demo   bool        `json:"demo,omitempty"`
	Since  record.Time `json:"since"`
}

// Identity returns the ledger's identity.
func (l *Ledger) Identity() Identity { return l.identity }

func newIdentity(o Options) (Identity, error) {
	id := Identity{Format: format, Demo: o.Demo, Since: record.TimeOf(o.Clock())}
	if _, err := io.ReadFull(o.Random, id.Site[:]); err != nil {
		return id, fmt.Errorf("make identity: %w", err)
	}
	id.Origin = o.Origin + "/" + id.Site.String()
	if o.Demo {
		id.Origin = o.Origin + "/demo/" + id.Site.String()
	}
	return id, nil
}

// readIdentity reads it, after a look at the format that all else depends on.
func readIdentity(tx *bolt.Tx, dir string) (id Identity, err error) {
	var only struct{ Format int }
	_ = json.Unmarshal(tx.Bucket(inMeta).Get(metaIdentity), &only) // read again below
	if only.Format > format {
		return id, fault.New(fault.Unsupported,
			"The data folder %s was made by a newer version of this program. Start that one.", dir)
	}
	ok, err := getJSON(tx, metaIdentity, &id)
	if err == nil && (!ok || id.Format < 1) {
		err = damaged(nil, "ledger.db does not say whose it is.")
	}
	return id, err
}

// fits reports whether this program, as it was started, may use the ledger.
func (id Identity) fits(o Options) error {
	switch {
	case id.Demo && !o.Demo:
		return fault.New(fault.Forbidden,
			"The data folder %s was made by a demo: its PINs are known and its history is made up. "+
				"Start with an empty folder.", o.Dir)
	case o.Demo && !id.Demo:
		return fault.New(fault.Forbidden,
			"The data folder %s holds real records. Start the demo with an empty folder.", o.Dir)
	}
	return nil
}

func putJSON(tx *bolt.Tx, name []byte, value any) error {
	b, err := json.Marshal(value)
	if err != nil {
		return fmt.Errorf("encode %s: %w", name, err)
	}
	if err := tx.Bucket(inMeta).Put(name, b); err != nil {
		return fmt.Errorf("put %s: %w", name, err)
	}
	return nil
}

// getJSON reads what putJSON wrote and reports whether there was anything.
func getJSON(tx *bolt.Tx, name []byte, into any) (bool, error) {
	b := tx.Bucket(inMeta).Get(name)
	if b == nil {
		return false, nil
	}
	err := json.Unmarshal(b, into)
	if again, _ := json.Marshal(into); err != nil || !bytes.Equal(again, b) {
		return false, damaged(err, "The %s in ledger.db is damaged.", name)
	}
	return true, nil
}
