package rules_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// chain makes records of one sealer by hand: the days are told to the function,
// not worked out by it.
type chain struct {
	t    *testing.T
	list []record.Record
}

func (c *chain) add(day record.Date, hour int, late bool, body record.Body) *record.Record {
	r, err := record.New(body)
	require.NoError(c.t, err)
	r.Seq, r.Day, r.Late = record.Seq(len(c.list)), day, late
	r.Happened = record.Moment(record.TimeOf(day.UTC().Add(time.Duration(hour) * time.Hour)))
	c.list = append(c.list, r)
	return &c.list[len(c.list)-1]
}

func TestCompletenessNamesEachDay(t *testing.T) {
	day := record.Date(20500)
	s := &rules.Sealer{ID: record.ID{1}, Since: day}
	c := &chain{t: t}
	pass := func() *record.Check { return &record.Check{Outcome: record.Pass} }
	c.add(day, 6, false, pass())
	c.add(day+1, 7, false, &record.Packs{Count: 3})
	c.add(day+1, 8, false, pass())
	c.add(day+2, 6, true, pass())
	c.add(day+3, 6, false, &record.Check{Outcome: record.NotYet})
	out := c.add(day+4, 6, false, &record.Check{Outcome: record.Fail})
	out.Effect.Readiness = &record.Readiness{State: record.OutOfService}
	back := c.add(day+6, 9, false, pass())
	back.Effect.Readiness = &record.Readiness{State: record.Ready}
	early := c.add(day+7, 3, false, pass())
	early.Covers = day + 8
	u := &chain{t: t}
	u.add(day+9, 6, false, &record.NotUsed{From: day + 9, To: day + 9, Sealers: []record.ID{s.ID}})
	u.add(day+9, 6, false, &record.NotUsed{From: day + 10, To: day + 10})
	u.add(day+12, 6, false, &record.NotUsed{From: day + 11, To: day + 11, Sealers: []record.ID{s.ID}})
	u.add(day+12, 6, false, &record.NotUsed{From: day + 12, To: day + 12, Sealers: []record.ID{{9}}})

	rows := rules.Completeness(s, c.list, u.list, day-30, day+12, day+20)
	var got []rules.DayStatus
	for _, row := range rows {
		got = append(got, row.Status)
	}
	require.Equal(t, []rules.DayStatus{rules.DayChecked, rules.DayAfterUse, rules.DayLate, rules.DayMissing, rules.DayChecked,
		rules.DayOut, rules.DayChecked, rules.DayChecked, rules.DayChecked, rules.DayNotUsed, rules.DayClosed,
		rules.DayMissing, rules.DayMissing}, got)
	require.True(t, rows[11].Said, "said afterwards: named, not counted")
	require.Equal(t, day, rows[0].Day, "no day before the sealer was there")
	require.Equal(t, 3, rules.Count(rows)[rules.DayMissing])
}

func TestNothingButACheckMakesADayChecked(t *testing.T) {
	day := record.Date(20500)
	s := &rules.Sealer{ID: record.ID{1}, Since: day}
	c := &chain{t: t}
	c.add(day, 6, false, &record.Check{Outcome: record.NotValid})
	taken := c.add(day+1, 6, false, &record.Check{Outcome: record.Pass}).Seq
	c.add(day+1, 7, false, &record.Voided{Why: "of another sealer"}).Corrects = taken
	c.add(day+2, 9, false, &record.Packs{Count: 3})
	c.add(day+3, 6, false, &record.Check{Outcome: record.Fail})
	c.add(day+4, 9, false, &record.Packs{Count: 1})
	u := &chain{t: t}
	u.add(day+2, 6, false, &record.NotUsed{From: day + 2, To: day + 2, Sealers: []record.ID{s.ID}})

	rows := rules.Completeness(s, c.list, u.list, day, day+5, day+4)
	var got []rules.DayStatus
	for _, row := range rows {
		got = append(got, row.Status)
	}
	require.Equal(t, []rules.DayStatus{
		rules.DayMissing, // a test that was not valid says nothing
		rules.DayMissing, // the check was taken back
		rules.DayMissing, // packs were counted, though somebody said it was not used
		rules.DayChecked, // a failed check is a check
		rules.DayMissing, // not over yet, but packs were counted already
		rules.DayOpen,    // not over yet, nothing is known
	}, got)
	require.Equal(t, 5, rules.InUse(rows))
	require.False(t, rows[2].Said)
}

func TestEveryDayStandsInOneColumn(t *testing.T) {
	seen := map[rules.DayStatus]bool{}
	for _, s := range rules.DayStatuses() {
		require.False(t, seen[s], s)
		seen[s] = true
	}
	require.Len(t, seen, 11)
}
