package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestARepairHeldUntilTheSamePlaceFailsAgain(t *testing.T) {
	fault := func(day int, cm string, place record.Place) *rules.Problem {
		at := record.Time(1_770_000_000_000 + int64(day)*86_400_000)
		return &rules.Problem{ID: record.ID{byte(day)}, What: rules.WhatBadSeal, OpenedAt: at, HandedBack: at + 1, Returned: at + 2, AtCM: cm, Place: place}
	}
	first := fault(1, "26", record.Middle)
	for name, c := range map[string]struct {
		later []*rules.Problem
		held  rules.Mended
		by    int
	}{
		"nothing since":               {nil, rules.MendedSoFar, 0},
		"two cm away, 100 days later": {[]*rules.Problem{fault(50, "5", record.Left), fault(101, "28", record.Middle)}, rules.MendedNot, 101},
		"at the other end only":       {[]*rules.Problem{fault(9, "5", record.Left)}, rules.MendedOther, 9},
		"the third, without cm":       {[]*rules.Problem{fault(9, "", record.Middle)}, rules.MendedNot, 9},
		"a hold without blame":        {[]*rules.Problem{{What: rules.WhatUnready, OpenedAt: first.Returned + 5, Place: record.Middle}}, rules.MendedSoFar, 0},
	} {
		held, by := rules.RepairHeld(first, c.later)
		require.Equal(t, c.held, held, name)
		if c.by > 0 {
			require.Equal(t, record.ID{byte(c.by)}, by.ID, name)
		}
	}
	first.Returned = 0
	held, _ := rules.RepairHeld(first, nil)
	require.Equal(t, rules.MendedUnsaid, held)
}
