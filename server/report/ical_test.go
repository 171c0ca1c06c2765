package report_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/report"
	"tidemark/server/rules"
)

func written(t *testing.T, c report.Calendar) string {
	var b bytes.Buffer
	require.NoError(t, c.Write(&b))
	return b.String()
}

// read is the calendar as golang-ical, a parser of others, has it.
func read(t *testing.T, text string) *ics.Calendar {
	c, err := ics.ParseCalendar(strings.NewReader(text))
	require.NoError(t, err, text)
	return c
}

func day(t *testing.T, text string) record.Date {
	d, err := record.ParseDate(text)
	require.NoError(t, err)
	return d
}

func TestDaysAtTheEdgesOfMonthsAreReadBackAsTheyWere(t *testing.T) {
	for _, c := range []struct{ on, next string }{
		{"2026-01-31", "2026-02-01"}, {"2026-02-28", "2026-03-01"}, {"2028-02-28", "2028-02-29"}, {"2028-02-29", "2028-03-01"},
		{"2026-12-31", "2027-01-01"}, {"2026-03-08", "2026-03-09"}, {"2026-11-01", "2026-11-02"}, {"2100-02-28", "2100-03-01"},
	} {
		text := written(t, report.Calendar{Name: "Packing room", As: 1768305900000, Events: []report.Event{{UID: "a@x", Day: day(t, c.on), Title: "Due"}}})
		e := read(t, text).Events()
		require.Len(t, e, 1)
		from, err := e[0].GetAllDayStartAt()
		require.NoError(t, err)
		to, err := e[0].GetAllDayEndAt()
		require.NoError(t, err)
		require.Equal(t, []string{c.on, c.next}, []string{from.Format(time.DateOnly), to.Format(time.DateOnly)})
	}
}

// An operating day ends at an instant; that of the change of clocks, too. The
// hour that a clock shows twice begins the first time: RFC 5545, 3.3.5, gives
// 01:30 of 4 November 2007 in New York as 05:30Z. An hour that it skips begins
// after the gap (RULES.md R7), which is not how 3.3.5 reads a wall time: that
// choice is for schedules (server/post). Lord Howe moves its clock by half an hour.
func TestInstantsOfAChangeOfClocksAreReadBackInUTC(t *testing.T) {
	for _, c := range []struct {
		zone, day string
		minutes   int
		want      string
	}{
		{"America/New_York", "2007-11-04", 90, "2007-11-04T05:30:00Z"},
		{"America/New_York", "2007-03-11", 150, "2007-03-11T07:00:00Z"},
		{"Australia/Lord_Howe", "2026-04-05", 105, "2026-04-04T14:45:00Z"},
		{"Australia/Lord_Howe", "2026-10-04", 135, "2026-10-03T15:30:00Z"},
		{"UTC", "2028-02-29", 300, "2028-02-29T05:00:00Z"},
	} {
		at := rules.Begin(rules.Zone(c.zone), c.minutes, day(t, c.day))
		e := read(t, written(t, report.Calendar{As: at, Events: []report.Event{{UID: "a@x", At: at, Title: "Ends"}}})).Events()
		got, err := e[0].GetStartAt()
		require.NoError(t, err)
		require.Equal(t, c.want, got.UTC().Format(time.RFC3339), "%s %s", c.zone, c.day)
	}
}

func TestTextOfAnyKindIsReadBackAndNoLineIsTooLong(t *testing.T) {
	title := "Bench 2; left, \"hot\" \\ jaw: " + strings.Repeat("Prüfung — ß漢字 ", 20)
	notes := "first line\nsecond; line, with\\everything" + strings.Repeat("é", 200)
	text := written(t, report.Calendar{Name: strings.Repeat("ü", 90), As: 1768305900000, Events: []report.Event{
		{UID: "a@x", Day: 20500, Title: title, Text: notes, Link: "https://tide.example/S/K7M2QXB"}}})
	for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		require.LessOrEqual(t, len(line), 75, line) // RFC 5545, 3.1
		require.True(t, strings.ToValidUTF8(line, "") == line, "a character was cut: %q", line)
		require.NotContains(t, line, "\n")
	}
	e := read(t, text).Events()[0]
	require.Equal(t, title, e.GetProperty(ics.ComponentPropertySummary).Value)
	require.Equal(t, notes, e.GetProperty(ics.ComponentPropertyDescription).Value)
	require.Equal(t, "https://tide.example/S/K7M2QXB", e.GetProperty(ics.ComponentPropertyUrl).Value)
}

func TestNothingThatIsTypedBecomesALineOfItsOwn(t *testing.T) {
	text := written(t, report.Calendar{Name: "x\r\nMETHOD:CANCEL", As: 1768305900000, Events: []report.Event{
		{UID: "a@x", Day: 20500, Title: "a\r\nEND:VEVENT\x00\x07", Text: "b\nBEGIN:VALARM"}}})
	for _, line := range strings.Split(text, "\r\n") {
		require.False(t, strings.HasPrefix(line, "METHOD") || strings.HasPrefix(line, "BEGIN:VALARM"), line)
	}
	require.Equal(t, 1, strings.Count(text, "\r\nEND:VEVENT\r\n"))
	require.Len(t, read(t, text).Events(), 1)
}

func TestTheSameCalendarGivesTheSameBytes(t *testing.T) {
	c := report.Calendar{Name: "x", As: 1768305900000, Events: []report.Event{{UID: "a@x", Day: 20500, Title: "t"}, {UID: "b@x", At: 1768305900000}}}
	require.Equal(t, written(t, c), written(t, c))
}
