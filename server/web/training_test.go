package web_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTrainingIsSaidBeforeTheCheckAndNotAfter(t *testing.T) {
	o, v, code := ready(t)
	pin := v.addPerson("L. Marsh", "technician")
	phone := o.phone(v)
	phone.signIn("L. Marsh", pin)
	phone.press("Use this PIN", "pin", "739164")

	t.Run("nobody is shut out until a lead asks for sign-offs", func(*testing.T) {
		phone.open("/S/" + code)
		phone.sees("Pass")
		v.open("/training")
		v.sees("Nobody is asked for a sign-off yet", "Good checks of these people would not count", "L. Marsh")
	})
	t.Run("then no button is there that would refuse", func(t *testing.T) {
		v.press("Ask for sign-offs", "reason", "policy 4.2")
		v.sees("A good check counts only from somebody signed off")
		phone.open("/S/" + code)
		phone.sees("You are not signed off for this type of sealer", "Ask V. Costa", "Report a bad seal")
		require.NotContains(t, phone.raw, `value="pass"`)
	})
	t.Run("a sign-off that says too little comes back with what was typed", func(t *testing.T) {
		v.open("/training")
		v.follow("L. Marsh")
		v.sees("Not signed off for anything yet.")
		v.press("Sign off", "types", "bar-dial", "for", "check", "assessed_by_name", "", "on", "2026-05-04")
		v.refused(http.StatusUnprocessableEntity, "Say who assessed it")
		require.Equal(t, "2026-05-04", v.value("on"))
	})
	t.Run("signed off, the buttons are back", func(t *testing.T) {
		v.press("Sign off", "types", "bar-dial", "for", "check", "assessed_by_name", "P. Quillon", "on", "2026-05-04",
			"due_again", "2026-05-20", "note", "made three checks while I watched")
		require.Equal(t, http.StatusOK, v.status, v.text())
		v.sees("Checks: bar with a dial", "since 4 May 2026, until 20 May 2026", "assessed by P. Quillon", "entered by V. Costa")
		phone.open("/S/" + code)
		phone.sees("Pass", "Your sign-off for this type of sealer ends 20 May 2026.")
		v.open("/hand-over")
		v.sees("Training ends", "L. Marsh")
	})
	t.Run("taken back, they are gone", func(t *testing.T) {
		v.open("/training")
		v.follow("L. Marsh")
		v.press("Take it back", "end_types", "bar-dial", "end_for", "check", "why", "long away")
		require.Equal(t, http.StatusOK, v.status, v.text())
		phone.open("/S/" + code)
		require.NotContains(t, phone.raw, `value="pass"`)
		phone.open("/training")
		require.Equal(t, http.StatusForbidden, phone.status)
		require.False(t, strings.Contains(phone.text(), "Costa"))
	})
}
