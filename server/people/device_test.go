package people_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

func TestDevice(t *testing.T) {
	h := newHouse(t)
	token, device, err := h.LetIn(north, morning)
	require.NoError(t, err)
	require.Equal(t, people.Device{ID: device.ID, Dept: north, Since: morning.UTC()}, device)
	later, second, err := h.LetIn(north, evening)
	require.NoError(t, err)
	_, _, err = h.LetIn(south, morning)
	require.NoError(t, err)
	h.restart()

	got, err := h.Device(token)
	require.NoError(t, err)
	require.Equal(t, device, got)
	require.Equal(t, []people.Device{device, second}, h.Devices(north))
	require.NotEqual(t, token, later)
	require.False(t, h.inFolder([]byte(token)), "only its hash is stored")

	_, err = h.Device(signIn(t, h, marsh, device.ID))
	requireCode(t, fault.Unknown, err) // one kind of token is no other
}

func TestARevokedDeviceIsKnownAndSignedOut(t *testing.T) {
	h := newHouse(t)
	token, device, err := h.LetIn(north, morning)
	require.NoError(t, err)
	on, elsewhere := signIn(t, h, marsh, device.ID), signIn(t, h, marsh, phone)

	require.NoError(t, h.RevokeDevice(device.ID, evening))
	require.NoError(t, h.RevokeDevice(device.ID, evening.Add(time.Hour)), "the first time counts")
	device.Revoked = evening.UTC()
	for range 2 {
		got, err := h.Device(token)
		require.NoError(t, err)
		require.Equal(t, device, got)
		requireOver(t, h, on)
		requireOpen(t, h, elsewhere)
		h.restart()
	}
	requireCode(t, fault.Unknown, h.RevokeDevice(phone, evening))
}

func TestEnrolment(t *testing.T) {
	h := newHouse(t)
	code, made, err := h.MakeEnrolment(north, marsh, morning)
	require.NoError(t, err)
	require.Regexp(t, "^[0-9A-HJKMNP-TV-Z]{8}$", code)
	until := morning.Add(10 * time.Minute).UTC()
	require.Equal(t, people.Enrolment{Dept: north, By: marsh, Until: until}, made)
	require.False(t, h.inFolder([]byte(code)))
	h.restart()

	used, err := h.UseEnrolment(code, morning.Add(10*time.Minute-time.Second))
	require.NoError(t, err)
	require.Equal(t, made, used)
	_, err = h.UseEnrolment(code, morning)
	requireCode(t, fault.Invalid, err) // once only
	h.restart()
	_, err = h.UseEnrolment(code, morning)
	requireCode(t, fault.Invalid, err)
}

func TestAnEnrolmentCodeEndsAfterTenMinutes(t *testing.T) {
	h := newHouse(t)
	code, _, err := h.MakeEnrolment(north, marsh, morning)
	require.NoError(t, err)
	_, err = h.UseEnrolment(code, morning.Add(10*time.Minute))
	requireCode(t, fault.Invalid, err)
}

func TestAnEnrolmentCodeIsReadAsMeant(t *testing.T) {
	h := newHouse(t)
	for _, spell := range []func(code string) string{
		func(code string) string { return " " + code[:4] + "-" + code[4:] + " " },
		strings.ToLower,
		func(code string) string { return strings.NewReplacer("0", "o", "1", "l").Replace(code) },
		func(code string) string { return strings.NewReplacer("0", "O", "1", "I").Replace(code) },
	} {
		code, _, err := h.MakeEnrolment(north, marsh, morning)
		require.NoError(t, err)
		_, err = h.UseEnrolment(spell(code), morning)
		require.NoError(t, err, spell(code))
	}
}

func TestWrongEnrolmentCodesAreSlowed(t *testing.T) {
	h := newHouse(t)
	code, _, err := h.MakeEnrolment(north, marsh, morning.Add(5*time.Minute))
	require.NoError(t, err)
	for range 60 {
		_, err := h.UseEnrolment("00000000", morning)
		requireCode(t, fault.Invalid, err)
	}
	_, err = h.UseEnrolment(code, morning.Add(9*time.Minute))
	requireCode(t, fault.TooMany, err)
	requireWait(t, time.Minute, err)
	_, err = h.UseEnrolment("00000000", morning.AddDate(0, 0, -1))
	requireCode(t, fault.Invalid, err) // a clock put back begins anew
	_, err = h.UseEnrolment(code, morning.Add(10*time.Minute))
	require.NoError(t, err)
}

func TestEnrolmentCodesAreBounded(t *testing.T) {
	h := newHouse(t)
	for range 200 {
		_, _, err := h.MakeEnrolment(north, marsh, morning)
		require.NoError(t, err)
	}
	_, _, err := h.MakeEnrolment(north, marsh, morning)
	requireCode(t, fault.TooMany, err)
	_, _, err = h.MakeEnrolment(north, marsh, morning.Add(10*time.Minute))
	require.NoError(t, err, "those that ran out make room")
}
