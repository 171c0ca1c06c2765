package web_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"
	"github.com/stretchr/testify/require"
)

func TestACalendarProgramReadsWithoutASession(t *testing.T) {
	o, v, _ := ready(t)
	v.open("/calendars")
	v.press("Make its address", "role", "lead")
	v.sees("not shown again")
	address := regexp.MustCompile(`/calendar/[0-9A-Za-z_-]{32}\.ics`).FindString(v.raw)
	require.NotEmpty(t, address, v.text())

	program := o.visitor()
	program.open(address)
	require.Equal(t, http.StatusOK, program.status)
	require.Equal(t, "text/calendar; charset=utf-8", program.header.Get("Content-Type"))
	_, err := ics.ParseCalendar(strings.NewReader(program.raw))
	require.NoError(t, err)

	v.open("/calendars")
	require.NotContains(t, v.raw, address, "it is told once")
	v.press("End it")
	program.open(address)
	require.Equal(t, http.StatusGone, program.status)
	program.open("/calendars")
	require.Equal(t, "/device", program.url.Path)
}
