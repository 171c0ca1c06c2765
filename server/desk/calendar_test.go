package desk_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// calendar makes a calendar for a role and returns its secret.
func (w *workplace) calendar(role record.Role) string {
	w.t.Helper()
	made, err := w.MakeCalendar(w.ctx, w.lead(), desk.MakeCalendarIn{Role: role})
	require.NoError(w.t, err)
	token, ok := strings.CutPrefix(made.URL, "https://tide.example/calendar/")
	require.True(w.t, ok, made.URL)
	return strings.TrimSuffix(token, ".ics")
}

// entries reads a calendar as a parser of others has it: titles by UID.
func (w *workplace) entries(token string) map[string]*ics.VEvent {
	w.t.Helper()
	b, err := w.Calendar(token)
	require.NoError(w.t, err)
	c, err := ics.ParseCalendar(bytes.NewReader(b))
	require.NoError(w.t, err)
	byTitle := map[string]*ics.VEvent{}
	for _, e := range c.Events() {
		byTitle[e.GetProperty(ics.ComponentPropertySummary).Value] = e
	}
	return byTitle
}

func TestACalendarShowsItsRoleWhatIsDueAndNamesNobody(t *testing.T) {
	w := newWorkplace(t)
	signOffTechnician(w) // until 2 February
	in := w.approval6(w.from(), w.spare)
	in.Provisional = record.DateOf(w.now) + 10 // 23 January
	_, err := w.Approve(w.ctx, w.lead(), in)
	require.NoError(t, err)
	_, err = w.FileDocument(w.ctx, w.lead(), desk.DocumentIn{From: w.from(), Code: w.code, What: record.DocCertificate,
		Title: "Certificate of probe 3", Until: record.DateOf(w.now) - 3})
	require.NoError(t, err)

	lead := w.entries(w.calendar(record.Lead))
	ends := lead["Sealer 4, Paper/film 20 cm: the provisional setting ends"]
	require.NotNil(t, ends, "%v", lead)
	at, err := ends.GetStartAt()
	require.NoError(t, err)
	require.Equal(t, "2026-01-24T10:00:00Z", at.UTC().Format("2006-01-02T15:04:05Z07:00"), "05:00 in New York, the day after its last")
	require.NotNil(t, lead["Sign-offs of 1 person end"])
	over := lead["Overdue since 10 Jan: sealer 2: Certificate of probe 3, good until 10 Jan 2026"]
	require.NotNil(t, over, "%v", lead)
	on, err := over.GetAllDayStartAt()
	require.NoError(t, err)
	require.Equal(t, "2026-01-13", on.Format("2006-01-02"), "what is over stands on today")

	tech := w.entries(w.calendar(record.Technician))
	require.Nil(t, tech["Sign-offs of 1 person end"])
	for role, token := range map[record.Role]string{record.Lead: w.calendar(record.Lead), record.Engineering: w.calendar(record.Engineering)} {
		b, err := w.Calendar(token)
		require.NoError(t, err)
		for _, name := range []string{"Costa", "A technician", "Quillon"} {
			require.NotContains(t, string(b), name, role)
		}
	}
}

func TestAnEntryKeepsItsNameWhenItMoves(t *testing.T) {
	w := newWorkplace(t)
	signOffTechnician(w)
	token := w.calendar(record.Lead)
	approve := func(days record.Date) string {
		in := w.approval6(w.from(), w.spare)
		in.Provisional = record.DateOf(w.now) + days
		_, err := w.Approve(w.ctx, w.lead(), in)
		require.NoError(t, err)
		return w.entries(token)["Sealer 4, Paper/film 20 cm: the provisional setting ends"].Id()
	}
	require.Equal(t, approve(10), approve(20))
	first, err := w.Calendar(token)
	require.NoError(t, err)
	again, err := w.Calendar(token)
	require.NoError(t, err)
	require.Equal(t, first, again)
}

func TestACalendarEndsAndIsSlowedDown(t *testing.T) {
	w := newWorkplace(t)
	token, other := w.calendar(record.Technician), w.calendar(record.Engineering)
	for range 30 {
		_, err := w.Calendar(token)
		require.NoError(t, err)
		_, err = w.Calendar("none of ours")
		require.Equal(t, fault.Gone, fault.CodeOf(err))
	}
	_, err := w.Calendar(token)
	require.Equal(t, fault.TooMany, fault.CodeOf(err))
	_, err = w.Calendar("another guess")
	require.Equal(t, fault.TooMany, fault.CodeOf(err), "guesses are slowed down together")
	_, err = w.Calendar(other)
	require.NoError(t, err, "and nobody else")

	w.now = w.now.Add(time.Minute)
	view, err := w.Calendars(w.lead())
	require.NoError(t, err)
	require.Len(t, view.Calendars, 2)
	for _, c := range view.Calendars {
		_, err = w.EndCalendar(w.ctx, w.lead(), desk.EndCalendarIn{Calendar: c.ID})
		require.NoError(t, err)
	}
	_, err = w.Calendar(other)
	require.Equal(t, fault.Gone, fault.CodeOf(err))
	_, err = w.EndCalendar(w.ctx, w.lead(), desk.EndCalendarIn{Calendar: view.Calendars[0].ID})
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
	_, err = w.MakeCalendar(w.ctx, w.staff[record.Technician], desk.MakeCalendarIn{Role: record.Lead})
	require.Equal(t, fault.Forbidden, fault.CodeOf(err))
}
