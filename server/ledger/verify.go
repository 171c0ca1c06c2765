package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
	"golang.org/x/mod/sumdb/tlog"

	"tidemark/server/proof"
	"tidemark/server/record"
)

// Verification is what to verify and against what.
type Verification struct {
	Dir  string
	Fold Fold
	// Key is a public key of this ledger that is known from elsewhere; without
	// one the keys in the folder are believed.
	Key string
	// Witnesses are what was seen of this ledger earlier: signed checkpoints, or
	// what stands on prints and mails, such as "1204 9f3a00c1".
	Witnesses []string
	// Each, if not nil, is called with every record in order.
	Each func(*record.Record) error
}

// Report is what Verify found.
type Report struct {
	Identity Identity
	Size     int64
	Root     proof.Hash
	Checked  []string // what was looked at and is as it should be, in plain sentences
	Wrong    []string // what is not; nothing if all is well
}

// Verify reads a whole folder again: every record, hash, id, chain and day, the
// root, the signatures and, by folding all over again, the snapshot. It does not
// cover the outbox. It needs the folder for itself. An error says that it could
// not be read far enough to say more.
//
// One kind of damage to a page takes the process down: a server has this done
// by a child process.
func Verify(v Verification) (Report, error) {
	name := filepath.Join(v.Dir, ledgerFile)
	in, err := inspect(name)
	if err != nil {
		return Report{}, err
	}
	if in.size == 0 {
		return Report{}, damaged(nil, "There is no ledger.db in %s, or it is empty.", v.Dir)
	}
	db, err := openReadOnly(v.Dir)
	if err != nil {
		return Report{}, err
	}
	defer db.Close()
	c := &checker{Verification: v, good: in.good}
	if err := guarded(db, c.run); err != nil {
		return c.report, err
	}
	return c.report, nil
}

func openReadOnly(dir string) (db *bolt.DB, err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = damaged(fmt.Errorf("open store: %v", p), "ledger.db is damaged.")
		}
	}()
	o := *boltOptions()
	o.ReadOnly, o.PreLoadFreelist, o.InitialMmapSize = true, true, 0
	db, err = bolt.Open(filepath.Join(dir, ledgerFile), 0, &o)
	if errors.Is(err, berrors.ErrTimeout) {
		return nil, inUse(dir)
	}
	if err != nil {
		return nil, fmt.Errorf("open store: %w", err)
	}
	return db, nil
}

// checker verifies in one pass over the records.
type checker struct {
	Verification
	report Report
	good   int // valid meta pages
	tx     *bolt.Tx
	keys   []KeyEntry
	state  folding
	roots  map[int64]proof.Hash // at the sizes that somebody has signed or seen
	prints []uint64
	marks  group // collects what the days have to be
	snap   snapshotMeta
	chunk  int64 // of hashes, the one that is in value
	value  []byte
}

// most is how many findings are worth reading.
const most = 20

func (c *checker) wrong(format string, args ...any) {
	if len(c.report.Wrong) < most {
		c.report.Wrong = append(c.report.Wrong, fmt.Sprintf(format, args...))
	}
}

func (c *checker) checked(format string, args ...any) {
	c.report.Checked = append(c.report.Checked, fmt.Sprintf(format, args...))
}

func (c *checker) run(tx *bolt.Tx) error {
	c.tx, c.chunk = tx, -1
	c.state = folding{&state{subjects: map[record.Subject]entry{}, days: dayMarks{}},
		map[record.Subject]struct{}{}}
	c.marks.l = &Ledger{now: state{days: dayMarks{}}}
	for _, step := range []func() error{c.identity, c.wantedRoots, c.records, c.rest, c.ids,
		c.days, c.signatures, c.witnesses, c.structure} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func (c *checker) identity() error {
	for _, name := range buckets() {
		if c.tx.Bucket(name) == nil {
			return damaged(nil, "ledger.db has no %s.", name)
		}
	}
	var err error
	if c.report.Identity, err = readIdentity(c.tx, c.Dir); err != nil {
		return err
	}
	if _, err := getJSON(c.tx, metaKeys, &c.keys); err != nil {
		return err
	}
	if _, err = getJSON(c.tx, metaSnapshot, &c.snap); err != nil {
		return err
	}
	if _, err = readAccepted(c.tx); err != nil {
		return err
	}
	if err = c.heldWitness(); err != nil {
		return err
	}
	return c.tx.Bucket(inMeta).ForEach(func(k, _ []byte) error {
		if !slices.ContainsFunc([][]byte{metaIdentity, metaKeys, metaSnapshot, metaAccepted, metaWitness},
			func(known []byte) bool { return bytes.Equal(k, known) }) {
			c.wrong("ledger.db holds %q, which is not known here.", k)
		}
		return nil
	})
}

// rest checks what can only be said at the end.
func (c *checker) rest() error {
	c.snapshotHere()
	if c.snap.Size > c.state.size() {
		c.wrong("The snapshot is of %d records.", c.snap.Size)
	}
	want := tlog.StoredHashCount(c.report.Size) / proof.ChunkHashes
	if n := next(c.tx.Bucket(inHashes)); n != want {
		c.wrong("There are %d chunks of hashes, not %d.", n, want)
	}
	c.checked("Every hash of the tree was made again. The root is %x.", c.report.Root[:])
	return nil
}

func (c *checker) ids() error {
	want, i := int64(len(c.prints))/chunkIDs, int64(0)
	b := c.tx.Bucket(inIDs)
	for ; i < want; i++ {
		if !bytes.Equal(b.Get(key(i)), printChunk(c.prints[i*chunkIDs:(i+1)*chunkIDs])) {
			c.wrong("The ids of records %d to %d are not those that were stored.",
				i*chunkIDs, (i+1)*chunkIDs-1)
		}
	}
	if n := next(b); n != want {
		c.wrong("There are %d chunks of ids, not %d.", n, want)
	}
	slices.Sort(c.prints)
	if unique := len(slices.Compact(c.prints)); int64(unique) != c.report.Size {
		c.wrong("%d records have an id that another one has, too.", c.report.Size-int64(unique))
	}
	c.checked("No id was used twice.")
	return nil
}

func (c *checker) days() error {
	want := map[string]string{}
	for _, m := range c.marks.marks {
		want[string(m.key())] = string(key(int64(m.first)))
	}
	c.sameRows(inDays, want)
	want = map[string]string{}
	for _, m := range c.marks.apart {
		want[string(m.key())] = ""
	}
	c.sameRows(inApart, want)
	c.checked("Every day begins where it did.")
	return nil
}

func (c *checker) sameRows(bucket []byte, want map[string]string) {
	cursor := c.tx.Bucket(bucket).Cursor()
	for k, v := cursor.First(); k != nil; k, v = cursor.Next() {
		if value, ok := want[string(k)]; !ok || value != string(v) {
			c.wrong("The %s hold a mark at %x that is not theirs.", bucket, k)
		}
		delete(want, string(k))
	}
	if len(want) > 0 {
		c.wrong("The %s lack %d marks.", bucket, len(want))
	}
}

// structure checks the pages of the file. It comes last: this is what damage
// can take the process down in.
func (c *checker) structure() error {
	for err := range c.tx.Check() {
		c.wrong("The pages of ledger.db are damaged: %v.", err)
	}
	if c.good < 2 {
		c.wrong("One of the two beginnings of ledger.db is damaged; the next record repairs it.")
	}
	if _, err := os.Stat(filepath.Join(c.Dir, suspectFile)); err == nil {
		c.wrong("The last commit ended in doubt; the next start copies the store.")
	}
	c.checked("The pages of ledger.db hang together.")
	return nil
}
