package people_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

func TestCalendarServesUntilItIsEnded(t *testing.T) {
	h := newHouse(t)
	_, err := h.Calendar("never was")
	requireCode(t, fault.Gone, err)
	here, there := people.ID{1}, people.ID{2}
	token, id, err := h.MakeCalendar(people.Calendar{Dept: here, By: vendor, Role: 2, Made: morning})
	require.NoError(t, err)
	other, _, err := h.MakeCalendar(people.Calendar{Dept: there, Made: evening})
	require.NoError(t, err)
	require.False(t, h.inFolder([]byte(token)), "only its hash is stored")
	h.restart()
	want := people.Calendar{ID: id, Dept: here, By: vendor, Role: 2, Made: morning.UTC()}
	got, err := h.Calendar(token)
	require.NoError(t, err)
	require.Equal(t, want, got)
	list, err := h.Calendars(here)
	require.NoError(t, err)
	require.Equal(t, []people.Calendar{want}, list, "another department's are not listed")

	require.NoError(t, h.EndCalendar(id))
	h.restart()
	_, err = h.Calendar(token)
	requireCode(t, fault.Gone, err)
	_, err = h.Calendar(other)
	require.NoError(t, err)
	require.NoError(t, h.EndCalendar(people.ID{9}), "ended twice is ended")
}
