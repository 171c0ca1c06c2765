package demo_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/demo"
	"tidemark/server/record"
)

// Clocks in New York went forward on 8 March 2026 and go back on 1 November
// 2026, at 02:00 (15 U.S.C. 260a, second Sunday of March, first of November).
func TestAtWhateverHourItStartsTheStateFits(t *testing.T) {
	const due, ready = record.CheckDue, record.Ready
	for at, want := range map[string][4]record.State{ // of sealers 1, 4, 5 and A
		"2026-11-25 00:00": {ready, ready, ready, ready}, // the night still belongs to Tuesday
		"2026-11-25 05:00": {due, due, due, due},
		"2026-11-25 23:59": {ready, ready, ready, ready},
		"2026-11-22 13:30": {ready, due, ready, due}, // on Sunday 4 and A are not used
		"2026-03-08 03:30": {ready, due, ready, due}, // Saturday's night, an hour short
		"2026-11-01 01:30": {ready, due, ready, due},
	} {
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
			require.Equal(t, want, [4]record.State{states["1"], states["4"], states["5"], states["A"]})
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

func TestTwoDemosOfTheSameMomentTellTheSame(t *testing.T) {
	t.Parallel()
	now := local(t, "2026-05-20 16:45")
	one, other := build(t, now), build(t, now)
	require.Equal(t, one.told(), other.told())
	require.Equal(t, one.People, other.People)
	t.Run("a kept one is found again", func(t *testing.T) { isFoundAgain(t, one) })
}

// line is what is the same of a record in every demo.
type line struct {
	kind     record.Kind
	at       record.Time
	happened record.Span
	subject  record.Subject
	by       record.ID
	takes    bool
}

func (s *site) told() (lines []line) {
	for _, r := range all[record.Body](s) {
		lines = append(lines, line{r.Kind, r.At, r.Happened, r.Subject, r.By, r.Effect.Takes})
	}
	return lines
}

func isFoundAgain(t *testing.T, s *site) {
	s.close()
	again := open(t, s.dir, time.Now)
	require.False(t, again.desk.NeedsSetUp())
	hospital, err := demo.Reopen(t.Context(), again.desk)
	require.NoError(t, err)
	require.Equal(t, s.People, hospital.People)
	require.Equal(t, s.Sealers, hospital.Sealers)
	require.NotEqual(t, s.DeviceToken, hospital.DeviceToken)
	again.Hospital = hospital
	_, err = again.desk.Sealer(again.as(record.Technician), hospital.Sealers[0].Code, record.ID{})
	require.NoError(t, err)
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
