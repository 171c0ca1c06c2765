package demo_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// stories are looked for as by somebody who has not written them: in the records
// and on the pages.
func stories(t *testing.T, s *site) {
	for name, look := range map[string]func(*testing.T, *site){
		"a channel comes again at one place":          channelComesAgain,
		"a calibration holds nonwoven alone":          calibrationHolds,
		"a display lies":                              displayLies,
		"a repair does not hold":                      repairDoesNotHold,
		"two working days have no check":              twoDaysWithoutChecks,
		"one check was entered late for somebody":     oneLateEntry,
		"an unclear test asks for two fresh pouches":  twoFreshPouches,
		"a power cut takes all sealers":               powerCutTakesAll,
		"packs sealed in a changeover have a list":    sealedInChangeover,
		"one lot is on hold, another was let go":      oneLotOnHold,
		"what is closed has all three endings":        threeEndings,
		"a crease asks for one test seal":             creaseAsksForOne,
		"everyday life is checked before first use":   checkedBeforeUse,
		"nobody seals on a sealer that is not ready":  onlyReadySealersSeal,
		"the shared sealer settles before each check": sharedSealerSettles,
	} {
		t.Run(name, func(t *testing.T) { look(t, s) })
	}
}

func channelComesAgain(t *testing.T, s *site) {
	p := s.problems("2")
	require.Len(t, p, 3)
	for _, one := range p {
		require.Equal(t, record.Channel, one.Kind)
		require.Equal(t, record.Right, one.Place)
	}
	require.True(t, rules.SamePlaceAgain(p[1], p[0]))
	require.True(t, rules.SamePlaceAgain(p[2], p[1]))
	require.Equal(t, "cover", p[0].Finding)
	require.Equal(t, "pad", p[1].Finding)
	require.Empty(t, p[2].Finding)
	require.Equal(t, []int{1, 0, 1}, []int{len(p[0].Photos), len(p[1].Photos), len(p[2].Photos)})
	for _, photograph := range all[*record.Photograph](s) {
		require.False(t, photograph.body.Blurred)
	}
}

func displayLies(t *testing.T, s *site) {
	p := s.problems("5")[0]
	require.Equal(t, "temperature-control", p.Finding)
	require.Equal(t, record.BlameHeat, p.Blame)
	page, err := s.desk.Problem(s.as(record.Lead), p.ID)
	require.NoError(t, err)
	require.True(t, slices.ContainsFunc(page.Lines, func(l desk.Line) bool {
		return l.Kind == "note" && l.Note != "" && l.Who == "H. Brannock"
	}), "the reference measurement was noted")
	require.NotEmpty(t, page.HoldList.Rows)
	for _, row := range page.HoldList.Rows {
		require.Equal(t, "Nonwoven 20 cm", row.Pouch, "paper/film has room for 7 degrees")
	}
}

func calibrationHolds(t *testing.T, s *site) {
	p := s.problems("5")[1]
	require.Equal(t, rules.WhatCalibration, p.What)
	page, err := s.desk.Hold(s.as(record.Lead), p.ID)
	require.NoError(t, err)
	require.False(t, page.HoldList.NoCheck, "it reaches back to the calibration of the first day")
	require.Positive(t, page.HoldList.Passes)
	for _, row := range page.HoldList.Rows {
		require.Equal(t, "Nonwoven 20 cm", row.Pouch)
	}
	require.Len(t, p.Settled, 1)
	require.NotEqual(t, p.SettledBy, p.Settled[0].By, "two names")
}

func repairDoesNotHold(t *testing.T, s *site) {
	p := s.problems("4")
	require.Len(t, p, 2, "the second repair holds")
	require.Equal(t, record.Weak, p[0].Kind)
	require.True(t, rules.SamePlaceAgain(p[1], p[0]))
	require.NotZero(t, p[0].Returned)
	held := p[1].OpenedAt.Sub(p[0].HandedBack)
	require.Positive(t, held)
	require.Less(t, held, 7*24*time.Hour)
	require.NotNil(t, p[0].Answer, "dye cannot see a weak seal: a lead answers for the window")
}

func twoDaysWithoutChecks(t *testing.T, s *site) {
	checked := map[record.Date]bool{}
	for _, c := range all[*record.Check](s) {
		checked[c.Day] = true
	}
	today := record.DateOf(local(t, afternoon))
	var missed []string
	for d := today - 90; d <= today; d++ {
		if !checked[d] {
			missed = append(missed, d.UTC().Format("Mon 2 Jan"))
		}
	}
	require.Equal(t, []string{"Mon 28 Sep", "Mon 26 Oct"}, missed)
}

func oneLateEntry(t *testing.T, s *site) {
	var late []said[*record.Check]
	for _, c := range all[*record.Check](s) {
		if c.Late {
			late = append(late, c)
		}
	}
	require.Len(t, late, 1)
	c := late[0]
	require.Equal(t, record.Typed, c.Happened.Said)
	require.Equal(t, record.Told, c.Meaning)
	require.NotEqual(t, c.By, c.OnBehalfOf)
	require.NotZero(t, c.OnBehalfOf)
	require.Greater(t, c.At.Sub(c.Happened.To), 7*time.Hour)
	require.Equal(t, record.DateOf(c.Happened.To.In(zone)), c.Day)
}

func twoFreshPouches(t *testing.T, s *site) {
	checks := all[*record.Check](s)
	i := slices.IndexFunc(checks, func(c said[*record.Check]) bool {
		return c.body.Outcome == record.NotValid
	})
	require.Positive(t, i)
	r := checks[i].Effect.Readiness
	require.Equal(t, record.NeedFresh, r.Need)
	require.Equal(t, []record.Outcome{record.Pass, record.Pass},
		[]record.Outcome{checks[i+1].body.Outcome, checks[i+2].body.Outcome})
	require.Equal(t, record.CheckDue, checks[i+1].Effect.Readiness.State)
	require.Equal(t, record.Ready, checks[i+2].Effect.Readiness.State)
}

func powerCutTakesAll(t *testing.T, s *site) {
	cut := all[*record.Disturbance](s)
	require.Len(t, cut, len(s.Sealers), "one entry, a record for each sealer")
	for _, r := range cut[1:] {
		require.Equal(t, cut[0].ID, r.Of)
	}
	early := 0
	for _, c := range all[*record.Check](s) {
		if c.Covers != 0 {
			require.Equal(t, c.Day+1, c.Covers)
			early++
		}
	}
	require.Equal(t, 3, early, "checks after the cut count for the day that follows, too")
}

func sealedInChangeover(t *testing.T, s *site) {
	p := s.problems("5")
	require.Equal(t, rules.WhatUnready, p[len(p)-1].What)
	require.Equal(t, 2, p[len(p)-1].Settled[0].Count)
}

func oneLotOnHold(t *testing.T, s *site) {
	require.Len(t, all[*record.LotHeld](s), 2)
	require.Len(t, all[*record.LotReleased](s), 1)
	s.ledger.View(func(v record.View) {
		for _, id := range rules.GetDepartment(v, s.dept).Pouches {
			if p := rules.GetPouch(v, id); p.Material == record.PaperFilm {
				require.Len(t, p.Held, 1)
				require.Contains(t, p.Held, "PF-61022")
			}
		}
	})
}

func threeEndings(t *testing.T, s *site) {
	closed := 0
	lead := s.as(record.Lead)
	for _, sealer := range s.Sealers {
		for _, p := range s.problems(sealer.Number) {
			if p.Closed == 0 {
				continue
			}
			closed++
			require.NotZero(t, p.SettledAt)
			require.Equal(t, p.NeedsEngineering(), p.Returned != 0)
			page, err := s.desk.Problem(lead, p.ID)
			require.NoError(t, err)
			require.Zero(t, page.HoldList.Left, "problem %d", p.Number)
		}
	}
	require.Equal(t, 9, closed)
	s.ledger.View(func(v record.View) { require.Len(t, rules.GetDepartment(v, s.dept).Open, 3) })
}

func creaseAsksForOne(t *testing.T, s *site) {
	for _, b := range all[*record.BadSeal](s) {
		if b.body.Kind == record.Crease {
			require.Equal(t, record.NeedTestSeal, b.Effect.Readiness.Need)
			require.Zero(t, b.Effect.Opens)
			return
		}
	}
	require.Fail(t, "there is no crease")
}
