package record_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
)

func sample(t testing.TB) record.Record {
	t.Helper()
	r, err := record.New(&record.Check{Pouch: record.ID{7}, Approval: 3, Outcome: record.Pass,
		Places: []record.Place{record.Left, record.Middle, record.Right}, Tests: []record.Test{record.Look, record.Dye}})
	require.NoError(t, err)
	at := record.TimeOf(time.Date(2026, 1, 13, 12, 5, 0, 120e6, time.UTC))
	r.ID, r.Seq, r.Prev, r.At = record.ID{1}, 12, 9, at
	r.Day, r.Dept, r.By, r.Via = 20466, record.ID{2}, record.ID{3}, record.ViaPIN
	r.Subject = record.Subject{Type: record.Sealer, ID: record.ID{4}}
	r.Dev, r.DevN, r.Seen, r.Happened, r.Meaning = record.ID{5}, 1, 12, record.Moment(at), record.Did
	r.RestsOn, r.Cause = []record.Seq{3, 4}, `setting "lost" <é>`
	r.Effect.Readiness = &record.Readiness{State: record.Ready, Pouch: record.ID{7}, Approval: 3, Day: 20466, From: at, Check: 12}
	r.Sealed = record.Sealed{"note": {9}, "a": {8}}
	return r
}

func TestParseReadsWhatAppendWrites(t *testing.T) {
	want := sample(t)
	line := want.Append(nil)
	require.True(t, json.Valid(line), "%s", line)
	got, err := record.Parse(line)
	require.NoError(t, err)
	require.Equal(t, line, got.Append(nil))
	require.Equal(t, want.Effect, got.Effect)
	content, err := got.Content()
	require.NoError(t, err)
	require.Equal(t, record.Pass, content.(*record.Check).Outcome)
}

// Accept one, mangle every byte: what still parses must say something else, in
// the one form that records are written in.
func TestParseAcceptsOneFormOnly(t *testing.T) {
	r := sample(t)
	line := r.Append(nil)
	for i := range line {
		for _, flip := range []byte{0x01, 0x20, 0x80} {
			bad := append([]byte(nil), line...)
			bad[i] ^= flip
			got, err := record.Parse(bad)
			if err == nil {
				require.Equal(t, bad, got.Append(nil), "byte %d", i)
			}
		}
		for _, longer := range [][]byte{append(append(append([]byte(nil), line[:i]...), ' '), line[i:]...), line[:i]} {
			got, err := record.Parse(longer)
			if err == nil {
				require.Equal(t, longer, got.Append(nil), "byte %d", i)
			}
		}
	}
}

func TestNthKeepsTheFirstID(t *testing.T) {
	id := record.ID{1, 2, 3}
	require.Equal(t, id, id.Nth(0))
	require.NotEqual(t, id.Nth(1), id.Nth(2))
	require.Equal(t, id.Nth(1), id.Nth(1))
}

func TestEveryKindHasOneName(t *testing.T) {
	kinds := record.Kinds()
	require.Len(t, kinds, declaredKinds(t), "a kind that is declared is in the list of kinds.go, and under a name of its own")
	for k, body := range kinds {
		r, err := record.New(body)
		require.NoError(t, err)
		require.Equal(t, k, r.Kind)
	}
}

// declaredKinds counts the methods of the room that name a kind.
func declaredKinds(t *testing.T) (n int) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	method := regexp.MustCompile(`(?m)^func \(\*\w+\) kind\(\)`)
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		n += len(method.FindAll(text, -1))
	}
	return n
}

// Whatever strings a record was given, it can be read back.
func TestEveryRecordThatIsWrittenCanBeRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.Map(rapid.SliceOf(rapid.Byte()),
			func(b []byte) string { return string(b) }))
		r, err := record.New(&record.Note{})
		require.NoError(t, err)
		r.Subject, r.Cause = record.TheSite, text.Draw(t, "cause")
		r.Effect.Nothing = text.Draw(t, "nothing")
		r.RestsOn = rapid.SliceOf(rapid.Custom(func(t *rapid.T) record.Seq {
			return record.Seq(rapid.Int64().Draw(t, "seq"))
		})).Draw(t, "rests on")
		_, err = record.Parse(r.Append(nil))
		require.NoError(t, err)
	})
}

func TestCheckRefusesWhatCouldNotBeReadBack(t *testing.T) {
	good := sample(t)
	require.NoError(t, good.Check())
	for name, spoil := range map[string]func(r *record.Record){
		"kind":    func(r *record.Record) { *r = record.Record{Subject: r.Subject, Body: r.Body} },
		"subject": func(r *record.Record) { r.Subject.Type = "jaw" },
		"made":    func(r *record.Record) { r.Made = 1 << 60 },
		"happened": func(r *record.Record) {
			r.Happened.To = record.TimeOf(time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC))
		},
	} {
		bad := sample(t)
		spoil(&bad)
		require.Error(t, bad.Check(), name)
		_, err := record.Parse(bad.Append(nil))
		require.Error(t, err, name)
	}
}
