package rules_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
	"tidemark/server/rules"
)

func jsonOf(t require.TestingT, v any) []byte {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return b
}

// watched is a book that remembers how each value looked when it was set: values
// are replaced, never changed, because readers hold them without a lock.
type watched struct {
	*book
	looked map[any]string
}

func (w *watched) Set(s record.Subject, v any) {
	w.looked[v] = fmt.Sprintf("%+v", v)
	w.book.Set(s, v)
}

func (w *watched) requireUnchanged(t require.TestingT) {
	for v, before := range w.looked {
		require.Equal(t, before, fmt.Sprintf("%+v", v))
	}
}

// randomRecord draws from a few ids, so that records meet each other's subjects.
func randomRecord(t *rapid.T, kinds []record.Kind, ids []record.ID) record.Record {
	kind := rapid.SampledFrom(kinds).Draw(t, "kind")
	body := record.Kinds()[kind]
	scramble(t, body, ids)
	r, err := record.New(body)
	require.NoError(t, err)
	id := func(name string) record.ID { return rapid.SampledFrom(ids).Draw(t, name) }
	r.ID, r.Of, r.Dept, r.By, r.Dev = id("id"), id("of"), id("dept"), id("by"), id("dev")
	types := []record.Type{record.Site, record.Department, record.Sealer, record.Pouch, record.Person, record.Problem}
	r.Subject = record.Subject{Type: rapid.SampledFrom(types).Draw(t, "type"), ID: id("subject")}
	r.Day, r.DevN = record.Date(rapid.IntRange(0, 30000).Draw(t, "day")), int64(rapid.IntRange(0, 9).Draw(t, "dev n"))
	r.Via = rapid.SampledFrom([]record.Via{record.ViaPIN, record.ViaNone, record.ViaImport, record.ViaLink}).Draw(t, "via")
	r.Late = rapid.Bool().Draw(t, "late")
	at := func(name string) record.Time { return record.Time(rapid.IntRange(0, 1<<40).Draw(t, name)) }
	r.At, r.Happened = at("at"), record.Span{From: at("from"), To: at("to"), Said: record.Clock}
	r.Effect = record.Effect{Sealer: id("its sealer"), Takes: rapid.Bool().Draw(t, "takes"),
		Opens: rapid.IntRange(0, 2).Draw(t, "opens"), Joins: id("joins"), Arrived: record.Date(rapid.IntRange(0, 1).Draw(t, "arrived"))}
	if rapid.Bool().Draw(t, "moves") {
		r.Effect.Readiness = &record.Readiness{State: rapid.SampledFrom([]record.State{record.Ready, record.CheckDue,
			record.OutOfService, record.Retired, "?"}).Draw(t, "state"), Pouch: id("pouch"), Problem: id("problem")}
	}
	return r
}

// RULES.md R1: Evolve is total. Records of every kind about anything, in any
// order, leave a state in which each subject has a value of its own type; what
// makes no sense changes nothing; no value changes once it was set.
func TestEvolveTakesEveryRecordOfEveryKind(t *testing.T) {
	kinds := slices.Sorted(maps.Keys(record.Kinds()))
	ids := []record.ID{{}, {1}, {2}, {3}, {4}}
	rapid.Check(t, func(t *rapid.T) {
		w := &watched{book: newBook(0), looked: map[any]string{}}
		for range rapid.IntRange(1, 40).Draw(t, "records") {
			r := randomRecord(t, kinds, ids)
			r.Seq = record.Seq(len(w.records))
			read, err := record.Parse(r.Append(nil))
			require.NoError(t, err)
			w.records = append(w.records, read)
			rules.Evolve(w, &read)
			rules.Evolve(w, &record.Record{Kind: "unheard-of", V: 1, Subject: read.Subject, Body: []byte("{}")})
		}
		w.requireUnchanged(t)
		for s, value := range w.state {
			requireOwnType(t, s, value)
			if sealer, ok := value.(*rules.Sealer); ok {
				rules.Standing(w, sealer, 1<<40)
			}
			if p, ok := value.(*rules.Problem); ok {
				rules.HoldOf(p, rules.History{Now: 1 << 40})
			}
		}
		require.Equal(t, w.state, w.replay().state)
	})
}

func requireOwnType(t require.TestingT, s record.Subject, value any) {
	_, err := rules.Decode(s.Type, jsonOf(t, value))
	require.NoError(t, err)
	want, err := rules.Decode(s.Type, []byte("{}"))
	require.NoError(t, err)
	require.IsType(t, want, value, "%s", s)
}
