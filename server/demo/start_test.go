package demo_test

import (
	"context"
	"flag"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/demo"
	"tidemark/server/record"
)

var manyHours = flag.Bool("hours", false, "start demos at many hours")

// TestAtWhateverHourItStartsTheStateFits starts demos at a few hours, by
// -hours at many:
//
//	go test -run Hour -hours ./server/demo
//
// Clocks in New York went forward on 8 March 2026 and back on 1 November 2026,
// at 02:00 (15 U.S.C. 260a: second Sunday of March, first of November).
func TestAtWhateverHourItStartsTheStateFits(t *testing.T) {
	const due, ready = record.CheckDue, record.Ready
	day := [4]record.State{ready, ready, ready, ready} // of sealers 1, 4, 5 and A
	morning := [4]record.State{due, due, due, due}
	sunday := [4]record.State{ready, due, ready, due} // 4 and A are not used
	starts := map[string][4]record.State{
		"2026-11-25 00:00": day, // the night still belongs to Tuesday
		"2026-11-25 05:00": morning,
		"2026-03-08 03:30": sunday, // Saturday's night, an hour short
	}
	if *manyHours {
		starts["2026-11-01 01:30"] = sunday // Saturday's night, an hour long
		starts["2026-11-22 13:30"] = sunday
		for _, date := range []string{"2026-11-24", "2026-11-25", "2026-11-26", "2026-11-27"} {
			const clocks = "00:40 02:10 04:59 07:31 09:30 11:20 16:00 23:59"
			for _, clock := range strings.Fields(clocks) {
				starts[date+" "+clock] = day
			}
			starts[date+" 05:20"] = morning
		}
	}
	for at, want := range starts {
		t.Run(at, func(t *testing.T) {
			t.Parallel()
			now := local(t, at)
			s := build(t, now)
			board, err := s.desk.Board(s.as(record.Technician))
			require.NoError(t, err)
			states := map[string]record.State{}
			for _, row := range board.Sealers {
				states[row.Number] = row.Standing.State
			}
			got := [4]record.State{states["1"], states["4"], states["5"], states["A"]}
			require.Equal(t, want, got)
			require.Equal(t, record.OutOfService, states["2"])
			require.Equal(t, record.WithEngineering, states["3"])

			last, err := s.ledger.Read(record.Seq(s.ledger.Size() - 1))
			require.NoError(t, err)
			require.False(t, last.At.Time().After(now), "nothing lies in the future")
			requireFreshProblem(t, s, now)
		})
	}
}

// requireFreshProblem wants sealer 2 stopped within the last hours, tagged, with
// a photograph and packs on hold.
func requireFreshProblem(t *testing.T, s *site, now time.Time) {
	t.Helper()
	list := s.problems("2")
	p := list[len(list)-1]
	require.WithinRange(t, p.OpenedAt.Time(), now.Add(-4*time.Hour), now)
	require.NotZero(t, p.Tagged)
	require.Zero(t, p.Closed)
	require.Len(t, p.Photos, 1)
	lead := s.as(record.Lead)
	page, err := s.desk.Problem(lead, p.ID)
	require.NoError(t, err)
	require.Positive(t, page.HoldList.Left)
	require.Len(t, page.Again, 1, "the same place within 30 days")
	photograph, err := s.desk.Photograph(lead, p.Photos[0].Record)
	require.NoError(t, err)
	require.NotEmpty(t, photograph)
}

func TestAnErrorSaysWhenItWas(t *testing.T) {
	t.Parallel()
	now := local(t, "2026-06-10 11:00")
	clock := demo.NewClock(func() time.Time { return now })
	s := open(t, t.TempDir(), clock.Now)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := demo.Build(ctx, s.desk, clock, now)
	require.ErrorContains(t, err, "open department on 12 Mar 08:00")
	require.Equal(t, now, clock.Now())
}

// BenchmarkBuild measures what a demo's start waits for: the whole history.
func BenchmarkBuild(b *testing.B) {
	for b.Loop() {
		s := build(b, local(b, "2026-11-25 14:03"))
		b.ReportMetric(float64(s.ledger.Size()), "records")
		s.close()
	}
}
