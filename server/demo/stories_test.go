package demo_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/demo"
	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// The stories are looked for as somebody would who has not written them: in the
// records and on the pages of a demo that ends on a Wednesday at 14:03.
func TestStories(t *testing.T) {
	t.Parallel()
	s := build(t, local(t, "2026-11-25 14:03"))
	t.Run("everybody signs in with the PIN that is printed", func(t *testing.T) { everybodySignsIn(t, s) })
	t.Run("the hospital is as it was asked for", func(t *testing.T) { isAsAskedFor(t, s) })
	t.Run("it is not built twice", func(t *testing.T) { isNotBuiltTwice(t, s) })
	for name, look := range map[string]func(*testing.T, *site){
		"a channel comes again at one place":          channelComesAgain,
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

func everybodySignsIn(t *testing.T, s *site) {
	require.Len(t, s.People, 12)
	roles := map[record.Role]int{}
	for _, p := range s.People {
		require.Equal(t, p.ID, s.signIn(p).Person)
		roles[p.Role]++
	}
	require.Equal(t, map[record.Role]int{record.Technician: 6, record.Lead: 2, record.Engineering: 2, record.Surveyor: 1,
		record.Administrator: 1}, roles)
}

func isAsAskedFor(t *testing.T, s *site) {
	types := map[record.SealerType]int{}
	for _, sealer := range s.Sealers {
		require.Equal(t, "/S/"+s.sealer(sealer.Number).Code, sealer.Path)
		types[s.sealer(sealer.Number).Type]++
	}
	require.Equal(t, map[record.SealerType]int{record.BarDial: 3, record.BarDisplay: 1, record.Impulse: 1,
		record.Continuous: 1}, types)

	// Windows in degrees Celsius that are usual for the materials: common
	// practice, no source; the gusseted one lies within that of paper/film.
	windows := map[record.Material][2]string{record.PaperFilm: {"165 °C", "200 °C"},
		record.Nonwoven: {"120 °C", "130 °C"}, record.Gusseted: {"170 °C", "190 °C"}}
	s.ledger.View(func(v record.View) {
		dept := rules.GetDepartment(v, s.dept)
		require.Equal(t, demo.Department, dept.Name)
		require.Equal(t, 5*60, dept.DayStart)
		require.True(t, dept.PackLog)
		require.Len(t, dept.Pouches, 3)
		for _, id := range dept.Pouches {
			p := rules.GetPouch(v, id)
			require.Equal(t, windows[p.Material], [2]string{p.Low, p.High})
		}
	})
}

func isNotBuiltTwice(t *testing.T, s *site) {
	size, now := s.ledger.Size(), local(t, "2026-11-25 14:03")
	_, err := demo.Build(t.Context(), s.desk, demo.NewClock(time.Now), now)
	require.ErrorContains(t, err, "set up already")
	require.Equal(t, size, s.ledger.Size())
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
	require.Equal(t, []string{"cover", "pad", ""}, []string{p[0].Finding, p[1].Finding, p[2].Finding})
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
	today := record.DateOf(local(t, "2026-11-25 14:03"))
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
	i := slices.IndexFunc(checks, func(c said[*record.Check]) bool { return c.body.Outcome == record.NotValid })
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
	require.Equal(t, 8, closed)
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

// checkedBeforeUse wants a good check of the day before the first packs of a
// sealer, unless a check of the night before counts for it.
func checkedBeforeUse(t *testing.T, s *site) {
	type use struct {
		sealer record.ID
		day    record.Date
	}
	good := map[use]bool{}
	who := map[record.ID]bool{}
	minutes := map[string]bool{}
	for _, c := range all[*record.Check](s) {
		if c.body.Outcome == record.Pass {
			good[use{c.Subject.ID, c.Day}], good[use{c.Subject.ID, c.Covers}] = true, true
		}
		who[c.By] = true
		minutes[c.Happened.From.In(zone).Format("15:04")] = true
	}
	for _, p := range all[*record.Packs](s) {
		require.True(t, good[use{p.Subject.ID, p.Day}], "packs of %s", p.Day)
	}
	require.Greater(t, len(who), 5, "varying people")
	require.Greater(t, len(minutes), 100, "at varying minutes")
}

func onlyReadySealersSeal(t *testing.T, s *site) {
	unready := 0
	for _, p := range all[*record.Packs](s) {
		if p.Effect.Opens > 0 {
			unready++
		}
	}
	require.Equal(t, 1, unready, "but for one story")
}

func sharedSealerSettles(t *testing.T, s *site) {
	five := s.sealer("5").ID
	ready := map[record.ID]record.Time{}
	for _, c := range all[*record.Changeover](s) {
		require.Equal(t, five, c.Subject.ID)
		ready[c.body.Pouch] = c.Effect.Readiness.Until
		require.Greater(t, c.Effect.Readiness.Until, c.At)
	}
	require.Len(t, ready, 2, "to nonwoven and back")
	require.Greater(t, len(all[*record.Changeover](s)), 100)
}
