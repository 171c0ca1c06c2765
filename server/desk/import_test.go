package desk_test

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/report"
	"tidemark/server/rules"
)

func (w *workplace) preview(what, csv string) *desk.ImportView {
	w.t.Helper()
	v, err := w.PreviewImport(w.ctx, w.lead(), desk.ImportIn{What: what, CSV: csv})
	require.NoError(w.t, err)
	return v
}

func (w *workplace) take(what, csv string, good bool) desk.ImportDone {
	w.t.Helper()
	done, err := w.TakeImport(w.ctx, w.lead(), desk.ImportIn{What: what, CSV: csv, Good: good})
	require.NoError(w.t, err)
	return done
}

func whys(rows []desk.ImportRow) map[int]string {
	m := map[int]string{}
	for _, r := range rows {
		if r.Wrong != "" {
			m[r.Line] = r.Wrong
		}
	}
	return m
}

func TestFortySealersComeInFromOneFile(t *testing.T) {
	w := newWorkplace(t)
	var b strings.Builder
	b.WriteString("\ufeffSealer number;Type;Asset tag;Place;Width cm;Loaner\r\n")
	for i := range 40 {
		fmt.Fprintf(&b, "S%d;Bar with a dial;%d;\"Bench %d; left\";45;%s\r\n", i, 30000+i, i, []string{"no", "yes"}[i%2])
	}
	size := w.Size()
	v := w.preview("sealers", b.String())
	require.Equal(t, []int{40, 0, 0}, []int{v.New, v.Known, v.Wrong}, "%v", whys(v.Rows))
	require.Equal(t, size, w.Size(), "a preview writes nothing")
	done := w.take("sealers", b.String(), false)
	require.Equal(t, 40, done.Taken)
	require.Equal(t, size+41, w.Size(), "a record for each, and one for the file")

	sealers, err := w.Sealers(w.lead())
	require.NoError(t, err)
	require.Len(t, sealers.Sealers, 42)
	page, err := w.Facts(w.lead(), sealers.Sealers[3].Code)
	require.NoError(t, err)
	require.Equal(t, []any{"S1", "Bench 1; left", "30001", 45, true},
		[]any{page.Number, page.SealerFacts.Place, page.Asset, page.WidthCM, page.Loaner})

	size = w.Size()
	again := w.take("sealers", b.String(), false)
	require.Equal(t, []int{0, 40}, []int{again.Taken, again.Known})
	require.Equal(t, size, w.Size(), "the same file twice changes nothing")
}

func TestEachRowThatCannotBeTakenSaysWhy(t *testing.T) {
	w := newWorkplace(t)
	csv := "number,type,width_cm,loaner\n" +
		"7,impulse,40,\n" + // good
		"2,impulse,,\n" + // sealer 2 is there
		"7,impulse,,\n" + // twice in the file
		"12345,impulse,,\n" +
		",impulse,,\n" +
		"8,iron,,\n" +
		"9,impulse,wide,\n" +
		"10,impulse,,perhaps\n" +
		"11,impulse\n" +
		"12,impulse,\"4\"0,\n"
	v := w.preview("sealers", csv)
	why := whys(v.Rows)
	require.Equal(t, 1, v.New)
	for line, want := range map[int]string{3: "another sealer has this number", 4: "the same as in line 2", 5: "one to four digits",
		6: "number is missing", 7: "write bar-dial", 8: "whole centimetres", 9: "yes or no", 10: "more or fewer cells", 11: "quotation mark"} {
		require.Contains(t, why[line], want, "line %d", line)
	}
	size := w.Size()
	_, err := w.TakeImport(w.ctx, w.lead(), desk.ImportIn{What: "sealers", CSV: csv})
	require.ErrorContains(t, err, "9 cannot")
	require.Equal(t, size, w.Size(), "nothing half")
	done := w.take("sealers", csv, true)
	require.Equal(t, 1, done.Taken)
	require.Len(t, done.Left, 9)
}

func TestColumnsCanBeMatchedByHand(t *testing.T) {
	w := newWorkplace(t)
	csv := "Name on it\tKind\n7\timpulse\n"
	v := w.preview("sealers", csv)
	require.Equal(t, 1, v.Wrong)
	columns := make([]string, len(v.Fields))
	columns[0], columns[1] = "Name on it", "Kind"
	in := desk.ImportIn{What: "sealers", CSV: csv, Columns: columns}
	v, err := w.PreviewImport(w.ctx, w.lead(), in)
	require.NoError(t, err)
	require.Equal(t, 1, v.New)
	columns[1] = "Sort"
	_, err = w.PreviewImport(w.ctx, w.lead(), in)
	require.ErrorContains(t, err, "no column")
}

func TestFilesThatAreNoTableAreRefused(t *testing.T) {
	w := newWorkplace(t)
	for name, csv := range map[string]string{
		"empty": " \n", "only a first line": "number,type\n", "not UTF-8": "number,type\n\xff\xfe,impulse\n",
		"too large": "number,type\n" + strings.Repeat("x", 513<<10), "too many rows": "number,type\n" + strings.Repeat("1,i\n", 5001),
	} {
		_, err := w.PreviewImport(w.ctx, w.lead(), desk.ImportIn{What: "sealers", CSV: csv})
		require.Equal(t, fault.Invalid, fault.CodeOf(err), name)
	}
	_, err := w.PreviewImport(w.ctx, w.lead(), desk.ImportIn{What: "songs", CSV: "a\nb\n"})
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
	_, err = w.PreviewImport(w.ctx, w.staff[record.Technician], desk.ImportIn{What: "sealers", CSV: "number,type\n7,impulse\n"})
	require.Equal(t, fault.Forbidden, fault.CodeOf(err))
}

func TestPeopleGetTheirFirstPINsOnce(t *testing.T) {
	w := newWorkplace(t)
	csv := "name,roles,first_line\nL. Tamber,technician,yes\nO. Quince,technician; lead,\nA technician,technician,\n"
	require.Contains(t, whys(w.preview("people", csv).Rows)[4], "is here already")
	done := w.take("people", csv, true)
	require.Len(t, done.PINs, 2)
	require.Equal(t, "L. Tamber", done.PINs[0].Name)
	people, err := w.People(w.lead())
	require.NoError(t, err)
	_, device := w.Who("", w.dev)
	for _, p := range people.People {
		if p.Name == "L. Tamber" {
			require.True(t, p.FirstLine)
			_, err := w.SignIn(w.ctx, device, desk.SignInIn{Person: p.ID, PIN: done.PINs[0].PIN})
			require.NoError(t, err)
		}
	}
	again := w.take("people", csv, true)
	require.Empty(t, again.PINs)
}

// RULES.md R17: an imported record gives nothing, proves no return, bounds no
// hold and stands in a column of its own.
func TestPastRecordsProveNothingAndCountApart(t *testing.T) {
	w := newWorkplace(t)
	w.goWrong()
	before, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(t, err)
	hold, err := w.Hold(w.lead(), w.problem)
	require.NoError(t, err)
	csv := "sealer,when,what,outcome,done_by,note\n" +
		"2,2026-01-05 06:10,check,pass,R. Abbot,good all along\n" +
		"2,2026-01-07,check,pass,R. Abbot,\n" +
		"2,2026-01-13 06:59,check,pass,R. Abbot,just before the fault\n" +
		"2,2026-01-06,repair,element replaced,vendor,\n" +
		"99,2026-01-06,check,pass,,\n" +
		"2,06/01/2026,check,pass,,\n" +
		"2,2031-01-06 06:00,check,pass,,\n"
	v := w.preview("past", csv)
	why := whys(v.Rows)
	require.Contains(t, why[6], "no sealer here")
	require.Contains(t, why[7], "2026-01-31")
	require.Contains(t, why[8], "has not come yet")
	require.Equal(t, 4, w.take("past", csv, true).Taken)

	after, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(t, err)
	require.Equal(t, before.Standing, after.Standing)
	require.Equal(t, before.LastGood, after.LastGood)
	again, err := w.Hold(w.lead(), w.problem)
	require.NoError(t, err)
	require.Equal(t, hold.HoldList, again.HoldList)

	rows, err := w.Records(w.lead(), desk.PeriodIn{From: 20457, To: 20466}) // 4 to 13 January 2026
	require.NoError(t, err)
	var got []rules.DayStatus
	for _, s := range rows.Sealers {
		if s.Number == "2" {
			for _, d := range s.Days {
				got = append(got, d.Status)
			}
			require.Equal(t, 1, rules.InUse(s.Days[len(s.Days)-1:]))
		}
	}
	require.Equal(t, []rules.DayStatus{rules.DayImported, rules.DayBefore, rules.DayImported, rules.DayBefore, rules.DayBefore,
		rules.DayBefore, rules.DayBefore, rules.DayBefore, rules.DayChecked}, got)

	history, err := w.History(w.lead(), w.code, record.None)
	require.NoError(t, err)
	require.Equal(t, record.Kind("imported"), history.Lines[0].Kind)
	require.True(t, history.Lines[0].Late)
}

// What our own tables say can be read again, the mark before a formula apart.
func TestOurOwnTablesCanBeReadAgain(t *testing.T) {
	w := newWorkplace(t)
	sealer, err := record.New(&record.SealerAdded{Code: "X", SealerFacts: record.SealerFacts{Number: "77", Type: record.Continuous,
		Asset: "-21150", Model: "=cmd()", Place: "@ the lift", WidthCM: 30, Loaner: true, IFU: record.Document{Title: "+ manual", Page: "4"}}})
	require.NoError(t, err)
	check, err := record.New(&record.Check{Outcome: record.Pass})
	require.NoError(t, err)
	check.Happened = record.Moment(record.TimeOf(time.Date(2026, 1, 9, 11, 10, 0, 0, time.UTC)))
	files := map[record.Kind]*bytes.Buffer{}
	tables := report.NewCSV(func(kind record.Kind) (io.Writer, error) {
		files[kind] = &bytes.Buffer{}
		return files[kind], nil
	})
	zone := rules.Zone("America/New_York")
	require.NoError(t, tables.Write(&report.Row{Record: &sealer, Zone: zone}))
	require.NoError(t, tables.Write(&report.Row{Record: &check, Zone: zone, Sealer: "2", Pouch: "Paper/film 20 cm", Who: "-R. Abbot", Note: "=1+1"}))
	require.NoError(t, tables.Flush())

	v := w.preview("sealers", files["sealer-added"].String())
	require.Equal(t, 1, v.New, "%v", whys(v.Rows))
	require.Equal(t, []string{"77", "continuous", "-21150", "", "=cmd()", "@ the lift", "30", "", "yes", "+ manual", "", "4"}, v.Rows[0].Cells)
	v = w.preview("past", files["check"].String())
	require.Equal(t, 1, v.New, "%v", whys(v.Rows))
	require.Equal(t, []string{"2", "2026-01-09T06:10:00-05:00", "", "pass", "Paper/film 20 cm", "-R. Abbot", "=1+1"}, v.Rows[0].Cells)
	require.Equal(t, 1, w.take("past", files["check"].String(), false).Taken)
}
