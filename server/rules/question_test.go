package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestSeveralSealersCheckedWithinAMinuteAreAskedAbout(t *testing.T) {
	h := newHouse(t)
	a, b, c := h.bar("1"), h.bar("2"), h.bar("4")
	h.at("2026-01-13 07:00")
	h.pass(a, h.paper)
	h.later(20 * time.Second)
	h.pass(b, h.paper)
	require.Empty(t, rules.Questions(h.records), "two may be side by side")
	h.later(20 * time.Second)
	h.pass(c, h.paper)
	list := rules.Questions(h.records)
	require.Len(t, list, 1)
	require.Equal(t, rules.AskBurst, list[0].What)
	require.ElementsMatch(t, []record.ID{a, b, c}, list[0].Sealers)

	h.at("2026-01-14 07:00")
	for _, s := range []record.ID{a, b, c} {
		h.pass(s, h.paper)
		h.later(31 * time.Second)
	}
	require.Len(t, rules.Questions(h.records), 1, "62 seconds from the first to the third")
}

func TestReadingsThatStayTheSameForWeeksAreAskedAbout(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	read := func(face string) {
		h.later(48 * time.Hour)
		h.setUp(sealerOf(s), &record.Reading{Set: record.Quantity{Value: "180", Unit: "degC"}, Face: record.Quantity{Value: face, Unit: "degC"}})
	}
	for range 9 {
		read("181")
	}
	require.Empty(t, rules.Questions(h.records), "nine times")
	read("181")
	list := rules.Questions(h.records)
	require.Len(t, list, 1)
	require.Equal(t, []any{rules.AskSame, 10, "181 degC"}, []any{list[0].What, list[0].Times, list[0].Same})
	read("180.5")
	require.Len(t, rules.Questions(h.records), 1, "the row is over, and was one")
	for range 9 {
		read("181")
		read("181.5")
	}
	require.Len(t, rules.Questions(h.records), 1, "what scatters is not asked about")
}
