package server

import (
	"archive/zip"
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/proof"
	"tidemark/server/record"
	"tidemark/server/report"
)

// VerifyPack checks a record pack without any store: that it is whole and signed,
// that its records are in the ledger that signed it, follow each other, and that
// what else lies in it fits them. Key and witnesses are as of Verify.
func VerifyPack(name, key string, witnesses []string) (ledger.Report, error) {
	f, err := os.Open(name)
	if err != nil {
		return ledger.Report{}, fault.Wrap(err, fault.Unknown, "there is no pack %s", name)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return ledger.Report{}, err
	}
	c := &packChecker{records: map[record.Seq]*record.Record{}}
	if err := c.open(f, info.Size(), key); err != nil {
		return c.Report, fault.Wrap(err, fault.Invalid, "this pack is not as it was signed, or it is none")
	}
	for _, step := range []func() error{c.inclusion, c.chains, c.sealed, c.tables} {
		if err := step(); err != nil {
			c.wrong("%v", err)
			return c.Report, nil
		}
	}
	c.witnesses(witnesses)
	return c.Report, nil
}

type packChecker struct {
	ledger.Report
	pack    *proof.Pack
	records map[record.Seq]*record.Record
	order   []record.Seq
}

func (c *packChecker) wrong(format string, args ...any) {
	c.Wrong = append(c.Wrong, fmt.Sprintf(format, args...))
}

func (c *packChecker) checked(format string, args ...any) {
	c.Checked = append(c.Checked, fmt.Sprintf(format, args...))
}

// open opens the pack with the key that was given, or the newest that it names.
func (c *packChecker) open(f io.ReaderAt, size int64, key string) error {
	z, err := zip.NewReader(f, size)
	if err != nil {
		return err
	}
	if key == "" {
		text, err := unchecked(z, proof.KeysName)
		if err != nil {
			return err
		}
		lines := strings.Split(strings.TrimSpace(text), "\n")
		key = lines[len(lines)-1]
		c.checked("No key was given: the pack's own is believed, %s. Compare it with one from elsewhere.", key)
	} else if text, err := unchecked(z, proof.ChangesName); err == nil {
		newest, followed := proof.FollowKeys(key, proof.SplitKeyChanges(text)...)
		if followed > 0 {
			c.checked("The key that was given leads to the one that signed, over %d changes, each signed by both keys: %s.", followed, newest)
		}
		key = newest
	}
	verifier, err := proof.NewVerifier(key)
	if err != nil {
		return err
	}
	if c.pack, err = proof.OpenPack(f, size, verifier); err != nil {
		return err
	}
	c.Size, c.Root = c.pack.Size, c.pack.Root
	c.checked("Every file is the one that the signed manifest lists (%d files). The PDFs match the manifest only.", len(c.pack.Files))
	return nil
}

// unchecked reads a file of a pack that is not opened yet.
func unchecked(z *zip.Reader, name string) (string, error) {
	f, err := z.Open(name)
	if err != nil {
		return "", err
	}
	text, err := io.ReadAll(io.LimitReader(f, 1<<20))
	return string(text), errors.Join(err, f.Close())
}

func (c *packChecker) inclusion() error {
	n, err := c.pack.CheckRecords()
	if err != nil {
		return err
	}
	c.checked("All %d records are, byte for byte, in the ledger of %d records that was signed.", n, c.Size)
	data, err := c.pack.Read(proof.RecordsName)
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, len(data)+1)
	for lines.Scan() {
		r, err := record.Parse(bytes.Clone(lines.Bytes()))
		if err != nil {
			return fmt.Errorf("a record cannot be read: %w", err)
		}
		c.records[r.Seq] = &r
		c.order = append(c.order, r.Seq)
	}
	return lines.Err()
}

// chains tells where records of a subject lie between others and are not in the
// pack: that is no fault of it, but whoever reads it should know.
func (c *packChecker) chains() error {
	heads := map[record.Subject]record.Seq{}
	gaps := 0
	for _, seq := range c.order {
		r := c.records[seq]
		if before, known := heads[r.Subject]; known && r.Prev != before {
			gaps++
		}
		heads[r.Subject] = seq
	}
	if gaps > 0 {
		c.checked("In %d places a record follows one that is not in the pack: a pack covers a period, or a part of the house. "+
			"What lies between can be asked for by its number.", gaps)
		return nil
	}
	c.checked("The records of each of %d subjects follow each other without a gap.", len(heads))
	return nil
}

// sealed checks names and notes against what the records commit to.
func (c *packChecker) sealed() error {
	data, err := c.pack.Read(proof.SealedName)
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	lines.Buffer(nil, len(data)+1)
	there, removed := 0, 0
	for lines.Scan() {
		var s proof.SealedLine
		if err := json.Unmarshal(lines.Bytes(), &s); err != nil {
			return fmt.Errorf("a line of %s cannot be read: %w", proof.SealedName, err)
		}
		r := c.records[record.Seq(s.Seq)]
		if s.Removed != "" {
			removed++
			continue
		}
		salt, err := hex.DecodeString(s.Salt)
		if err != nil || len(salt) != 32 || r == nil ||
			people.Commitment(people.Value{Domain: s.Domain, Bytes: []byte(s.Value)}, [32]byte(salt)) != r.Sealed[s.Field] {
			c.wrong("The %s of record %d is not the one that the record commits to.", s.Field, s.Seq)
			continue
		}
		there++
	}
	c.checked("%d names and notes are those that the records commit to; %d were removed.", there, removed)
	return lines.Err()
}

// named are columns that cannot be made again from the records of the pack alone:
// names, and times in the department's zone.
var named = []string{"happened_from", "happened_to", "written_down", "sealer", "pouch_name", "problem_number", "who", "on_behalf",
	"note", "left_sealer", "gave_nothing"}

// tables makes the tables again from the records and compares them.
func (c *packChecker) tables() error {
	made := map[record.Kind]*bytes.Buffer{}
	w := report.NewCSV(func(kind record.Kind) (io.Writer, error) {
		made[kind] = &bytes.Buffer{}
		return made[kind], nil
	})
	for _, seq := range c.order {
		if err := w.Write(&report.Row{Record: c.records[seq], Zone: time.UTC}); err != nil {
			return err
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	for kind, want := range made {
		held, err := c.pack.Read("csv/" + string(kind) + ".csv")
		if err != nil {
			return err
		}
		same, err := sameTable(held, want.Bytes())
		if err != nil {
			return fmt.Errorf("table of %s: %w", kind, err)
		}
		if !same {
			c.wrong("The table of %s does not say what the records say.", kind)
		}
	}
	if len(c.Wrong) == 0 {
		c.checked("%d tables were made again and say what the records say; their columns of names and local times match the manifest only.", len(made))
	}
	return nil
}

func sameTable(held, want []byte) (bool, error) {
	a, err := readTable(held)
	if err != nil {
		return false, err
	}
	b, err := readTable(want)
	if err != nil || len(a) != len(b) || len(a) == 0 || !slices.Equal(a[0], b[0]) {
		return false, err
	}
	for i := range a {
		for n, column := range a[0] {
			if !slices.Contains(named, column) && a[i][n] != b[i][n] {
				return false, nil
			}
		}
	}
	return true, nil
}

func readTable(data []byte) ([][]string, error) {
	return csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff")))).ReadAll()
}

// witnesses compares what was seen at just the size of the pack.
func (c *packChecker) witnesses(list []string) {
	for _, w := range list {
		var size int64
		var root string
		if _, err := fmt.Sscanf(w, "%d %s", &size, &root); err != nil || len(root) < 8 {
			c.wrong("A witness cannot be read: %q.", w)
			continue
		}
		switch {
		case size != c.Size:
			c.checked("A witness has seen %d records: a pack of %d cannot be compared with it.", size, c.Size)
		case !strings.HasPrefix(fmt.Sprintf("%x", c.Root[:]), root):
			c.wrong("The ledger that signed is not the one that a witness has seen at %d records.", size)
		default:
			c.checked("A witness has seen the ledger of %d records as it was signed.", size)
		}
	}
}
