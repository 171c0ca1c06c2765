package demo_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/demo"
	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// afternoon is a Wednesday's; all stories have been told by then.
const afternoon = "2026-11-25 14:03"

func TestTwoDemosOfTheSameMomentTellTheSame(t *testing.T) {
	t.Parallel()
	one, other := build(t, local(t, afternoon)), build(t, local(t, afternoon))
	require.Equal(t, one.told(), other.told())
	require.Equal(t, one.People, other.People)
	t.Run("everybody signs in with the PIN that is printed", func(t *testing.T) {
		everybodySignsIn(t, one)
	})
	t.Run("the hospital is as it was asked for", func(t *testing.T) { isAsAskedFor(t, one) })
	t.Run("the two pouches of sealer 5 share no temperature", func(t *testing.T) { sharesNoTemperature(t, one) })
	t.Run("it is not built twice", func(t *testing.T) { isNotBuiltTwice(t, one) })
	t.Run("their stories are there", func(t *testing.T) { stories(t, one) })
	t.Run("one that was kept is found again", func(t *testing.T) { isFoundAgain(t, other) })
}

// Paper/film and HDPE nonwoven are sealed at temperatures that do not overlap:
// common practice, no source; the IFU of the pouches decides.
func sharesNoTemperature(t *testing.T, s *site) {
	lead := s.as(record.Lead)
	shared := map[string]*desk.Shared{}
	for _, sealer := range s.Sealers {
		v, err := s.desk.Settings(lead, sealer.Code)
		require.NoError(t, err)
		shared[v.Number] = v.Shared
	}
	require.Equal(t, &desk.Shared{Clash: "No one temperature serves both: Paper/film 25 cm needs at least 165 °C, " +
		"Nonwoven 20 cm bears at most 130 °C."}, shared["5"])
	require.Nil(t, shared["1"], "one pouch has nothing to share")
	require.Nil(t, shared["3"], "what an impulse bar does is not told by degrees")
	require.Equal(t, "170.0 °C to 190.0 °C", shared["A"].Window, "that of the gusseted pouch lies within the other")
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

func everybodySignsIn(t *testing.T, s *site) {
	require.Len(t, s.People, 12)
	roles := map[record.Role]int{}
	for _, p := range s.People {
		require.Equal(t, p.ID, s.signIn(p).Person)
		roles[p.Role]++
	}
	require.Equal(t, map[record.Role]int{record.Technician: 6, record.Lead: 2,
		record.Engineering: 2, record.Surveyor: 1, record.Administrator: 1}, roles)
}

func isAsAskedFor(t *testing.T, s *site) {
	types := map[record.SealerType]int{}
	for _, sealer := range s.Sealers {
		require.Equal(t, "/S/"+s.sealer(sealer.Number).Code, sealer.Path)
		types[s.sealer(sealer.Number).Type]++
	}
	require.Equal(t, map[record.SealerType]int{record.BarDial: 3, record.BarDisplay: 1,
		record.Impulse: 1, record.Continuous: 1}, types)

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
	size, now := s.ledger.Size(), local(t, afternoon)
	_, err := demo.Build(t.Context(), s.desk, demo.NewClock(time.Now), now)
	require.ErrorContains(t, err, "set up already")
	require.Equal(t, size, s.ledger.Size())
}
