package desk_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// faultAt has a channel found on sealer 2 at a place, repaired and returned.
func (w *workplace) faultAt(cm string) {
	w.t.Helper()
	w.now = w.now.Add(10 * time.Minute)
	done, err := w.ReportBadSeal(w.ctx, w.lead(), desk.BadSealIn{From: w.from(), Code: w.code, Kind: record.Channel, AtCM: cm, Pouch: w.paper})
	require.NoError(w.t, err)
	w.problem = done.Problem
	w.now = w.now.Add(10 * time.Minute)
	_, err = w.HandBack(w.ctx, w.staff[record.Engineering], desk.HandBackIn{ProblemIn: w.in(w.from()), Finding: "cover", Action: "replaced",
		Safety: "ok", Wiped: true})
	require.NoError(w.t, err)
	w.now = w.now.Add(10 * time.Minute)
	w.pass()
}

func (w *workplace) wide(cm int) {
	w.t.Helper()
	_, err := w.ChangeSealer(w.ctx, w.lead(), desk.SealerIn{From: w.from(), Code: w.code, Number: "2", Type: record.BarDial, WidthCM: cm})
	require.NoError(w.t, err)
}

// Four of five points within a tenth of the line: P = .01622, exact, from the
// closed form of Naus (J. Am. Stat. Assoc. 60 (1965) 532), recomputed and met by
// Monte Carlo. 3 cm of a bar of 30 cm are that tenth.
func TestFaultsThatCrowdAreToldFromChance(t *testing.T) {
	w := newWorkplace(t)
	w.wide(30)
	for _, cm := range []string{"21", "21.5", "4"} {
		w.faultAt(cm)
	}
	where, err := w.Where(w.staff[record.Engineering], w.code)
	require.NoError(t, err)
	require.True(t, where.Crowd.ByChance, "two of three: %v", where.Crowd.P)
	require.Empty(t, where.Sure, "how sure it is, is the lead's page only")

	w.faultAt("22")
	w.faultAt("23,5")
	where, err = w.Where(w.lead(), w.code)
	require.NoError(t, err)
	require.Equal(t, []int{4, 5}, []int{where.Crowd.K, where.Crowd.N})
	require.Equal(t, []float64{21, 23.5}, []float64{where.Crowd.From, where.Crowd.To})
	require.InDelta(t, .01622, where.Crowd.P, 5e-6)
	require.True(t, where.Crowd.Exact)
	require.False(t, where.Crowd.ByChance)
	require.True(t, where.Faults[0].Again)
	require.Equal(t, []desk.Count{{What: "channel", N: 5}}, where.Kinds)
}

// 1 - .05^(1/n): with one good test seal at each place the bound is .95, and it
// takes 59 to show fewer than 5 % (NIST/SEMATECH e-Handbook, sizes for 95/95).
func TestHowSureNoFaultsIsRestsOnTheTestSealsSinceTheLastFault(t *testing.T) {
	w := newWorkplace(t)
	w.faultAt("")
	where, err := w.Where(w.lead(), w.code)
	require.NoError(t, err)
	require.Nil(t, where.Crowd, "no place is known")
	require.Len(t, where.Sure, 3)
	require.Equal(t, 1, where.Sure[0].N)
	require.InDelta(t, .95, where.Sure[0].Below, 1e-12)
	for range 58 {
		w.now = w.now.Add(24 * time.Hour)
		w.pass()
	}
	where, err = w.Where(w.lead(), w.code)
	require.NoError(t, err)
	require.Equal(t, 59, where.Sure[0].N)
	require.Less(t, where.Sure[0].Below, .05)
	require.InDelta(t, .049507609888227, where.Sure[0].Below, 1e-12)
}

// Ten years beside one: what is asked comes from the state, not from the records.
func BenchmarkWhere(b *testing.B) {
	for name, faults := range map[string]int{"one-year": 12, "ten-years": 120} {
		w := newWorkplace(b)
		w.wide(45)
		for range faults {
			w.faultAt("31")
			w.now = w.now.Add(30 * 24 * time.Hour)
			w.pass()
		}
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := w.Where(w.lead(), w.code)
				require.NoError(b, err)
			}
		})
	}
}
