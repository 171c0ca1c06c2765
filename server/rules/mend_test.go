package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// What came after each mend, counted by hand on a bar of 45 cm: faults at 31 cm on
// 1, 8 and 20 January, one at 5 cm on 10 January, one in the middle third without a
// distance on 25 January.
func TestWhatCameAfterAMendIsCountedByItsPlace(t *testing.T) {
	at := local
	faults := []rules.FaultFact{
		{At: at("2026-01-20 09:00"), Place: record.Right, AtCM: "33"}, // within 3 cm of 31
		{At: at("2026-01-01 09:00"), Place: record.Right, AtCM: "31"},
		{At: at("2026-01-08 09:00"), Place: record.Right, AtCM: "31 cm"},
		{At: at("2026-01-10 09:00"), Place: record.Left, AtCM: "5"},
		{At: at("2026-01-25 09:00"), Place: record.Middle},
	}
	mends := []rules.Mend{
		{At: at("2026-01-02 12:00"), What: rules.MendedRepair, Name: "cover"},
		{At: at("2026-01-21 12:00"), What: rules.MendedTask, Name: "element"},
		{At: at("2026-03-15 12:00"), What: rules.MendedTask, Name: "pad"},
	}
	now := at("2026-04-01 12:00")
	held := rules.DidItHold(mends, faults, now)
	require.Equal(t, []rules.Held{
		{Mend: mends[2], Through: now, Open: true}, // no fault within 30 days before it
		{Mend: mends[1], Place: record.Right, AtCM: "33", Other: 1, NextOther: at("2026-01-25 09:00"), Through: mends[2].At},
		{Mend: mends[0], Place: record.Right, AtCM: "31", Same: 2, NextSame: at("2026-01-08 09:00"), Other: 1,
			NextOther: at("2026-01-10 09:00"), Through: mends[1].At},
	}, held)
	require.Empty(t, rules.DidItHold(nil, faults, now))
}

func TestOnlyFaultsOfTheSealerAndMendsOfWhatSealsCount(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.tasks(record.BarDial, record.Task{Code: "cover", Days: 7, Recheck: true}, record.Task{Code: "print", Days: 7})
	h.at("2026-01-09 07:00")
	h.pass(s, h.paper)
	_, err := h.maintain(s, &record.TaskDone{Task: "cover", Part: "cover 45 cm"})
	require.NoError(t, err)
	h.did(s, "print")
	h.tested(s, h.paper, record.Fail)
	var faults, mends int
	for i := range h.records {
		if _, ok := rules.FaultIn(&h.records[i]); ok {
			faults++
		}
		if m, ok := rules.MendIn(&h.records[i]); ok {
			require.Equal(t, "cover", m.Name)
			mends++
		}
	}
	require.Equal(t, []int{1, 1}, []int{faults, mends})
}

// A cover is replaced at 26 cm, then a pad at 3 cm: the second mend says nothing of
// the first, which did not hold.
func TestAMendElsewhereDoesNotEndTheTimeOfTheOneBefore(t *testing.T) {
	at := local
	faults := []rules.FaultFact{{At: at("2026-01-01 09:00"), Place: record.Middle, AtCM: "26"},
		{At: at("2026-01-10 09:00"), Place: record.Left, AtCM: "3"}, {At: at("2026-02-20 09:00"), Place: record.Middle, AtCM: "28"}}
	mends := []rules.Mend{{At: at("2026-01-02 09:00"), What: rules.MendedRepair, Name: "cover"},
		{At: at("2026-01-11 09:00"), What: rules.MendedRepair, Name: "pad"}}
	now := at("2026-03-01 09:00")
	held := rules.DidItHold(mends, faults, now)
	require.Equal(t, []rules.Held{
		{Mend: mends[1], Place: record.Left, AtCM: "3", Other: 1, NextOther: faults[2].At, Through: now, Open: true},
		{Mend: mends[0], Place: record.Middle, AtCM: "26", Same: 1, NextSame: faults[2].At, Other: 1, NextOther: faults[1].At,
			Through: now, Open: true},
	}, held)
}
