package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDepartment(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	v.sees("First pouch", "First sealer")
	v.follow("Department")

	t.Run("what is changed is kept, the rest stays", func(t *testing.T) {
		v.press("Save", "fallback", "Wrap it, and ask V. Costa.", "early_minutes", "90")
		require.Equal(t, "/set-up", v.url.Path)
		v.open("/set-up/department")
		require.Equal(t, "Wrap it, and ask V. Costa.", v.value("fallback"))
		require.Equal(t, "90", v.value("early_minutes"))
		require.Equal(t, "15", v.value("late_minutes"))
	})
	t.Run("a wrong zone comes back with what was typed", func(t *testing.T) {
		v.press("Save", "zone", "Mars/Olympus", "name", "Packing room 2")
		v.refused(http.StatusUnprocessableEntity, "Choose a time zone")
		require.Equal(t, "Packing room 2", v.value("name"))
	})
	t.Run("letters for minutes come back, too", func(t *testing.T) {
		v.open("/set-up/department")
		v.press("Save", "early_minutes", "two hours", "reason", "longer nights")
		v.refused(http.StatusUnprocessableEntity, "could not be read")
		require.Equal(t, "two hours", v.value("early_minutes"))
	})
	t.Run("no early check at all is an answer", func(t *testing.T) {
		v.open("/set-up/department")
		v.press("Save", "early_minutes", "0")
		v.open("/set-up/department")
		require.Equal(t, "0", v.value("early_minutes"))
	})
}

func TestCheckPlan(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	v.open("/set-up/plans/impulse")
	v.sees("Common practice, no source.")

	t.Run("a plan of the department's own takes the place of the default", func(t *testing.T) {
		v.press("Save the plan", "places", "whole", "tests", "look", "tests", "peel", "per_shift",
			"14:00, 22:00",
			"policy", "Policy 7, section 4")
		v.open("/set-up/plans/impulse")
		v.sees("Set by the department: Policy 7, section 4")
		require.Equal(t, "whole", v.value("places"))
		require.Equal(t, "14:00, 22:00", v.value("per_shift"))
	})
	t.Run("a plan without a test comes back", func(t *testing.T) {
		v.post("/set-up/plans/impulse", http.MethodPost, map[string][]string{"places": {"left"},
			"return_good": {"1"}})
		v.refused(http.StatusUnprocessableEntity, "Choose at least one test")
		require.Equal(t, "left", v.value("places"))
	})
	t.Run("a time of day that is none comes back", func(t *testing.T) {
		v.open("/set-up/plans/impulse")
		v.press("Save the plan", "per_shift", "noon")
		v.refused(http.StatusUnprocessableEntity, "time of day")
	})
	t.Run("a type that nobody knows has no page", func(t *testing.T) {
		v.open("/set-up/plans/press")
		require.Equal(t, http.StatusNotFound, v.status)
	})
}
