package report

import (
	"bytes"
	"encoding/csv"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

// rowOf is a record of a kind with the names that stand beside it.
func rowOf(t testing.TB, body record.Body) *Row {
	t.Helper()
	r, err := record.New(body)
	require.NoError(t, err)
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	at := record.TimeOf(time.Date(2026, 1, 13, 11, 5, 0, 0, time.UTC))
	r.Seq, r.At, r.Day, r.Happened, r.Subject, r.Via = 7, at, 20466, record.Moment(at), record.TheSite, record.ViaPIN
	return &Row{Record: &r, Zone: zone, Sealer: "2", Pouch: "Paper/film", Who: "L. Marsh", Note: "-see the log", Left: "ready"}
}

// written writes rows and reads each table back with encoding/csv.
func written(t *testing.T, rows ...*Row) (raw map[record.Kind]*bytes.Buffer, tables map[record.Kind][]map[string]string) {
	t.Helper()
	raw, tables = map[record.Kind]*bytes.Buffer{}, map[record.Kind][]map[string]string{}
	out := NewCSV(func(kind record.Kind) (io.Writer, error) {
		require.NotContains(t, raw, kind, "a table is begun once")
		raw[kind] = &bytes.Buffer{}
		return raw[kind], nil
	})
	for _, r := range rows {
		require.NoError(t, out.Write(r))
	}
	require.NoError(t, out.Flush())
	for kind, b := range raw {
		text, ok := strings.CutPrefix(b.String(), "\ufeff")
		require.True(t, ok, "a byte order mark, for spreadsheets")
		lines, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		require.NoError(t, err)
		for _, line := range lines[1:] {
			cells := map[string]string{}
			for i, name := range lines[0] {
				cells[name] = line[i]
			}
			tables[kind] = append(tables[kind], cells)
		}
	}
	return raw, tables
}

func TestATableSaysWhatTheRecordSays(t *testing.T) {
	check := rowOf(t, &record.Check{Pouch: record.ID{1}, Approval: 3, Outcome: record.Fail, Places: []record.Place{record.Left, record.Right},
		Tests: []record.Test{record.Dye}, Shown: "180 °C", Kind: record.Channel, AtCM: "-5.2", Lot: "=cmd|' /C calc'!A0"})
	raw, tables := written(t, check, check)
	require.Len(t, tables["check"], 2)
	cells := tables["check"][0]
	for name, want := range map[string]string{"record": "7", "happened_from": "2026-01-13T06:05:00-05:00", "operating_day": "2026-01-13",
		"sealer": "2", "pouch_name": "Paper/film", "who": "L. Marsh", "late": "", "note": "'-see the log", "outcome": "fail",
		"places": "left; right", "tests": "dye", "shown": "180 °C", "kind": "channel", "at_cm": "-5.2", "approval": "3",
		"pouch": "01000000000000000000000000000000", "lot": "'=cmd|' /C calc'!A0", "left_sealer": "ready", "corrects_record": ""} {
		require.Equal(t, want, cells[name], name)
	}
	require.Equal(t, 3, strings.Count(raw["check"].String(), "\r\n"))
	require.Equal(t, 3, strings.Count(raw["check"].String(), "\n"))
}

// OWASP, CSV Injection: = + - @, tab and carriage return begin a formula.
func TestNoTextIsTakenForAFormula(t *testing.T) {
	for text, want := range map[string]string{"": "", "plain": "plain", "=1+1": "'=1+1", "+1+1": "'+1+1", "-1+1": "'-1+1", "@SUM(A1)": "'@SUM(A1)",
		"\t=1": "'\t=1", "\r=1": "'\r=1", "-5.2": "-5.2", "+3": "+3", "-": "'-", "-5.": "'-5.", "--5": "'--5", "-5e3": "'-5e3", "-.5": "'-.5",
		"a=1": "a=1", "-5,2": "'-5,2"} {
		require.Equal(t, want, Cell(text), "%q", text)
	}
}

func TestEveryKindHasATableWithColumnsOfItsOwn(t *testing.T) {
	for kind, body := range record.Kinds() {
		raw, _ := written(t, rowOf(t, body))
		head, _, _ := strings.Cut(strings.TrimPrefix(raw[kind].String(), "\ufeff"), "\r\n")
		seen := map[string]bool{}
		for name := range strings.SplitSeq(head, ",") {
			require.NotEmpty(t, name, kind)
			require.False(t, seen[name], "%s has two columns %s", kind, name)
			seen[name] = true
		}
	}
}

// Whatever a record says comes out of the table: nothing is left out but what is
// empty.
func TestStructsAndListsWithinARecordComeOut(t *testing.T) {
	_, tables := written(t,
		rowOf(t, &record.PlanSet{SealerType: record.BarDial, Plan: record.Plan{Places: []record.Place{record.Whole}, PerShift: []int{840, 1320}}}),
		rowOf(t, &record.TemperatureTable{Source: record.Measured, Points: []record.TablePoint{{Position: record.Quantity{Value: "6", Unit: "mark"},
			Face: record.Quantity{Value: "171", Unit: "degC"}}}, Instrument: record.Instrument{Name: "Probe 7", Due: 20600}}),
		rowOf(t, &record.BadSeal{Kind: record.Channel, SealedAt: &record.Span{From: 1000, To: 2000, Said: record.Typed}}))
	plan, table, seal := tables["plan-set"][0], tables["temperature-table"][0], tables["bad-seal"][0]
	require.Equal(t, "whole", plan["places"])
	require.Equal(t, "[840,1320]", plan["per_shift"])
	require.Equal(t, "Probe 7", table["instrument_name"])
	require.Equal(t, "2026-05-27", table["instrument_due"])
	require.Contains(t, table["points"], `"value":"171","unit":"degC"`)
	require.Contains(t, seal["sealed_at"], "1970-01-01T00:00:01.000Z")
}
