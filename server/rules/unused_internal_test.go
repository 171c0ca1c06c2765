package rules

import (
	"maps"
	"testing"

	"pgregory.net/rapid"

	"tidemark/server/record"
)

// Spans of days are what the same days are as a plain set, in order and apart.
func TestSpansAreSetsOfDays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Sealer
		set := map[record.Date]bool{}
		day := rapid.Custom(func(t *rapid.T) record.Date { return record.Date(rapid.IntRange(1, 40).Draw(t, "day")) })
		for range rapid.IntRange(1, 12).Draw(t, "steps") {
			if rapid.Bool().Draw(t, "used") {
				d := day.Draw(t, "used on")
				if s.wasUsed(d) != set[d] {
					t.Fatalf("day %d: %v", d, s.Unused)
				}
				delete(set, d)
				continue
			}
			from, to := day.Draw(t, "from"), day.Draw(t, "to")
			s.leaveUnused(DaySpan{from, to}, 0)
			for d := from; d <= to; d++ {
				set[d] = true
			}
		}
		spans, last := map[record.Date]bool{}, record.Date(-1)
		for _, u := range s.Unused {
			if u.From <= last+1 || u.To < u.From {
				t.Fatalf("not in order and apart: %v", s.Unused)
			}
			for last = u.From; last < u.To; last++ {
				spans[last] = true
			}
			spans[last] = true
		}
		if !maps.Equal(spans, set) {
			t.Fatalf("%v is not %v", s.Unused, set)
		}
		after, through := day.Draw(t, "after"), day.Draw(t, "through")
		want := int(through) - int(after)
		for d := after + 1; d <= through; d++ {
			if set[d] {
				want--
			}
		}
		if got := s.usedDays(after, through, 0); got != max(0, want) {
			t.Fatalf("%d days in use after %d through %d, not %d: %v", got, after, through, max(0, want), s.Unused)
		}
	})
}

// As many spans as are kept are all there; with one more the oldest is only counted.
func TestTheOldestSpanIsCountedWhenItIsForgotten(t *testing.T) {
	s := Sealer{Since: 1}
	for n := range keptUnused {
		s.leaveUnused(DaySpan{record.Date(10 + 3*n), record.Date(11 + 3*n)}, 0)
	}
	if len(s.Unused) != keptUnused || s.UnusedGone != 0 {
		t.Fatal(len(s.Unused), s.UnusedGone)
	}
	s.leaveUnused(DaySpan{1000, 1000}, 0)
	if len(s.Unused) != keptUnused || s.UnusedGone != 2 || s.Unused[0].From != 13 {
		t.Fatal(len(s.Unused), s.UnusedGone, s.Unused[0])
	}
}
