package ledger

import (
	"encoding/binary"
	"fmt"
	"sort"

	bolt "go.etcd.io/bbolt"

	"tidemark/server/record"
)

// dayMark says where an operating day of a department begins.
type dayMark struct {
	dept  record.ID
	day   record.Date
	first record.Seq
}

// apartMark says that a record counts for a day that it did not arrive on.
type apartMark struct {
	dept record.ID
	day  record.Date
	seq  record.Seq
}

// dayMarks are all departments' days in order, 16 bytes each.
type dayMarks map[record.ID][]dayStart

type dayStart struct {
	day   record.Date
	first record.Seq
}

func (d dayMarks) add(marks ...dayMark) {
	for _, m := range marks {
		d[m.dept] = append(d[m.dept], dayStart{m.day, m.first})
	}
}

// newest returns the day that a department is in, 0 before its first.
func (d dayMarks) newest(dept record.ID) record.Date {
	if days := d[dept]; len(days) > 0 {
		return days[len(days)-1].day
	}
	return 0
}

// Day returns the records that arrived while a department was in an operating
// day: those from from up to, not including, to, other departments' among them.
// What arrived then may count for another day: see Apart.
func (l *Ledger) Day(dept record.ID, d record.Date) (from, to record.Seq) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	days, size := l.now.days[dept], l.now.size()
	at := func(d record.Date) record.Seq {
		i := sort.Search(len(days), func(i int) bool { return days[i].day >= d })
		if i == len(days) {
			return size
		}
		return days[i].first
	}
	return at(d), at(d + 1)
}

// Apart returns, in order, the records that count for an operating day of a
// department, in whole or also, but arrived on another: late entries, and early
// checks that cover the day that follows.
func (l *Ledger) Apart(dept record.ID, d record.Date) (seqs []record.Seq, err error) {
	prefix := apartMark{dept: dept, day: d}.key()[:20]
	size := record.Seq(l.Size())
	err = l.view(func(tx *bolt.Tx) error {
		c := tx.Bucket(inApart).Cursor()
		for k, _ := c.Seek(prefix); len(k) == 28 && string(k[:20]) == string(prefix); k, _ = c.Next() {
			if seq := record.Seq(number(k[20:])); seq < size {
				seqs = append(seqs, seq)
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read records apart: %w", err)
	}
	return seqs, nil
}

// mark notes what a record says of its department's days.
func (g *group) mark(r *record.Record) {
	if r.Dept.IsZero() || r.Day == 0 {
		return
	}
	newest := g.newestDay(r.Dept)
	if arrived := max(r.Day, r.Effect.Arrived); arrived > newest {
		newest = arrived
		g.marks = append(g.marks, dayMark{r.Dept, arrived, r.Seq})
	}
	if r.Day < newest {
		g.apart = append(g.apart, apartMark{r.Dept, r.Day, r.Seq})
	}
	if r.Covers > newest {
		g.apart = append(g.apart, apartMark{r.Dept, r.Covers, r.Seq})
	}
}

func (g *group) newestDay(dept record.ID) record.Date {
	for i := len(g.marks) - 1; i >= 0; i-- {
		if g.marks[i].dept == dept {
			return g.marks[i].day
		}
	}
	return g.l.now.days.newest(dept)
}

func (m dayMark) key() []byte {
	return binary.BigEndian.AppendUint32(m.dept[:len(m.dept):len(m.dept)], uint32(m.day))
}

func (m apartMark) key() []byte {
	return append(dayMark{dept: m.dept, day: m.day}.key(), key(int64(m.seq))...)
}

func (g *group) putMarks(tx *bolt.Tx) error {
	for _, m := range g.marks {
		if err := growing(tx, inDays).Put(m.key(), key(int64(m.first))); err != nil {
			return fmt.Errorf("put day: %w", err)
		}
	}
	for _, m := range g.apart {
		if err := tx.Bucket(inApart).Put(m.key(), nil); err != nil {
			return fmt.Errorf("put record apart: %w", err)
		}
	}
	return nil
}

// readDays reads all marks; a department has some 3,650 in ten years.
func readDays(tx *bolt.Tx) dayMarks {
	days := dayMarks{}
	var dept record.ID
	var list []dayStart // of that department, whose marks lie together
	c := tx.Bucket(inDays).Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		if string(k[:16]) != string(dept[:]) {
			if list != nil {
				days[dept] = list
			}
			dept, list = record.ID(k[:16]), nil
		}
		list = append(list, dayStart{record.Date(binary.BigEndian.Uint32(k[16:])), record.Seq(number(v))})
	}
	if list != nil {
		days[dept] = list
	}
	return days
}
