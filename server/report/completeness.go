package report

import (
	"slices"
	"strings"
	"unicode/utf8"

	"tidemark/server/rules"
)

// completeness counts days by what became of their check, a column each, draws
// them by month and names every gap. Nothing is averaged.
func completeness(b *Book, w Words, p Pen) error {
	p.Text("Every operating day counts as a day in use, unless somebody said on that day or before it that the sealer was not used, " +
		"the department was closed, or the sealer was out of service from its beginning to its end.")
	columns := []Column{{Text: "Sealer", Width: 2}, {Text: "Days in use", Width: 2, Num: true}}
	shown := columnsFor(b.Days)
	for _, s := range shown {
		columns = append(columns, Column{Text: capital(w.Day(s)), Width: 3, Num: true})
	}
	p.Table("Days by what became of their check", columns...)
	for _, d := range b.Days {
		p.Row(countRow(d, shown)...)
	}
	months(b, w, p)
	gaps(b, w, p)
	return list(b, p, Unused, "Said not to be used", "Nobody said so in this period.")
}

// columnsFor leaves out what never was, but never the ones that matter.
func columnsFor(all []Days) (shown []rules.DayStatus) {
	total := map[rules.DayStatus]int{rules.DayChecked: 1, rules.DayLate: 1, rules.DayMissing: 1, rules.DayNotUsed: 1, rules.DayClosed: 1}
	for _, d := range all {
		for s, n := range rules.Count(d.Rows) {
			total[s] += n
		}
	}
	return slices.DeleteFunc(rules.DayStatuses(), func(s rules.DayStatus) bool { return total[s] == 0 })
}

func countRow(d Days, shown []rules.DayStatus) []string {
	n := rules.Count(d.Rows)
	cells := []string{d.Number, whole(rules.InUse(d.Rows))}
	for _, s := range shown {
		cells = append(cells, whole(n[s]))
	}
	return cells
}

// dayLetters stand for a day in the table of months.
var dayLetters = map[rules.DayStatus]string{
	rules.DayChecked: "x", rules.DayAfterUse: "a", rules.DayLate: "L", rules.DayUnsigned: "s", rules.DayMissing: "!", rules.DayNotUsed: "-",
	rules.DayClosed: "c", rules.DayOut: "o", rules.DayOpen: ".", rules.DayImported: "f", rules.DayBefore: "·",
}

// months draws a letter for each day, a row for each sealer and month.
func months(b *Book, w Words, p Pen) {
	var key []string
	for _, s := range rules.DayStatuses() {
		key = append(key, dayLetters[s]+" "+w.Day(s))
	}
	p.Text("A letter for each day of the month, from the 1st: " + strings.Join(key, ", ") + ". · is a day outside the period, or before the sealer came.")
	p.Table("Day by day", Column{Text: "Sealer", Width: 2}, Column{Text: "Month", Width: 3}, Column{Text: "Days 1 to 31", Width: 14, Mono: true})
	for _, d := range b.Days {
		for i := 0; i < len(d.Rows); {
			first := d.Rows[i].Day
			year, month, dom := first.Civil()
			line := []string{}
			for range dom - 1 {
				line = append(line, "·")
			}
			for ; i < len(d.Rows); i++ {
				if y, m, _ := d.Rows[i].Day.Civil(); y != year || m != month {
					break
				}
				line = append(line, dayLetters[d.Rows[i].Status])
			}
			p.Row(d.Number, first.UTC().Format("Jan 2006"), strings.Join(line, " "))
		}
	}
}

// gaps names each day in use that was not checked before first use.
func gaps(b *Book, w Words, p Pen) {
	begun := false
	for _, d := range b.Days {
		for _, row := range d.Rows {
			why := w.Gap(row)
			if why == "" {
				continue
			}
			if !begun {
				p.Table("Each gap", Column{Text: "Day", Width: 3}, Column{Text: "Sealer", Width: 2}, Column{Text: "What is known", Width: 9})
				begun = true
			}
			p.Row(row.Day.UTC().Format("Mon 2 Jan 2006"), d.Number, why)
		}
	}
	if !begun {
		p.Text("No gap in this period.")
	}
}

func capital(s string) string {
	if s == "" {
		return ""
	}
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}
