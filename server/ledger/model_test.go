package ledger_test

import (
	"context"
	"encoding/binary"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/record"
)

// model is what a ledger has to be, kept in plain maps and lists.
type model struct {
	ids    map[record.ID]record.Seq
	counts map[record.Subject]count
	chains map[record.Subject][]record.Seq
	size   int
}

// A ledger behaves as the model does, through closing, crashing (what is on the
// disk is copied while it is open) and losing its views.
func TestALedgerBehavesAsAMap(t *testing.T) {
	root := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp(root, "")
		require.NoError(rt, err)
		clock := epoch
		o := options(dir)
		o.Clock = func() time.Time { return clock }
		l, err := ledger.Open(o)
		require.NoError(rt, err)
		m := model{map[record.ID]record.Seq{}, map[record.Subject]count{},
			map[record.Subject][]record.Seq{}, 0}
		rt.Repeat(map[string]func(*rapid.T){
			"append": func(rt *rapid.T) {
				n, s := rapid.IntRange(0, 60).Draw(rt, "id"), rapid.IntRange(0, 3).Draw(rt, "sealer")
				m.append(rt, t, l, n, s, rapid.IntRange(1, 3).Draw(rt, "records"))
			},
			"time passes": func(rt *rapid.T) {
				clock = clock.Add(time.Duration(rapid.IntRange(-2, 40*24).Draw(rt, "hours")) * time.Hour)
			},
			"close and open": func(rt *rapid.T) {
				require.NoError(rt, l.Close())
				l, err = ledger.Open(o)
				require.NoError(rt, err)
			},
			"crash and open": func(rt *rapid.T) {
				crashed, err := os.MkdirTemp(root, "")
				require.NoError(rt, err)
				copyLive(t, o.Dir, crashed)
				require.NoError(rt, l.Close())
				require.NoError(rt, os.RemoveAll(o.Dir))
				o.Dir = crashed
				l, err = ledger.Open(o)
				require.NoError(rt, err)
			},
			"": func(rt *rapid.T) { m.check(rt, l) },
		})
		require.NoError(rt, l.Close())
		report, err := ledger.Verify(ledger.Verification{Dir: o.Dir, Fold: o.Fold})
		require.NoError(rt, err)
		require.Empty(rt, report.Wrong)
		require.NoError(rt, os.RemoveAll(o.Dir))
	})
}

// copyLive copies what a crash would leave of a ledger that nobody appends to.
func copyLive(t *testing.T, from, to string) {
	t.Helper()
	require.NoError(t, os.CopyFS(filepath.Join(to, "keys"), os.DirFS(filepath.Join(from, "keys"))))
	anchor, err := os.ReadFile(filepath.Join(from, "anchor"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(to, "anchor"), anchor, 0o600))
	f, err := os.Open(filepath.Join(from, "ledger.db"))
	require.NoError(t, err)
	defer f.Close()
	b := make([]byte, 1<<20) // the rest is room to grow into
	n, err := io.ReadFull(f, b)
	require.True(t, err == nil || err == io.ErrUnexpectedEOF)
	require.LessOrEqual(t, pages(b), n/4096)
	require.NoError(t, os.WriteFile(filepath.Join(to, "ledger.db"), b[:pages(b)*4096], 0o600))
}

// pages is how many pages a store has, by its newest meta page.
func pages(b []byte) int {
	number := func(at int) uint64 { return binary.NativeEndian.Uint64(b[at:]) }
	newest := 16
	if number(4096+16+48) > number(16+48) {
		newest += 4096
	}
	return int(number(newest + 40))
}

func (m *model) append(rt *rapid.T, t *testing.T, l *ledger.Ledger, n, s, records int) {
	c := command(n, note(t, s, "x"))
	drafts := []ledger.Draft{}
	for range records {
		drafts = append(drafts, ledger.Draft{Record: note(t, s, "x")})
	}
	c.Decide = always(drafts...)
	got, err := l.Append(context.Background(), c)
	if first, known := m.ids[id(n)]; known {
		old, readErr := l.Read(first)
		require.NoError(rt, readErr)
		if old.Subject != sealer(s) {
			require.Equal(rt, fault.Conflict, fault.CodeOf(err))
			return
		}
		require.NoError(rt, err)
		require.True(rt, got.Repeat)
		require.Equal(rt, first, got.First)
		return
	}
	require.NoError(rt, err)
	require.Equal(rt, record.Seq(m.size), got.First)
	require.Equal(rt, records, got.Count)
	m.ids[id(n)] = got.First
	for i := range records {
		m.counts[sealer(s)] = count{m.counts[sealer(s)].N + 1, id(n).Nth(i)}
		m.chains[sealer(s)] = append(m.chains[sealer(s)], record.Seq(m.size))
		m.size++
	}
}

func (m *model) check(rt *rapid.T, l *ledger.Ledger) {
	require.EqualValues(rt, m.size, l.Size())
	for s, want := range m.counts {
		require.Equal(rt, want, value(l, s))
		chain := m.chains[s]
		for r, err := range l.Chain(s) {
			require.NoError(rt, err)
			require.Equal(rt, chain[len(chain)-1], r.Seq)
			chain = chain[:len(chain)-1]
		}
		require.Empty(rt, chain)
	}
}

// Ids that are no longer in memory are found in the stored chunks.
func TestAnIDIsKnownForEver(t *testing.T) {
	o := options(t.TempDir())
	l, err := ledger.Open(o)
	require.NoError(t, err)
	for n := range 200 {
		add(t, l, n, 1)
	}
	require.NoError(t, l.Close())
	l = open(t, o)
	for n := range 200 {
		got := add(t, l, n, 1)
		require.True(t, got.Repeat)
		require.Equal(t, record.Seq(n), got.First)
	}
	r, found, err := l.Find(id(100))
	require.NoError(t, err)
	require.True(t, found)
	require.Equal(t, record.Seq(100), r.Seq)
	require.NoFileExists(t, filepath.Join(o.Dir, "suspect"))
}
