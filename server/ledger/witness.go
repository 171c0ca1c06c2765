package ledger

import (
	"fmt"
	"slices"
	"strings"

	"tidemark/server/proof"
)

// wantedRoots notes the sizes at which somebody has signed or seen the root.
func (c *checker) wantedRoots() error {
	c.roots = map[int64]proof.Hash{0: (&proof.Frontier{}).Root()}
	signed, err := readAnchor(c.Dir)
	if err != nil {
		return err
	}
	if a, err := openCheckpoint(signed, c.keys); err == nil {
		c.roots[a.Size] = proof.Hash{}
	}
	for _, e := range c.keys {
		c.roots[e.From] = proof.Hash{}
	}
	for _, w := range c.Witnesses {
		if size, _, err := c.readWitness(w); err == nil {
			c.roots[size] = proof.Hash{}
		}
	}
	c.roots[0] = (&proof.Frontier{}).Root()
	return nil
}

// signatures checks the chain of keys and the anchor.
func (c *checker) signatures() error {
	c.keyChanges()
	signed, err := readAnchor(c.Dir)
	if err != nil {
		return err
	}
	a, err := openCheckpoint(signed, c.keys)
	switch {
	case signed == nil:
		c.wrong("The anchor is missing: whether the ledger went back cannot be told.")
	case err != nil || a.Origin != c.report.Identity.Origin:
		c.wrong("The anchor was not signed by a key of this ledger.")
	case a.Size > c.report.Size:
		c.wrong("The ledger went back: it holds %d records and has held %d.", c.report.Size, a.Size)
	case c.roots[a.Size] != a.Root:
		c.wrong("The first %d records are not those that the anchor was signed for.", a.Size)
	default:
		c.checked("The anchor was signed for the first %d records.", a.Size)
	}
	return nil
}

// keyChanges follows the keys from one to the next.
func (c *checker) keyChanges() {
	trusted := c.Key == ""
	for i, e := range c.keys {
		trusted = trusted || e.Public == c.Key
		if i == 0 {
			continue
		}
		if len(e.Change) == 0 {
			c.checked("At %d records the signing key was lost and a new one taken into use: "+
				"nothing but this folder says so.", e.From)
			trusted = c.Key == "" || e.Public == c.Key
			continue
		}
		k, err := proof.OpenKeyChange(e.Change, c.keys[i-1].Public)
		if err != nil || k.New != e.Public || k.Size != e.From || k.Root != c.roots[k.Size] {
			c.wrong("The change to key %d was not signed by the key before for these records.", i+1)
		}
	}
	if !trusted {
		c.wrong("The key that was given is not one that leads to the key in use.")
	}
	c.checked("%d signing keys, each taken over from the one before.", len(c.keys))
}

// readWitness reads a signed checkpoint or the short form of one.
func (c *checker) readWitness(w string) (size int64, root string, err error) {
	if strings.Contains(w, "\n") {
		seen, err := openCheckpoint([]byte(w), c.keys)
		if err == nil && seen.Origin != c.report.Identity.Origin {
			err = fmt.Errorf("it is of %s", seen.Origin)
		}
		return seen.Size, fmt.Sprintf("%x", seen.Root[:]), err
	}
	_, err = fmt.Sscanf(w, "%d %s", &size, &root)
	return size, root, err
}

// witnesses compares what was seen earlier.
func (c *checker) witnesses() error {
	for _, w := range c.Witnesses {
		size, root, err := c.readWitness(w)
		held := c.roots[size]
		switch {
		case err != nil || size < 0 || len(root) < 8:
			c.wrong("A witness cannot be read: %q (%v).", w, err)
		case size > c.report.Size:
			c.wrong("The ledger went back: it holds %d records, a witness has seen %d.",
				c.report.Size, size)
		case !strings.HasPrefix(fmt.Sprintf("%x", held[:]), root):
			c.wrong("The first %d records are not those that a witness has seen.", size)
		default:
			c.checked("A witness has seen the first %d records as they are.", size)
		}
	}
	return nil
}

// heldWitness takes what stopped the server for a witness, too.
func (c *checker) heldWitness() error {
	var token string
	_, err := getJSON(c.tx, metaWitness, &token)
	if err != nil || token == "" {
		return err
	}
	_, _, signed, ok := unpackToken(c.report.Identity.Origin, token)
	if !ok {
		return damaged(nil, "The witness in ledger.db is damaged.")
	}
	c.Witnesses = append(slices.Clip(c.Witnesses), string(signed))
	return nil
}
