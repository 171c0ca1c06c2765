package desk

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"tidemark/server/durable"
	"tidemark/server/fault"
	"tidemark/server/proof"
	"tidemark/server/record"
	"tidemark/server/report"
)

// PackIn asks for a record pack: sealers by the codes of their labels, all of
// them without; the last 30 days without a period; the ledger as it was at Size,
// as it is without.
type PackIn struct {
	PeriodIn
	Sealers []string `query:"sealer"`
	Size    int64    `query:"size"`
}

// RecordPack is a pack that was made. Close it.
type RecordPack struct {
	io.ReadSeeker
	Name    string
	scratch *durable.Scratch
}

// Close takes the pack away.
func (p *RecordPack) Close() error { return p.scratch.Close() }

// RecordPack makes a record pack in temporary files: made again at the same
// size it is the same, byte for byte, as long as nothing was erased and the
// ledger signs with the same key. One is made at a time. Nothing is recorded.
func (d *Desk) RecordPack(ctx context.Context, who Caller, in PackIn, words PackWords) (*RecordPack, error) {
	if _, err := d.may(who, "RecordPack"); err != nil {
		return nil, err
	}
	select {
	case d.packing <- struct{}{}:
		defer func() { <-d.packing }()
	default:
		return nil, fault.New(fault.Busy, "Another record pack is being made. Try again in a minute.")
	}
	g, err := d.gather(ctx, who, in, words)
	if err != nil {
		return nil, err
	}
	scratch, err := durable.NewScratch()
	if err != nil {
		return nil, err
	}
	m := &packer{gathered: g, scratch: scratch}
	file, err := m.make()
	if err != nil {
		return nil, errors.Join(err, m.close(), scratch.Close())
	}
	name := fmt.Sprintf("records-%s-to-%s-at-%d.zip", g.scope.From, g.scope.To, g.past.Size())
	return &RecordPack{file, name, scratch}, nil
}

// RecordSection draws one section of what would be a record pack.
func (d *Desk) RecordSection(ctx context.Context, who Caller, in PackIn, id string, words PackWords) (*PackSheet, error) {
	if _, err := d.may(who, "RecordPack"); err != nil {
		return nil, err
	}
	g, err := d.gather(ctx, who, in, words)
	if err != nil {
		return nil, err
	}
	if err := g.place(nil); err != nil {
		return nil, err
	}
	book, err := g.book()
	if err != nil {
		return nil, err
	}
	sheet, err := report.Keep(book, words, id)
	if err != nil {
		return nil, err
	}
	view := &PackSheet{Sheet: *sheet, From: g.scope.From, To: g.scope.To, AsOf: book.AsOf, Mark: book.Mark}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	return view, nil
}

// PackSheet is one section of a record pack.
type PackSheet struct {
	Frame
	report.Sheet
	From record.Date `json:"from"`
	To   record.Date `json:"to"`
	AsOf string      `json:"as_of"` // when the last of its records was written down
	Mark string      `json:"mark"`  // size and first digits of the root it was drawn from
}

// SigningKey is the public half of the key that signs packs now: whoever holds it
// can verify them without this server.
func (d *Desk) SigningKey() string {
	keys := d.ledger.Keys()
	return keys[len(keys)-1].Public
}

// PackSections lists the sections of a record pack.
func PackSections() []report.Section { return report.Sections }

// packer makes the files of a pack.
type packer struct {
	*gathered
	scratch *durable.Scratch
	files   []*packFile
	done    []proof.Content
}

// packFile is a file of the pack as it is written.
type packFile struct {
	*proof.Meter
	name string
	file durable.ScratchFile
	held *bufio.Writer
}

func (m *packer) create(name string) (*packFile, error) {
	file, err := m.scratch.Create()
	if err != nil {
		return nil, err
	}
	h := bufio.NewWriter(file)
	f := &packFile{proof.NewMeter(h), name, file, h}
	m.files = append(m.files, f)
	return f, nil
}

// finish closes a file and takes it into the pack.
func (m *packer) finish(f *packFile) error {
	m.files = slices.DeleteFunc(m.files, func(o *packFile) bool { return o == f })
	if err := errors.Join(f.held.Flush(), f.file.Close()); err != nil {
		return fmt.Errorf("write %s: %w", f.name, err)
	}
	m.done = append(m.done, f.Content(f.name, func() (io.ReadCloser, error) { return m.scratch.Open(f.file.Name()) }))
	return nil
}

// close lets go of what was not finished.
func (m *packer) close() (err error) {
	for _, f := range m.files {
		err = errors.Join(err, f.file.Close())
	}
	return err
}

// make writes every file and then the pack of them.
func (m *packer) make() (durable.ScratchFile, error) {
	for _, step := range []func() error{m.records, m.print, m.proofs} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(m.done, func(a, b proof.Content) int { return strings.Compare(a.Name, b.Name) })
	zip, err := m.scratch.Create()
	if err != nil {
		return nil, err
	}
	h := bufio.NewWriter(zip)
	err = m.d.ledger.Pack(h, m.checkpoint, m.done)
	if err = errors.Join(err, h.Flush()); err != nil {
		return nil, errors.Join(err, zip.Close())
	}
	_, err = zip.Seek(0, io.SeekStart)
	return zip, err
}

// records writes JSON Lines and tables in one go through the ledger.
func (m *packer) records() error {
	lines, err := m.create(proof.RecordsName)
	if err != nil {
		return err
	}
	sealed, err := m.create(proof.SealedName)
	if err != nil {
		return err
	}
	tables := report.NewCSV(func(kind record.Kind) (io.Writer, error) { return m.create("csv/" + string(kind) + ".csv") })
	out := report.NewLines(lines, sealed)
	err = m.place(func(r *record.Record, line []byte, p report.Place) error {
		if err := out.Write(r.Seq, line); err != nil {
			return err
		}
		if err := m.sealedOf(r, out); err != nil {
			return err
		}
		return tables.Write(m.row(r, p))
	})
	if err = errors.Join(err, tables.Flush()); err != nil {
		return err
	}
	m.seqs = out.Seqs
	for _, f := range slices.Clone(m.files) {
		if err := m.finish(f); err != nil {
			return err
		}
	}
	return nil
}

// print draws the volumes.
func (m *packer) print() error {
	book, err := m.book()
	if err != nil {
		return err
	}
	look := report.Look{Title: "Records of heat sealers", Place: m.placeAndPeriod(), Mark: book.Mark, Demo: book.Demo,
		Letter: m.frame.Dept.Fahrenheit, Dated: m.past.Clock().Time()}
	pdf := report.NewPDF(look, func(volume int) (io.WriteCloser, error) {
		f, err := m.create(fmt.Sprintf("record-pack-%d.pdf", volume))
		return finishing{f, m}, err
	})
	if err := report.DrawPDF(book, m.words, pdf); err != nil {
		return err
	}
	_, err = pdf.Close()
	return err
}

// finishing takes a file into the pack when it is closed.
type finishing struct {
	*packFile
	m *packer
}

func (f finishing) Close() error { return f.m.finish(f.packFile) }

// proofs writes what the pack is checked by.
func (m *packer) proofs() error {
	inclusion, err := m.d.ledger.Prove(m.past.Size(), m.seqs)
	if err != nil {
		return err
	}
	var keys strings.Builder
	var changes [][]byte
	for _, k := range m.d.ledger.Keys() {
		keys.WriteString(k.Public + "\n")
		if len(k.Change) > 0 {
			changes = append(changes, k.Change)
		}
	}
	for name, text := range map[string]string{proof.InclusionName: inclusion.Text(), proof.CheckpointName: string(m.signed),
		proof.KeysName: keys.String(), proof.ChangesName: proof.JoinKeyChanges(changes), "read-me.txt": report.ReadMe} {
		f, err := m.create(name)
		if err != nil {
			return err
		}
		if _, err := io.WriteString(f, text); err != nil {
			return err
		}
		if err := m.finish(f); err != nil {
			return err
		}
	}
	return nil
}
