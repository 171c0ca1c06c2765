package demo_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

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
