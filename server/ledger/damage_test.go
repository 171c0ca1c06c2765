package ledger_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/record"
)

// Every kind of damage ends in one sentence that names it, before anything is
// served.
func TestAStartOnDamagedDataSaysWhatIsWrong(t *testing.T) {
	for name, test := range map[string]struct {
		damage func(t *testing.T, dir string)
		want   string
	}{
		"emptied": {func(t *testing.T, dir string) { cut(t, dir, 0) },
			"ledger.db is missing or empty, though there were records."},
		"missing": {func(t *testing.T, dir string) {
			require.NoError(t, os.Remove(filepath.Join(dir, "ledger.db")))
		}, "ledger.db is missing or empty, though there were records."},
		"cut": {func(t *testing.T, dir string) { cut(t, dir, 40_000) },
			"ledger.db was cut: it is 40000 bytes"},
		"cut to one page": {func(t *testing.T, dir string) { cut(t, dir, 4096) }, "ledger.db was cut"},
		"both beginnings": {func(t *testing.T, dir string) {
			flip(t, dir, 40)
			flip(t, dir, 4096+40)
		}, "Both beginnings of ledger.db are damaged."},
		"other file": {func(t *testing.T, dir string) {
			junk := bytes.Repeat([]byte("junk "), 30_000)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "ledger.db"), junk, 0o600))
		}, "Both beginnings of ledger.db are damaged."},
		"anchor edited": {func(t *testing.T, dir string) {
			b, err := os.ReadFile(filepath.Join(dir, "anchor"))
			require.NoError(t, err)
			b = bytes.Replace(b, []byte("\n75\n"), []byte("\n74\n"), 1)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "anchor"), b, 0o600))
		}, "The anchor was not signed by a key of this ledger."},
		"anchor of another": {func(t *testing.T, dir string) {
			b, err := os.ReadFile(filepath.Join(small(t).Dir, "anchor"))
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(filepath.Join(dir, "anchor"), b, 0o600))
		}, "The anchor was not signed by a key of this ledger."},
		"hashes cut off": {func(t *testing.T, dir string) {
			name := filepath.Join(dir, "ledger.db")
			all := rows(t, name, "hashes")
			replace(t, name, "hashes", all[len(all)-1][0])
		}, "There are 75 records, but hashes for others."},
		"first records changed": {func(t *testing.T, dir string) {
			name := filepath.Join(dir, "ledger.db")
			row := rows(t, name, "hashes")[1]
			row[1][(126-64)*32] ^= 1 // the root of the first 64
			replace(t, name, "hashes", row[0], row)
		}, "The first 75 records are not those that the anchor was signed for."},
	} {
		t.Run(name, func(t *testing.T) {
			o := small(t)
			test.damage(t, o.Dir)
			l, err := ledger.Open(o)
			require.Nil(t, l)
			var damage *ledger.Damage
			require.ErrorAs(t, err, &damage)
			require.Contains(t, damage.What, test.want)
			require.Contains(t, damage.Do, "tidemark restore -from FILE -data DIR")
			require.NotContains(t, err.Error(), "goroutine")
		})
	}
}

func cut(t *testing.T, dir string, size int64) {
	t.Helper()
	require.NoError(t, os.Truncate(filepath.Join(dir, "ledger.db"), size))
}

func flip(t *testing.T, dir string, at int64) {
	t.Helper()
	edit(t, dir, at, func(b []byte) { b[0] ^= 1 })
}

func edit(t *testing.T, dir string, at int64, f func(b []byte)) {
	t.Helper()
	file, err := os.OpenFile(filepath.Join(dir, "ledger.db"), os.O_RDWR, 0)
	require.NoError(t, err)
	defer file.Close()
	b := make([]byte, 1)
	_, err = file.ReadAt(b, at)
	require.NoError(t, err)
	f(b)
	_, err = file.WriteAt(b, at)
	require.NoError(t, err)
}

// newestMeta is where the newest meta page of a store begins.
func newestMeta(t *testing.T, dir string) int64 {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "ledger.db"))
	require.NoError(t, err)
	txid := func(page int) uint64 { return binary.NativeEndian.Uint64(b[page+16+48:]) }
	if txid(0) > txid(4096) {
		return 0
	}
	return 4096
}

// bbolt falls back to the transaction before without a word.
func TestAStoreThatFellBackIsRefusedOnlyIfTheAnchorKnowsMore(t *testing.T) {
	o := small(t)
	l, err := ledger.Open(o)
	require.NoError(t, err)
	add(t, l, 900, 1)
	live := filepath.Join(o.Dir, "ledger.db")
	copied, err := os.ReadFile(live) // before the snapshot that Close takes
	require.NoError(t, err)
	require.NoError(t, l.Close())
	require.NoError(t, os.WriteFile(live, copied, 0o600))
	flip(t, o.Dir, newestMeta(t, o.Dir)+40)
	_, err = ledger.Open(o)
	require.ErrorContains(t, err, "The ledger went back: it holds 75 records and has held 76.")

	// The same page torn, but nothing missing of what the anchor was signed for.
	o = small(t)
	flip(t, o.Dir, newestMeta(t, o.Dir)+40)
	var log bytes.Buffer
	o.Log = slog.New(slog.NewTextHandler(&log, nil))
	l = open(t, o)
	require.EqualValues(t, 75, l.Size())
	require.Contains(t, log.String(), "one of the two beginnings of ledger.db was damaged")
	add(t, l, 901, 1)
}

func TestAnOldCopyIsRefused(t *testing.T) {
	o := small(t)
	live := filepath.Join(o.Dir, "ledger.db")
	old, err := os.ReadFile(live)
	require.NoError(t, err)
	l, err := ledger.Open(o)
	require.NoError(t, err)
	add(t, l, 900, 1)
	require.NoError(t, l.Close())
	require.NoError(t, os.WriteFile(live, old, 0o600))
	_, err = ledger.Open(o)
	require.ErrorContains(t, err, "The ledger went back: it holds 75 records and has held 76.")
}

func TestADamagedRecordIsNotServedThoughOthersAre(t *testing.T) {
	o := small(t)
	name := filepath.Join(o.Dir, "ledger.db")
	row := rows(t, name, "records")[12]
	row[1] = bytes.Replace(row[1], []byte(`"meaning":"did"`), []byte(`"meaning":"dId"`), 1)
	replace(t, name, "records", row[0], row)
	l, err := ledger.Open(o)
	require.NoError(t, err)
	_, err = l.Read(12)
	require.ErrorContains(t, err, "Record 12 is not what was stored.")
	_, err = l.Read(13)
	require.NoError(t, err)
	err = l.Range(0, 75, func(record.Record) error { return nil })
	require.ErrorContains(t, err, "Record 12 is not what was stored.")
	require.NoError(t, l.Close())
}

// A page that makes no sense makes bbolt panic, or the process be signalled.
func TestAPageThatMakesNoSenseIsAnErrorAndTheProcessGoesOn(t *testing.T) {
	o := small(t)
	b, err := os.ReadFile(filepath.Join(o.Dir, "ledger.db"))
	require.NoError(t, err)
	for page := int64(2); page < int64(len(b))/4096; page++ {
		for at := range int64(16) {
			edit(t, o.Dir, page*4096+at, func(c []byte) { c[0] = 0xff })
		}
	}
	_, err = ledger.Open(o)
	require.Error(t, err)
	var damage *ledger.Damage
	require.ErrorAs(t, err, &damage)
}

// What would be written now goes to where nobody finds it, or ends in a signal.
func TestAFileThatIsTamperedWithWhileOpenStopsTheWriter(t *testing.T) {
	for name, harm := range map[string]func(t *testing.T, file string){
		"cut":     func(t *testing.T, file string) { require.NoError(t, os.Truncate(file, 8192)) },
		"removed": func(t *testing.T, file string) { require.NoError(t, os.Remove(file)) },
		"replaced": func(t *testing.T, file string) {
			require.NoError(t, os.Rename(file, file+".old"))
			b, err := os.ReadFile(file + ".old")
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(file, b, 0o600))
		},
	} {
		t.Run(name, func(t *testing.T) {
			o := small(t)
			failed := make(chan error, 1)
			o.Fail = func(err error) { failed <- err }
			l, err := ledger.Open(o)
			require.NoError(t, err)
			harm(t, filepath.Join(o.Dir, "ledger.db"))
			_, err = l.Append(t.Context(), command(1000, note(t, 1, "x")))
			require.Equal(t, fault.NotConfirmed, fault.CodeOf(err))
			require.ErrorContains(t, <-failed, "look at open store")
			_, err = l.Read(3)
			if name == "cut" {
				var damage *ledger.Damage
				require.ErrorAs(t, err, &damage, "the process goes on")
			}
			require.NoError(t, l.Close())
			require.FileExists(t, filepath.Join(o.Dir, "suspect"))
		})
	}
}

func TestAMarkOfDoubtMakesTheNextStartCopyAndReadEverything(t *testing.T) {
	o := small(t)
	name := filepath.Join(o.Dir, "ledger.db")
	before, err := os.Stat(name)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(o.Dir, "suspect"), nil, 0o600))
	read := int64(0)
	o.Progress = func(done, of int64) { read = done }
	l := open(t, o)
	require.EqualValues(t, 75, read, "the snapshot counts for nothing")
	after, err := os.Stat(name)
	require.NoError(t, err)
	require.False(t, os.SameFile(before, after))
	require.NoFileExists(t, filepath.Join(o.Dir, "suspect"))
	add(t, l, 900, 1)
}

func TestAnotherShapeOfStateIsFoldedAgain(t *testing.T) {
	o := small(t)
	type tally struct{ Kinds map[string]int }
	o.Fold.Shape++
	evolve := func(s record.Stage, r *record.Record) {
		s.Set(record.TheSite, tally{map[string]int{string(r.Kind): int(r.Seq) + 1}})
	}
	o.Fold.Evolve = evolve
	o.Fold.Decode = func(record.Type, []byte) (any, error) { return nil, errors.New("not to be read") }
	l := open(t, o)
	l.View(func(v record.View) {
		require.Equal(t, tally{map[string]int{"changeover": 75}}, v.Value(record.TheSite))
		require.Nil(t, v.Value(sealer(1)))
	})
	require.Equal(t, record.Seq(73), l.Head(sealer(1)))
}

func TestWhatIsLoggedOfAStartIsNotAStackTrace(t *testing.T) {
	o := small(t)
	require.NoError(t, os.Remove(filepath.Join(o.Dir, "anchor")))
	var log bytes.Buffer
	o.Log = slog.New(slog.NewTextHandler(io.MultiWriter(&log), nil))
	open(t, o)
	require.Contains(t, log.String(), "the anchor is missing")
	require.Equal(t, 1, strings.Count(log.String(), "\n"))
}
