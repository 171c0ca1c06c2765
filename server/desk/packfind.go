package desk

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tidemark/server/fault"
	"tidemark/server/packlist"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// imported is a list that came in: the record and what it says.
type imported struct {
	id record.ID
	record.PacksListed
}

// lists keeps what was read of lists: records of them never change, and an index
// is derived from the file, once in the life of the process.
type lists struct {
	taking  sync.RWMutex // held by whoever imports; sweeping waits for it
	mutex   sync.Mutex
	records map[record.Seq]imported
	indexes map[record.ID]*packlist.Index
}

// keptIndexes is how many indexes are kept, of at most 80 kB each.
const keptIndexes = 64

// forget drops the index of a list that was not recorded after all.
func (l *lists) forget(id record.ID) {
	l.mutex.Lock()
	defer l.mutex.Unlock()
	delete(l.indexes, id)
}

// importedOf reads the records of a department's lists.
func (d *Desk) importedOf(dept record.ID) (all []imported, err error) {
	of := d.department(dept)
	if of == nil || len(of.Lists) == 0 {
		return nil, nil
	}
	d.listed.mutex.Lock()
	defer d.listed.mutex.Unlock()
	if d.listed.records == nil {
		d.listed.records = map[record.Seq]imported{}
	}
	for _, l := range of.Lists {
		if l.Gone != 0 {
			continue // taken back
		}
		it, ok := d.listed.records[l.Seq]
		if !ok {
			r, err := d.ledger.Read(l.Seq)
			if err != nil {
				return nil, err
			}
			body, err := r.Content()
			b, ok := body.(*record.PacksListed)
			if err != nil || !ok {
				return nil, fmt.Errorf("read list of packs: record %d is none", l.Seq)
			}
			it = imported{r.ID, *b}
			d.listed.records[l.Seq] = it
		}
		all = append(all, it)
	}
	return all, nil
}

// indexOf makes the index of a list. The whole file is read for it, so damage
// shows here and not in a hold list that is too short.
func (d *Desk) indexOf(it imported) (*packlist.Index, error) {
	d.listed.mutex.Lock()
	defer d.listed.mutex.Unlock()
	if x := d.listed.indexes[it.id]; x != nil {
		return x, nil
	}
	s, _, err := d.scanList(it.SHA256, d.terms(it.Columns, 0, func(n string) bool { return slices.Contains(it.Sealers, n) }), nil)
	if err != nil {
		return nil, fault.Wrap(err, fault.Internal, "A list of packs cannot be read: restore it from a backup.")
	}
	if d.listed.indexes == nil || len(d.listed.indexes) >= keptIndexes {
		d.listed.indexes = map[record.ID]*packlist.Index{}
	}
	d.listed.indexes[it.id] = s.Index
	return s.Index, nil
}

// listedPacks finds the packs of a sealer in lists that came in. A pack that is in
// two lists counts once: as often as in the list that has it most often.
func (d *Desk) listedPacks(s *rules.Sealer, span record.Span, more ...imported) (packs []rules.PackFact, err error) {
	all, err := d.importedOf(s.Dept)
	if err != nil {
		return nil, err
	}
	names := d.pouchNames(s.Dept)
	seen := map[string]int{}
	for _, it := range append(all, more...) {
		if it.First > span.To || it.Last < span.From {
			continue
		}
		here := map[string]int{}
		err := d.rowsOf(it, s, span, func(row packlist.Row) {
			key := row.Key()
			if here[key]++; here[key] <= seen[key] {
				return
			}
			seen[key] = here[key]
			packs = append(packs, rules.PackFact{ID: it.id.Derive("row at " + strconv.FormatInt(row.Offset, 10)), Pouch: names[strings.ToLower(row.Pouch)],
				Count: row.Count, At: row.At, Load: row.Load, Late: true, List: it.id, Named: row.Pouch, Mark: row.Pack})
		})
		if err != nil {
			return nil, err
		}
	}
	return packs, nil
}

// rowsOf calls each with the rows of a sealer, under any number it had at the time.
func (d *Desk) rowsOf(it imported, s *rules.Sealer, span record.Span, each func(packlist.Row)) error {
	var numbers []string
	for _, n := range append([]rules.Numbered{{Number: s.Number}}, s.Numbers...) {
		if slices.Contains(it.Sealers, n.Number) && !slices.Contains(numbers, n.Number) {
			numbers = append(numbers, n.Number)
		}
	}
	if len(numbers) == 0 {
		return nil
	}
	x, err := d.indexOf(it)
	if err != nil {
		return err
	}
	file, err := d.lists.Seek(it.SHA256)
	if err != nil {
		return fault.Wrap(err, fault.Internal, "A list of packs is missing: restore it from a backup.")
	}
	defer file.Close()
	at := func(offset, length int64) (io.ReadCloser, error) {
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
		r, err := packlist.At(file, it.Columns.Encoding, offset, length)
		return io.NopCloser(r), err
	}
	for _, number := range numbers {
		err := x.Find(number, span, at, func(row packlist.Row) {
			if s.HadNumber(number, row.At) {
				each(row)
			}
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func (d *Desk) pouchNames(dept record.ID) map[string]record.ID {
	names := map[string]record.ID{}
	d.ledger.View(func(v record.View) {
		of := rules.GetDepartment(v, dept)
		if of == nil {
			return
		}
		for _, id := range of.Pouches {
			if p := rules.GetPouch(v, id); p != nil {
				names[strings.ToLower(p.Name)] = id
			}
		}
	})
	return names
}

// withListed adds the packs of lists to what a hold is drawn from, in the order
// in which they may have been sealed.
func withListed(h rules.History, packs []rules.PackFact) rules.History {
	h.Packs = append(slices.Clone(h.Packs), packs...)
	slices.SortStableFunc(h.Packs, func(a, b rules.PackFact) int { return cmp.Compare(a.At.From, b.At.From) })
	return h
}
