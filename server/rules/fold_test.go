package rules_test

import (
	"encoding/binary"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// book is the ledger's writer in a few lines: it lets the rules decide, stamps
// their drafts, writes each record down, reads it back and folds it.
type book struct {
	state   map[record.Subject]any
	heads   map[record.Subject]record.Seq
	records []record.Record
	told    []rules.Tell
	clock   record.Time // what the server's clock reads, moved by the test
	last    record.Time // the latest time given to a record
	ids     uint64
}

func newBook(at record.Time) *book {
	return &book{state: map[record.Subject]any{}, heads: map[record.Subject]record.Seq{}, clock: at}
}

func (b *book) Value(s record.Subject) any  { return b.state[s] }
func (b *book) Set(s record.Subject, v any) { b.state[s] = v }

// now is the instant that decisions are made at: it never goes back.
func (b *book) now() record.Time { return max(b.clock, b.last) }

// size is what a page drawn now would carry as seen.
func (b *book) size() int64 { return int64(len(b.records)) }

// newID makes ids in order, so that runs repeat.
func (b *book) newID() (id record.ID) {
	b.ids++
	binary.BigEndian.PutUint64(id[8:], b.ids)
	return id
}

type decision func(v record.View, now record.Time) ([]rules.Draft, error)

// write decides under an id and adds what comes of it.
func (b *book) write(t require.TestingT, id record.ID, decide decision) ([]record.Record, error) {
	drafts, err := decide(b, b.now())
	if err != nil {
		require.Empty(t, drafts, "a refusal must not leave drafts")
		return nil, err
	}
	first := len(b.records)
	for i, dr := range drafts {
		r := dr.Record
		r.ID, r.At = id.Nth(i), b.clock
		if i > 0 {
			r.Of = id
		}
		b.add(t, r)
		b.told = append(b.told, dr.Tell...)
	}
	return b.records[first:], nil
}

// add stamps a record, puts it through its written form and folds it.
func (b *book) add(t require.TestingT, r record.Record) {
	r.Seq, r.Prev = record.Seq(len(b.records)), record.None
	if head, ok := b.heads[r.Subject]; ok {
		r.Prev = head
	}
	require.NoError(t, r.Check())
	read, err := record.Parse(r.Append(nil))
	require.NoError(t, err)
	b.heads[r.Subject], b.last = r.Seq, max(b.last, r.At)
	b.records = append(b.records, read)
	rules.Evolve(b, &read)
}

// replay folds the records of another book into a fresh state.
func (b *book) replay() *book {
	fresh := newBook(0)
	for i := range b.records {
		rules.Evolve(fresh, &b.records[i])
	}
	return fresh
}

// history reads a sealer's chain as the desk does, to its end.
func (b *book) history(sealer record.ID) rules.History {
	h := rules.History{Now: b.now(), Begins: rules.GetSealer(b, sealer).Begins}
	for i := len(b.records) - 1; i >= 0; i-- {
		if r := b.records[i]; r.Subject == sealerOf(sealer) {
			h.Add(&r)
		}
	}
	h.Sort()
	return h
}

func (b *book) hold(problem record.ID) rules.Hold {
	p := rules.GetProblem(b, problem)
	return rules.HoldOf(p, b.history(p.Sealer))
}

func sealerOf(id record.ID) record.Subject  { return record.Subject{Type: record.Sealer, ID: id} }
func problemOf(id record.ID) record.Subject { return record.Subject{Type: record.Problem, ID: id} }
func pouchOf(id record.ID) record.Subject   { return record.Subject{Type: record.Pouch, ID: id} }
func personOf(id record.ID) record.Subject  { return record.Subject{Type: record.Person, ID: id} }

// newYork is where the walks happen.
var newYork = rules.Zone("America/New_York")

// local reads "2006-01-02 15:04" or "...:05" in New York, of a clock that shows
// each time once: tests of the change of clocks give an offset instead.
func local(text string) record.Time {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02 15:04:05", time.RFC3339} {
		if at, err := time.ParseInLocation(layout, text, newYork); err == nil {
			return record.TimeOf(at)
		}
	}
	panic("no time: " + text)
}

func date(text string) record.Date {
	d, err := record.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

func minutes(n int) time.Duration { return time.Duration(n) * time.Minute }

func TestTheBookStampsAsTheLedgerDoes(t *testing.T) {
	h := newHouse(t)
	s := h.sealer("1", record.BarDial)
	seen := map[record.Subject]record.Seq{}
	for i, r := range h.records {
		require.Equal(t, record.Seq(i), r.Seq)
		want, ok := seen[r.Subject]
		if !ok {
			want = record.None
		}
		require.Equal(t, want, r.Prev)
		seen[r.Subject] = r.Seq
	}
	require.Equal(t, h.records[len(h.records)-1].Subject, sealerOf(s))
}
