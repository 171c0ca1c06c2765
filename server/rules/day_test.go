package rules_test

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // for a machine that has no zones

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

const (
	firstDay, lastDay = "2024-01-01", "2030-12-31"
	dayMS             = record.Time(86_400_000)
)

// zonesByTheirClocks loads every zone of the database and keeps one of those
// whose clocks show the same throughout the years of the test.
func zonesByTheirClocks(t *testing.T) (zones []*time.Location) {
	t.Helper()
	list, err := os.ReadFile("testdata/zones.txt")
	require.NoError(t, err)
	names, seen := strings.Fields(strings.SplitN(string(list), "\n", 2)[1]), map[string]bool{}
	require.Greater(t, len(names), 590)
	for _, name := range names {
		zone, err := time.LoadLocation(name)
		require.NoError(t, err)
		if clocks := fmt.Sprint(changes(zone)); !seen[clocks] {
			seen[clocks] = true
			zones = append(zones, zone)
		}
	}
	require.Greater(t, len(zones), 60, "kinds of clocks")
	return zones
}

// changes lists when a zone's clocks change in the years of the test, and to what.
func changes(zone *time.Location) (list []int64) {
	until := date(lastDay).UTC().AddDate(0, 0, 3)
	for at := date(firstDay).UTC().AddDate(0, 0, -3); ; {
		_, offset := at.In(zone).Zone()
		_, end := at.In(zone).ZoneBounds()
		list = append(list, int64(offset))
		if end.IsZero() || end.After(until) {
			return list
		}
		list, at = append(list, end.Unix()), end
	}
}

// wall is what a zone's clock shows, in milliseconds of a day line of its own.
func wall(zone *time.Location, at record.Time) record.Time {
	_, offset := at.In(zone).Zone()
	return at + record.Time(offset)*1000
}

// RULES.md R7: in every zone each date begins exactly once, in order, at the
// first instant at which the clock shows the day start or anything later.
func TestEveryDateBeginsOnceInEveryZone(t *testing.T) {
	zones := zonesByTheirClocks(t)
	if testing.Short() {
		zones = append(zones[:8:8], rules.Zone("Australia/Lord_Howe"), rules.Zone("America/St_Johns"))
	}
	for _, zone := range zones {
		restless := map[record.Date]bool{} // days around a change of clocks
		for _, v := range changes(zone)[1:] {
			for d := range record.Date(5) {
				restless[record.Date(v/86400)+d-2] = true
			}
		}
		for _, start := range []int{0, 90, 150, 5 * 60, 23*60 + 59} {
			requireOneBeginning(t, zone, start, restless)
		}
	}
}

func requireOneBeginning(t *testing.T, zone *time.Location, start int, restless map[record.Date]bool) {
	t.Helper()
	d := rules.Department{DepartmentSettings: record.DepartmentSettings{Zone: zone.String(), DayStart: start}}
	before := rules.Begin(zone, start, date(firstDay)-1)
	for day := date(firstDay); day <= date(lastDay); day++ {
		at := rules.Begin(zone, start, day)
		target := record.Time(day)*dayMS + record.Time(start)*60_000
		ok := at > before && wall(zone, at) >= target && d.Day(at) == day && d.Day(at-1) == day-1
		if restless[day] {
			for back := range record.Time(27 * 60) { // nothing earlier shows it: minute by minute
				ok = ok && wall(zone, at-1-back*60_000) < target
			}
		} else {
			ok = ok && wall(zone, at) == target
		}
		if !ok {
			require.Fail(t, "wrong beginning", "%s, %s, day start %d min: %s", zone, day, start, at)
		}
		before = at
	}
}

// RFC 5545, 3.3.5, gives two examples for America/New_York. For an hour that comes
// twice it takes the first, and so do we. For one that does not exist it goes on
// counting from before the gap (03:30 EDT); that is for appointments. An operating
// day begins as soon as the clock shows its start or anything later: 03:00 EDT.
func TestHoursThatComeTwiceOrNever(t *testing.T) {
	zulu := func(at record.Time) string { return at.Time().Format("2006-01-02T15:04Z") }
	for _, c := range []struct {
		zone, day string
		start     int
		want      string
	}{
		{"America/New_York", "2007-11-04", 90, "2007-11-04T05:30Z"},
		{"America/New_York", "2007-03-11", 150, "2007-03-11T07:00Z"},
		// Lord Howe moves by half an hour (tz database, australasia).
		{"Australia/Lord_Howe", "2026-04-05", 105, "2026-04-04T14:45Z"},
		{"Australia/Lord_Howe", "2026-10-04", 135, "2026-10-03T15:30Z"},
		// Samoa left out Friday, 30 December 2011 (tz database, australasia).
		{"Pacific/Apia", "2011-12-29", 300, "2011-12-29T15:00Z"},
		{"Pacific/Apia", "2011-12-30", 300, "2011-12-30T10:00Z"},
		{"Pacific/Apia", "2011-12-31", 300, "2011-12-30T15:00Z"},
		// Newfoundland changed at 00:01 until 2011 (tz database, northamerica).
		{"America/St_Johns", "2006-10-29", 0, "2006-10-29T02:30Z"},
		{"America/St_Johns", "2006-04-02", 30, "2006-04-02T03:31Z"},
	} {
		t.Run(c.zone+" "+c.day, func(t *testing.T) {
			require.Equal(t, c.want, zulu(rules.Begin(rules.Zone(c.zone), c.start, date(c.day))))
		})
	}
}

func TestADayThatHasBegunStaysThoughTheClockShowsTheDayBefore(t *testing.T) {
	d := rules.Department{DepartmentSettings: record.DepartmentSettings{Zone: "America/St_Johns"}}
	at := local("2006-10-29T03:00:00Z")
	require.Equal(t, "2006-10-28", at.In(rules.Zone(d.Zone)).Format(time.DateOnly), "23:30 for the second time")
	require.Equal(t, date("2006-10-29"), d.Day(at))
}

// With a day start of midnight the date that Samoa left out has no instant.
func TestADateThatNeverWasIsSkipped(t *testing.T) {
	d := rules.Department{DepartmentSettings: record.DepartmentSettings{Zone: "Pacific/Apia"}}
	at := local("2011-12-30T10:00:00Z")
	require.Equal(t, date("2011-12-29"), d.Day(at-1))
	require.Equal(t, date("2011-12-31"), d.Day(at))
}

func TestAZoneThatCannotBeLoadedStandsForUTC(t *testing.T) {
	for _, name := range []string{"", "Local", "Atlantis/Port"} {
		require.Equal(t, time.UTC, rules.Zone(name), name)
	}
}

// RULES.md R7: a change takes effect at once; a day may be longer by the shift,
// none is doubled or goes back.
func TestChangingDayStartOrZoneNeverTakesADayBack(t *testing.T) {
	for name, c := range map[string]struct {
		at, zone string
		start    int
		day, end string
	}{
		"to a later start, after the day began":    {"2026-01-13 06:00", "America/New_York", 7 * 60, "2026-01-13", "2026-01-14 07:00"},
		"to a later start, before the day began":   {"2026-01-13 04:00", "America/New_York", 7 * 60, "2026-01-12", "2026-01-13 07:00"},
		"to an earlier start, that is past":        {"2026-01-13 04:00", "America/New_York", 3 * 60, "2026-01-13", "2026-01-14 03:00"},
		"to a zone in which it is the day before":  {"2026-01-13 05:30", "Pacific/Honolulu", 5 * 60, "2026-01-13", "2026-01-14 10:00"},
		"to a zone in which it is the next day":    {"2026-01-13 16:00", "Asia/Tokyo", 5 * 60, "2026-01-14", "2026-01-14 15:00"},
		"to an earlier start, that is yet to come": {"2026-01-13 02:00", "America/New_York", 3 * 60, "2026-01-12", "2026-01-13 03:00"},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.bar("1")
			h.at("2026-01-12 06:00")
			h.pass(s, h.paper)
			h.at(c.at)
			h.pass(s, h.paper)
			d := rules.GetDepartment(h, h.dept)
			settings := d.DepartmentSettings
			settings.Zone, settings.DayStart = c.zone, c.start
			h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.DepartmentChanged{Name: d.Name, DepartmentSettings: settings})
			h.later(time.Millisecond)
			r := h.pass(s, h.paper)
			require.Equal(t, date(c.day), r.Day, "a check counts for the day as it is")
			h.requireReady(s, h.paper)
			d = rules.GetDepartment(h, h.dept)
			require.Equal(t, local(c.end), d.Next(h.now()))
			h.clock = local(c.end) - 1
			require.Equal(t, date(c.day), d.Day(h.now()))
			h.clock++
			require.Equal(t, date(c.day)+1, d.Day(h.now()))
		})
	}
}

func TestAnEarlyCheckCountsForTheNextDayToo(t *testing.T) {
	for at, covers := range map[string]bool{"2026-01-14 02:59:59": false, "2026-01-14 03:00": true, "2026-01-14 04:59:59": true} {
		t.Run(at, func(t *testing.T) {
			h := newHouse(t)
			s := h.bar("1")
			h.at(at)
			r := h.pass(s, h.paper)
			require.Equal(t, date("2026-01-13"), r.Day)
			require.Equal(t, covers, r.Covers == date("2026-01-14"))
			require.Equal(t, !covers, r.Covers == 0)
			h.at("2026-01-14 05:00")
			require.Equal(t, covers, rules.MaySeal(h, h.its(s), h.paper, h.now()))
		})
	}
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-14 03:30")
	require.Zero(t, h.tested(s, h.paper, record.NotValid).Covers, "only a good one")
}

// An early check is one pouch of two: the row it is in goes on after day start.
func TestAnEarlyFreshPouchKeepsItsRowOverTheNewDay(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-14 04:40")
	h.tested(s, h.paper, record.NotValid)
	h.at("2026-01-14 04:50")
	h.pass(s, h.paper)
	h.at("2026-01-14 05:10")
	h.requireStands(s, record.CheckDue, record.NeedFresh, rules.WhyNotValid)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}

func TestADayOfTheLastRecordIsTheDepartmentsDay(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-14 09:00")
	h.packs(h.typed("2026-01-13 09:00", "2026-01-13 10:00"), s, h.paper, 3)
	r := h.records[len(h.records)-1]
	require.Equal(t, []record.Date{date("2026-01-13"), date("2026-01-14")}, []record.Date{r.Day, r.Effect.Arrived})
	require.Equal(t, date("2026-01-14"), rules.GetDepartment(h, h.dept).LastDay)
	h.pass(s, h.paper)
	require.Zero(t, h.records[len(h.records)-1].Effect.Arrived)
}

// DESIGN.md section 5: a plan may ask for a check per shift; an early one counts.
func TestACheckPerShiftIsDueWhenTheShiftBegins(t *testing.T) {
	for name, c := range map[string]struct {
		shifts []int
		at     string
		due    string
	}{
		"the next shift":              {[]int{14 * 60, 22 * 60}, "2026-01-13 06:00", "2026-01-13 14:00"},
		"in whatever order":           {[]int{22 * 60, 14 * 60}, "2026-01-13 06:00", "2026-01-13 14:00"},
		"two hours early":             {[]int{14 * 60, 22 * 60}, "2026-01-13 12:00", "2026-01-13 22:00"},
		"a moment earlier":            {[]int{14 * 60, 22 * 60}, "2026-01-13 11:59:59", "2026-01-13 14:00"},
		"a shift after midnight":      {[]int{60}, "2026-01-13 06:00", "2026-01-14 01:00"},
		"in the night, early for day": {[]int{14 * 60}, "2026-01-14 04:00", "2026-01-14 14:00"},
		"no more shift today":         {[]int{14 * 60}, "2026-01-13 15:00", "2026-01-14 05:00"},
		"the day start is no shift":   {[]int{5 * 60}, "2026-01-13 06:00", "2026-01-14 05:00"},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			h.plan(record.BarDial, func(p *record.Plan) { p.PerShift = c.shifts })
			s := h.bar("1")
			h.at(c.at)
			h.pass(s, h.paper)
			h.clock = local(c.due) - 1
			h.requireReady(s, h.paper)
			h.clock++
			st := h.standing(s)
			require.Equal(t, record.CheckDue, st.State)
			require.Contains(t, []string{rules.WhyNewShift, rules.WhyNewDay}, st.Why)
			h.pass(s, h.paper)
			h.requireReady(s, h.paper)
		})
	}
}

func TestAShiftsOverDoesNotLookLikeSettling(t *testing.T) {
	h := newHouse(t)
	h.plan(record.BarDial, func(p *record.Plan) { p.PerShift = []int{14 * 60} })
	s := h.bar("1")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	p := h.phone()
	h.at("2026-01-13 14:05")
	r := h.sent(p.kept("2026-01-13 13:55"), s, h.paper, record.Pass)
	require.Empty(t, r.Effect.Nothing)
	h.requireReady(s, h.paper)
}
