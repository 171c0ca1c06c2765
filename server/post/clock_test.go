package post_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/post"
	"tidemark/server/record"
)

func zone(t require.TestingT, name string) *time.Location {
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

func date(t require.TestingT, text string) record.Date {
	d, err := record.ParseDate(text)
	require.NoError(t, err)
	return d
}

// utc reads "2026-02-26 13:20" as UTC.
func utc(t require.TestingT, text string) record.Time { return local(t, text, time.UTC) }

func local(t require.TestingT, text string, z *time.Location) record.Time {
	at, err := time.ParseInLocation("2006-01-02 15:04", text, z)
	require.NoError(t, err)
	return record.TimeOf(at)
}

// weekdays opens Monday to Friday.
func weekdays(o ...post.Opening) (week [7][]post.Opening) {
	for day := time.Monday; day <= time.Friday; day++ {
		week[day] = o
	}
	return week
}

func every(o ...post.Opening) (week [7][]post.Opening) {
	for day := range week {
		week[day] = o
	}
	return week
}

var (
	problem    = record.ID{1: 0xb0, 15: 1}
	ada, bruno = record.ID{0xaa, 15: 1}, record.ID{0xaa, 15: 2}
	carla      = record.ID{0xaa, 15: 3}
)

func workshop(t require.TestingT) *post.Route {
	return &post.Route{
		Hours: post.Hours{Zone: zone(t, "America/New_York"),
			Week: weekdays(post.Opening{7 * 60, 16 * 60})},
		People: []post.Addressee{{ID: ada}, {ID: bruno}, {ID: carla}},
		Unseen: 30 * time.Minute,
	}
}

func TestARouteWaitsForItsHours(t *testing.T) {
	ny := zone(t, "America/New_York")
	for _, c := range []struct {
		name, at string
		n        int
		urgent   bool
		due      string
	}{
		{"within hours at once", "2026-02-26 08:20", 0, false, "2026-02-26 08:20"},
		{"at night in the morning", "2026-02-26 03:00", 0, false, "2026-02-26 07:00"},
		{"in the evening next morning", "2026-02-26 16:00", 0, false, "2026-02-27 07:00"},
		{"on Saturday on Monday", "2026-02-28 09:00", 0, false, "2026-03-02 07:00"},
		{"the next after the minutes unseen", "2026-02-26 08:20", 1, false, "2026-02-26 08:50"},
		{"unseen minutes go on next morning", "2026-02-26 15:50", 1, false, "2026-02-27 07:20"},
		{"what would fall on closing time opens", "2026-02-26 15:30", 1, false, "2026-02-27 07:00"},
		{"over the weekend", "2026-02-27 15:50", 2, false, "2026-03-02 07:20"},
		{"urgent at night at once", "2026-02-26 03:00", 0, true, "2026-02-26 03:00"},
		{"urgent at night the next one too", "2026-02-26 03:00", 1, true, "2026-02-26 03:30"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, ok := workshop(t).Next(problem, c.n, local(t, c.at, ny), c.urgent)
			require.True(t, ok)
			require.Equal(t, local(t, c.due, ny).String(), s.Due.String())
			require.Equal(t, c.n, s.N)
		})
	}
}

func TestARouteEndsWithItsLastAddressee(t *testing.T) {
	_, ok := workshop(t).Next(problem, 3, utc(t, "2026-02-26 13:20"), true)
	require.False(t, ok)
}

func TestWhoIsAwayIsPassedOver(t *testing.T) {
	r := workshop(t)
	r.People[0].Away = []post.Days{{date(t, "2026-02-20"), date(t, "2026-02-26")}}
	s, ok := r.Next(problem, 0, utc(t, "2026-02-26 13:20"), false)
	require.True(t, ok)
	require.Equal(t, bruno, s.To)
	require.Equal(t, 1, s.N)

	s, ok = r.Next(problem, 0, utc(t, "2026-02-26 22:00"), false) // told on the 27th
	require.True(t, ok)
	require.Equal(t, ada, s.To)
}

func TestIfAllAreAwayTheFirstIsTold(t *testing.T) {
	r := workshop(t)
	for i := range r.People {
		r.People[i].Away = []post.Days{{date(t, "2026-02-01"), date(t, "2026-02-28")}}
	}
	s, ok := r.Next(problem, 1, utc(t, "2026-02-26 13:20"), true)
	require.True(t, ok)
	require.Equal(t, bruno, s.To)
}

func TestClosedDaysAreSkipped(t *testing.T) {
	r := workshop(t)
	r.Hours.Closed = []post.Days{{date(t, "2026-11-26"), date(t, "2026-11-27")}}
	s, ok := r.Next(problem, 0, utc(t, "2026-11-26 15:00"), false)
	require.True(t, ok)
	require.Equal(t, local(t, "2026-11-30 07:00", r.Hours.Zone), s.Due)

	r.Hours.Closed = []post.Days{{date(t, "2026-01-01"), date(t, "2029-01-01")}}
	_, ok = r.Next(problem, 0, utc(t, "2026-11-26 15:00"), false)
	require.False(t, ok, "nobody to tell for more than a year")
}

// The values are those of RFC 5545, 3.3.5, for America/New_York.
func TestOpeningsFollowTheStandardWhereTheClocksChange(t *testing.T) {
	h := post.Hours{Zone: zone(t, "America/New_York")}
	for _, c := range []struct {
		name    string
		minutes int
		from    string
		opens   string
	}{
		{"a time that comes twice is its first", 90, "2007-11-04 04:00", "2007-11-04 05:30"},
		{"a time left out has the offset before", 150, "2007-03-11 05:00", "2007-03-11 07:30"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h.Week = every(post.Opening{c.minutes, c.minutes + 120})
			got, ok := h.After(utc(t, c.from), 0)
			require.True(t, ok)
			require.Equal(t, utc(t, c.opens).String(), got.String())
		})
	}
}

// Which nights those are is common knowledge of the zone database: 8 March and
// 1 November 2026 in New York; on Lord Howe half an hour, 5 April 2026.
func TestMinutesUnseenAreElapsedMinutes(t *testing.T) {
	night := post.Opening{22 * 60, 30 * 60} // 22:00 to 06:00
	const ny, howe = "America/New_York", "Australia/Lord_Howe"
	for _, c := range []struct {
		name, zone, at string
		wait           time.Duration
		due            string
	}{
		{"an hour is missing", ny, "2026-03-08 06:55", 10 * time.Minute, "2026-03-08 07:05"},
		{"the night is seven hours", ny, "2026-03-08 03:00", 7*time.Hour - 1, "2026-03-08 10:00"},
		{"the night is nine hours", ny, "2026-11-01 02:00", 9*time.Hour - 1, "2026-11-01 11:00"},
		{"half an hour comes twice", howe, "2026-04-04 11:00", 8 * time.Hour, "2026-04-04 19:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := post.Hours{Zone: zone(t, c.zone), Week: every(night)}
			got, ok := h.After(utc(t, c.at), c.wait)
			require.True(t, ok)
			require.WithinDuration(t, utc(t, c.due).Time(), got.Time(), time.Millisecond)
		})
	}
}

func TestAStepIsTheSameAfterARestart(t *testing.T) {
	at := utc(t, "2026-02-26 13:20")
	one, _ := workshop(t).Next(problem, 1, at, false)
	two, _ := workshop(t).Next(problem, 1, at, false)
	require.Equal(t, one, two)
	other, _ := workshop(t).Next(problem, 2, at, false)
	require.NotEqual(t, one.ID, other.ID)
	later, _ := workshop(t).Next(problem, 1, at.Add(time.Hour), true)
	require.Equal(t, one.ID, later.ID, "a step made at another hour is still that step")
}

// The oracle walks minute by minute and reads the wall clock. Openings neither
// begin nor end between midnight and four, where the clocks change and the wall
// clock alone cannot tell.
func TestHoursCountAsAWatchmanWould(t *testing.T) {
	zones := []string{"America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "UTC"}
	days := []string{"2026-03-06", "2026-03-27", "2026-04-03", "2026-06-01", "2026-10-02",
		"2026-10-30"}
	rapid.Check(t, func(t *rapid.T) {
		h := post.Hours{Zone: zone(t, rapid.SampledFrom(zones).Draw(t, "zone"))}
		for day := range h.Week {
			h.Week[day] = openings(t)
		}
		start := utc(t, rapid.SampledFrom(days).Draw(t, "day")+" 00:00").
			Add(time.Duration(rapid.IntRange(0, 3*24*60).Draw(t, "minute")) * time.Minute)
		wait := time.Duration(rapid.IntRange(0, 6*60).Draw(t, "wait")) * time.Minute
		got, ok := h.After(start, wait)
		want, found := watchman(&h, start, wait)
		require.Equal(t, found, ok)
		require.Equal(t, want.String(), got.String())
	})
}

func openings(t *rapid.T) (list []post.Opening) {
	halves := rapid.SliceOfNDistinct(rapid.IntRange(8, 47), 0, 4, rapid.ID[int]).Draw(t, "halves")
	for i := 0; i+1 < len(halves); i += 2 {
		o := post.Opening{From: 30 * min(halves[i], halves[i+1]), To: 30 * max(halves[i], halves[i+1])}
		if len(list) == 0 || o.From >= list[len(list)-1].To {
			list = append(list, o)
		}
	}
	if len(list) == 0 && rapid.Bool().Draw(t, "night") {
		return []post.Opening{{22 * 60, 29 * 60}}
	}
	return list
}

func watchman(h *post.Hours, t record.Time, wait time.Duration) (record.Time, bool) {
	open := func(at record.Time) bool {
		clock := at.In(h.Zone)
		minute := 60*clock.Hour() + clock.Minute()
		for _, o := range h.Week[clock.Weekday()] {
			if o.From <= minute && minute < o.To {
				return true
			}
		}
		for _, o := range h.Week[(clock.Weekday()+6)%7] {
			if minute+24*60 < o.To {
				return true
			}
		}
		return false
	}
	never := true
	for _, day := range h.Week {
		never = never && len(day) == 0
	}
	for range 100 * 24 * 60 { // half an hour a week makes six hours in 84 days
		switch {
		case never: // no openings are always open
			return t.Add(wait), true
		case open(t) && wait == 0:
			return t, true
		case open(t):
			wait -= time.Minute
		}
		t = t.Add(time.Minute)
	}
	return 0, false
}
