package report

import (
	"fmt"
	"iter"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// dated is the date of every file of these tests.
var dated = time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)

// plain words say codes as they are.
type plainWords struct{}

func (plainWords) Day(s rules.DayStatus) string { return "days " + string(s) }
func (plainWords) Gap(d rules.DayRow) string {
	if d.Status == rules.DayMissing {
		return "nobody checked"
	}
	return ""
}

// sample is a book of some sealers over some days with checks of each day.
func sample(sealers, days int) *Book {
	from := record.Date(20500)
	b := &Book{Place: "Packing room, Lanternfield Hospital", Mark: "record 1204 · 9f3ac21b", AsOf: "4 Mar 2026 12:00", From: from,
		To: from + record.Date(days) - 1}
	for n := range sealers {
		number := fmt.Sprint(n + 1)
		b.Sealers = append(b.Sealers, Sealer{Number: number, Type: "bar with a dial", Asset: "2041" + number, State: "ready", Since: from})
		d := Days{Number: number}
		for i := range days {
			row := rules.DayRow{Day: from + record.Date(i), Status: rules.DayChecked}
			if (n+i)%29 == 7 {
				row.Status = rules.DayMissing
			}
			d.Rows = append(d.Rows, row)
		}
		b.Days = append(b.Days, d)
	}
	b.Problems = []Problem{{Number: 7, Title: "Channel, left", Sealer: "1", Since: "3 Mar 2026 06:05", Returned: "4 Mar 2026 14:20, B. Iyer",
		Hold: "Packs to keep aside: at least 31."}}
	b.People = []Person{{Name: "removed on 2 Mar 2026", Roles: "technician", FirstLine: true}}
	b.Entries = func(p Part) iter.Seq2[Entry, error] {
		if p == Checks {
			return checksOf(sealers * days)
		}
		return checksOf(1)
	}
	b.Chain = func(int) iter.Seq2[Entry, error] { return checksOf(3) }
	return b
}

func checksOf(n int) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		for i := range n {
			e := Entry{Seq: record.Seq(i), When: "13 Jan 2026 06:05", Sealer: fmt.Sprint(i%20 + 1), Title: "Good check",
				Text: "paper/film, left, middle and right, visual inspection and dye test", Who: "L. Marsh"}
			if i%40 == 3 {
				e.Written, e.Marks = "14 Jan 2026 07:00", "see record 9: corrected or taken back"
			}
			if !yield(e, nil) {
				return
			}
		}
	}
}

func TestASheetHasWhatTheSectionSays(t *testing.T) {
	b := sample(2, 40)
	for _, s := range Sections {
		sheet, err := Keep(b, plainWords{}, s.ID)
		require.NoError(t, err)
		require.Equal(t, s.Title, sheet.Title)
		require.NotEmpty(t, sheet.Blocks, s.ID)
		for _, block := range sheet.Blocks {
			for _, row := range block.Rows {
				require.Len(t, row, len(block.Head), "%s: %s", s.ID, block.Caption)
			}
		}
	}
	_, err := Keep(b, plainWords{}, "statistics")
	require.ErrorIs(t, err, errNoSection)
}

// Counted by hand, the weekdays from a calendar: of 40 days from the first on, sealer 1 misses days 7 and 36,
// sealer 2 days 6 and 35.
func TestCompletenessCountsAndNamesEachDay(t *testing.T) {
	sheet, err := Keep(sample(2, 40), plainWords{}, "completeness")
	require.NoError(t, err)
	counts, days, gaps := sheet.Blocks[1], sheet.Blocks[3], sheet.Blocks[4]
	require.Equal(t, []string{"1", "40", "38", "0", "2", "0", "0"}, counts.Rows[0])
	require.Equal(t, []string{"2", "40", "38", "0", "2", "0", "0"}, counts.Rows[1])
	require.Equal(t, [][]string{
		{"Mon 23 Feb 2026", "1", "nobody checked"}, {"Tue 24 Mar 2026", "1", "nobody checked"},
		{"Sun 22 Feb 2026", "2", "nobody checked"}, {"Mon 23 Mar 2026", "2", "nobody checked"},
	}, gaps.Rows)
	require.Equal(t, "Feb 2026", days.Rows[0][1])
	require.Equal(t, strings.Repeat("· ", 15)+"x x x x x x x ! x x x x x", days.Rows[0][2])
}

func TestAnErrorOnTheWayEndsThePack(t *testing.T) {
	b := sample(1, 1)
	broken := fmt.Errorf("the disk is gone")
	b.Entries = func(Part) iter.Seq2[Entry, error] {
		return func(yield func(Entry, error) bool) { yield(Entry{}, broken) }
	}
	_, err := Keep(b, plainWords{}, "checks")
	require.ErrorIs(t, err, broken)
}
