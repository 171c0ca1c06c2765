package web_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var (
	shownPIN  = regexp.MustCompile(`[0-9]{3} [0-9]{3}`)
	shownCode = regexp.MustCompile(`[0-9A-Z]{4} [0-9A-Z]{4}`)
)

// addPerson returns the PIN that was shown.
func (v *visitor) addPerson(name, role string) string {
	v.t.Helper()
	v.open("/people/new")
	v.press("Add, and make a PIN", "name", name, "roles", role)
	pin := shownPIN.FindString(v.text())
	require.NotEmpty(v.t, pin, v.text())
	return strings.ReplaceAll(pin, " ", "")
}

// phone is another browser that v lets in.
func (o *office) phone(v *visitor) *visitor {
	o.t.Helper()
	v.open("/people")
	v.press("Let a device in")
	code := shownCode.FindString(v.text())
	require.NotEmpty(o.t, code, v.text())
	phone := o.visitor()
	phone.open("/sign-in")
	phone.press("Let it in", "code", code, "name", "phone")
	phone.sees("Tap your name")
	return phone
}

func (v *visitor) signIn(name, pin string) {
	v.t.Helper()
	v.open("/sign-in")
	v.press("Sign in", "person", name, "pin", pin)
}

func TestPeople(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	pin := v.addPerson("L. Marsh", "technician")
	phone := o.phone(v)

	t.Run("a PIN is shown once, in no address", func(t *testing.T) {
		v.open("/people")
		v.sees("L. Marsh", "technician")
		require.NotContains(t, v.raw, pin)
	})
	t.Run("the first PIN opens, and is changed at once", func(t *testing.T) {
		phone.signIn("L. Marsh", pin)
		require.Equal(t, "/pin", phone.url.Path)
		phone.press("Use this PIN", "pin", "739164")
		require.Equal(t, "/", phone.url.Path, phone.text())
	})
	t.Run("a technician manages nobody", func(t *testing.T) {
		phone.open("/people")
		require.Equal(t, http.StatusForbidden, phone.status)
	})
	t.Run("a person without a role comes back", func(t *testing.T) {
		v.open("/people/new")
		v.post("/people", http.MethodPost, map[string][]string{"name": {"T. Osei"}})
		v.refused(http.StatusUnprocessableEntity, "Choose what this person does")
		require.Equal(t, "T. Osei", v.value("name"))
	})
	t.Run("a form sent twice shows no second PIN", func(t *testing.T) {
		twice := map[string][]string{"id": {strings.Repeat("ab", 16)}, "name": {"B. Iyer"},
			"roles": {"technician"}}
		v.post("/people", http.MethodPost, twice)
		require.Regexp(t, shownPIN, v.text())
		v.post("/people", http.MethodPost, twice)
		v.sees("cannot be shown again")
	})
	t.Run("a new PIN ends the old one", func(t *testing.T) {
		v.open("/people")
		v.follow("L. Marsh")
		v.press("Make a new PIN")
		phone.signIn("L. Marsh", "739164")
		phone.refused(http.StatusUnauthorized, "do not go together")
		require.NotContains(t, v.text(), "739 164")
	})
	t.Run("the department keeps a lead", func(*testing.T) {
		v.open("/people")
		v.follow("V. Costa")
		v.press("Save", "roles", "technician")
		v.refused(http.StatusUnprocessableEntity, "Somebody has to lead")
	})
	t.Run("who has left is no name to tap", func(t *testing.T) {
		v.open("/people")
		v.follow("L. Marsh")
		v.press("Save", "left", "true", "why", "moved away")
		v.sees("Have left")
		phone.open("/sign-in")
		require.NotContains(t, phone.text(), "L. Marsh")
	})
}

func TestDevices(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")
	phone := o.phone(v)

	t.Run("a code lets one device in", func(t *testing.T) {
		v.open("/people")
		v.press("Let a device in")
		code := shownCode.FindString(v.text())
		v.sees("good until 06:10", "tide.test/device")
		first, second := o.visitor(), o.visitor()
		first.open("/device?code=" + strings.ReplaceAll(code, " ", ""))
		first.press("Let it in", "name", "tablet")
		second.open("/device")
		second.press("Let it in", "code", code)
		second.refused(http.StatusUnprocessableEntity, "wrong, used or too old")
		require.Equal(t, "/sign-in", first.url.Path)
	})
	t.Run("a stranger sees no names", func(t *testing.T) {
		stranger := o.visitor()
		stranger.open("/sign-in")
		require.NotContains(t, stranger.text(), "V. Costa")
	})
	t.Run("a device that is shut out sees nothing any more", func(t *testing.T) {
		v.open("/people")
		v.follow("phone")
		v.press("Shut this device out", "why", "lost")
		v.sees("The device is shut out.")
		phone.open("/sign-in")
		require.Equal(t, "/device", phone.url.Path)
	})
	t.Run("nobody's device is not there", func(t *testing.T) {
		v.open("/devices/00000000000000000000000000000001")
		require.Equal(t, http.StatusNotFound, v.status)
	})
}
