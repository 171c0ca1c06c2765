package packlist_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/packlist"
	"tidemark/server/record"
)

var newYork = func() *time.Location {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		panic(err)
	}
	return zone
}()

func terms(order string) packlist.Terms {
	return packlist.Terms{Zone: newYork, Columns: record.PackColumns{Sealer: "Sealer", Date: "Sealed", Order: order,
		Encoding: "utf-8", Separator: ","}}
}

func scan(t *testing.T, text string, by packlist.Terms) (*packlist.Summary, []packlist.Row, []packlist.Bad) {
	t.Helper()
	var rows []packlist.Row
	var bad []packlist.Bad
	s, err := packlist.Scan(strings.NewReader(text), by, func(r packlist.Row, b *packlist.Bad) {
		if b != nil {
			bad = append(bad, *b)
		} else {
			rows = append(rows, r)
		}
	})
	require.NoError(t, err)
	return s, rows, bad
}

func utc(text string) record.Time {
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		panic(err)
	}
	return record.TimeOf(at)
}

func TestTimesAreReadAsStated(t *testing.T) {
	for _, c := range []struct{ name, order, cell, from, to string }{
		{"to the minute", "ymd", "2026-02-05 13:04", "2026-02-05T18:04:00Z", "2026-02-05T18:04:59.999Z"},
		{"to the second", "ymd", "2026-02-05T13:04:09", "2026-02-05T18:04:09Z", "2026-02-05T18:04:09.999Z"},
		{"a day", "ymd", "2026-02-05", "2026-02-05T05:00:00Z", "2026-02-06T04:59:59.999Z"},
		{"day first", "dmy", "5.2.2026 13:04", "2026-02-05T18:04:00Z", "2026-02-05T18:04:59.999Z"},
		{"month first, afternoon", "mdy", "02/05/2026 1:04 PM", "2026-02-05T18:04:00Z", "2026-02-05T18:04:59.999Z"},
		{"midnight of twelve hours", "mdy", "2/5/26 12:04 am", "2026-02-05T05:04:00Z", "2026-02-05T05:04:59.999Z"},
		{"its own zone", "ymd", "2026-02-05T13:04:09.250+01:00", "2026-02-05T12:04:09Z", "2026-02-05T12:04:09.999Z"},
		{"UTC", "ymd", "2026-02-05 13:04 UTC", "2026-02-05T13:04:00Z", "2026-02-05T13:04:59.999Z"},
		// RFC 5545, 3.3.5: 01:30 happens twice on 4 November 2007, first at 05:30Z; a pack may be of either.
		{"an hour that happens twice", "ymd", "2007-11-04 01:30", "2007-11-04T05:30:00Z", "2007-11-04T06:30:59.999Z"},
		// The same: 02:30 of 11 March 2007 does not exist and is 07:30Z.
		{"an hour that never was", "ymd", "2007-03-11 02:30", "2007-03-11T07:30:00Z", "2007-03-11T07:30:59.999Z"},
		{"a long day", "ymd", "2007-11-04", "2007-11-04T04:00:00Z", "2007-11-05T04:59:59.999Z"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, rows, bad := scan(t, "Sealer,Sealed\n2,"+c.cell+"\n", terms(c.order))
			require.Empty(t, bad)
			require.Equal(t, record.Span{From: utc(c.from), To: utc(c.to), Said: record.Typed}, rows[0].At,
				"%s to %s", rows[0].At.From, rows[0].At.To)
		})
	}
}

func TestBadRowsAreToldByLineAndTheOthersAreRead(t *testing.T) {
	by := terms("ymd")
	by.Now = utc("2026-03-01T12:00:00Z")
	by.Known = func(n string) bool { return n == "2" || n == "A" }
	by.Columns.Count = "Packs"
	text := "Sealer,Sealed,Packs\n" + // RFC 4180: CRLF or LF, quotes, line breaks within quotes
		"2,2026-02-05 13:04,1\r\n" +
		"a,2026-02-05 13:04,\n" +
		"\n" +
		"9,2026-02-05 13:04,1\n" +
		",2026-02-05 13:04,1\n" +
		"2,05/02/2026,1\n" +
		"2,2026-02-30,1\n" +
		"2,2026-02-05 25:10,1\n" +
		"2,2026-02-05\n" +
		"2,2026-05-05 13:04,1\n" +
		"2,2026-02-05,0\n" +
		"2,\"2026-02-05\",\"7\"\n" +
		"2,2026-02-05 \"13:04\",1\n" +
		"2,2026-02-05,\xff\n" +
		"2,2026-02-06,3\n" +
		"2,\"2026-02-06,3\n2,2026-02-06,3\n"
	s, rows, bad := scan(t, text, by)
	want := map[int]string{5: `no sealer here is called "9"`, 6: "names no sealer", 7: `"05/02/2026" is no date`,
		8: `"2026-02-30" is no day`, 9: `"2026-02-05 25:10" has no time of day`, 10: "2 cells, the first line has 3",
		11: "lies in the future", 12: `"0" is no number of packs`, 14: "quotation mark", 15: "not UTF-8", 17: "quotation mark"}
	for _, b := range bad {
		require.Contains(t, b.Why, want[b.Line], "line %d: %s", b.Line, b.Why)
		delete(want, b.Line)
	}
	require.Empty(t, want)
	var lines, counts []int
	for _, r := range rows {
		lines, counts = append(lines, r.Line), append(counts, r.Count)
	}
	require.Equal(t, []int{2, 3, 13, 16}, lines)
	require.Equal(t, []int{1, 1, 7, 3}, counts)
	require.Equal(t, "A", rows[1].Sealer)
	require.Equal(t, []string{"2", "A"}, s.Sealers)
	require.Equal(t, []int{4, 12, 11}, []int{s.Rows, s.Packs, s.Bad})
}

func TestWhatTheTimeIsTheTimeOfWidensIt(t *testing.T) {
	by := terms("ymd")
	by.Columns.Before, by.Columns.After = 24*60, 60
	s, rows, _ := scan(t, "Sealer,Sealed\n2,2026-02-05 13:04\n", by)
	require.Equal(t, utc("2026-02-04T18:04:00Z"), rows[0].At.From)
	require.Equal(t, utc("2026-02-05T19:04:59.999Z"), rows[0].At.To)
	require.Equal(t, []record.Time{rows[0].At.From, rows[0].At.To}, []record.Time{s.First, s.Last})
}

func TestOtherEncodingsAndSeparatorsAreReadWhenStated(t *testing.T) {
	text := "Sealer;Sealed;Pouch\n2;2026-02-05;Papier/Folie für Tücher\n"
	for name, e := range map[string]func(string) (string, error){
		"windows-1252": charmap.Windows1252.NewEncoder().String,
		"utf-16":       unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String,
		"utf-8":        func(s string) (string, error) { return "\uFEFF" + s, nil },
	} {
		b, err := e(text)
		require.NoError(t, err)
		by := terms("ymd")
		by.Columns.Encoding, by.Columns.Separator, by.Columns.Pouch = name, ";", "Pouch"
		s, rows, bad := scan(t, b, by)
		require.Empty(t, bad)
		require.Equal(t, "Papier/Folie für Tücher", rows[0].Pouch, name)
		require.Equal(t, rows, find(t, s.Index, []byte(b), name, "2", rows[0].At))
	}
}

func TestAColumnThatIsNotThereIsAskedFor(t *testing.T) {
	by := terms("ymd")
	by.Columns.Load = "Cycle"
	_, err := packlist.Open(strings.NewReader("Sealer,Sealed\n"), by)
	require.Equal(t, "load_column", fieldOf(err))
	by.Columns.Load, by.Columns.Date = "", ""
	_, err = packlist.Open(strings.NewReader("Sealer,Sealed\n"), by)
	require.Equal(t, "date_column", fieldOf(err))
}

func fieldOf(err error) string {
	var f *fault.Error
	errors.As(err, &f)
	return f.Field
}

func TestTooManyCellsAreRefused(t *testing.T) {
	text := "Sealer,Sealed\n" + strings.Repeat("2,2026-02-05\n", packlist.MaxCells/2)
	_, err := packlist.Scan(strings.NewReader(text), terms("ymd"), nil)
	require.NoError(t, err)
	_, err = packlist.Scan(strings.NewReader(text+"2,2026-02-05\n"), terms("ymd"), nil)
	require.Equal(t, fault.TooLarge, fault.CodeOf(err))
}

// find looks rows up by the index.
func find(t require.TestingT, x *packlist.Index, file []byte, encoding, number string, span record.Span) (rows []packlist.Row) {
	err := x.Find(number, span, func(offset, length int64) (io.ReadCloser, error) {
		r, err := packlist.At(bytes.NewReader(file), encoding, offset, length)
		return io.NopCloser(r), err
	}, func(r packlist.Row) { rows = append(rows, r) })
	require.NoError(t, err)
	return rows
}

// The index finds just the rows that reading the whole list does.
func TestTheIndexFindsWhatReadingAllOfItFinds(t *testing.T) {
	found := 0
	rapid.Check(t, func(rt *rapid.T) {
		var b strings.Builder
		b.WriteString(rapid.SampledFrom([]string{"", "\uFEFF"}).Draw(rt, "mark") + "Sealer,Sealed,Load\n")
		day := 0
		for range rapid.IntRange(0, 1500).Draw(rt, "rows") {
			day = max(0, day+rapid.SampledFrom([]int{0, 0, 0, 0, 0, 0, 1, 3, -2}).Draw(rt, "step"))
			date := time.Date(2026, 1, 1+day, 8, 0, 0, 0, time.UTC).Format("2006-01-02 15:04")
			b.WriteString(rapid.SampledFrom([]string{"1,%s,x\n", "2,%s,\"a\nb\"\r\n", "3,%s,\n\n\n", "2,%s\n", "1,\"%s,\"\"y\"\"\n"}).Draw(rt, "row"))
			text := fmt.Sprintf(b.String(), date)
			b.Reset()
			b.WriteString(text)
		}
		text := b.String()
		var all []packlist.Row
		s, err := packlist.Scan(strings.NewReader(text), terms("ymd"), func(r packlist.Row, bad *packlist.Bad) {
			if bad == nil {
				all = append(all, r)
			}
		})
		require.NoError(rt, err)
		from := time.Date(2026, 1, rapid.IntRange(1, 60).Draw(rt, "from"), 0, 0, 0, 0, time.UTC)
		span := record.Span{From: record.TimeOf(from), To: record.TimeOf(from.AddDate(0, 0, rapid.IntRange(0, 20).Draw(rt, "days")))}
		number := rapid.SampledFrom([]string{"1", "2", "3", "4"}).Draw(rt, "sealer")
		var want []packlist.Row
		for _, r := range all {
			if r.Sealer == number && r.At.To >= span.From && r.At.From <= span.To {
				want = append(want, r)
			}
		}
		found += len(want)
		require.Equal(rt, want, find(rt, s.Index, []byte(text), "utf-8", number, span))
	})
	require.Positive(t, found)
}

func FuzzScan(f *testing.F) {
	f.Add("Sealer,Sealed\n2,2026-02-05 13:04\n", "ymd")
	f.Add("\uFEFFSealer;Sealed\r\n\"2\";\"2/5/26 1:04 PM\"\r\n", "mdy")
	f.Add("Sealer,Sealed\n2,2026-02-05T13:04:09.2+01:00\n2,\"", "dmy")
	f.Fuzz(func(t *testing.T, text, order string) {
		s, err := packlist.Scan(strings.NewReader(text), terms(order), func(r packlist.Row, b *packlist.Bad) {
			if b == nil {
				require.LessOrEqual(t, r.At.From, r.At.To)
				require.Positive(t, r.Count)
			}
		})
		if err == nil && s.Rows > 0 {
			require.LessOrEqual(t, s.First, s.Last)
		}
	})
}
