package people_test

import (
	"encoding/base64"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/people"
)

var evening = morning.Add(12 * time.Hour)

func signIn(t testing.TB, h *house, person, device people.ID) string {
	t.Helper()
	token, err := h.StartSession(person, device, morning, evening)
	require.NoError(t, err)
	return token
}

func requireOver(t testing.TB, h *house, tokens ...string) {
	t.Helper()
	for _, token := range tokens {
		_, err := h.Session(token, morning)
		requireCode(t, fault.SignIn, err)
	}
}

func requireOpen(t testing.TB, h *house, tokens ...string) {
	t.Helper()
	for _, token := range tokens {
		_, err := h.Session(token, morning)
		require.NoError(t, err)
	}
}

func TestSession(t *testing.T) {
	h := newHouse(t)
	token := signIn(t, h, marsh, tablet)
	raw, err := base64.RawURLEncoding.Strict().DecodeString(token)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(raw)*8, 128)
	require.NotEqual(t, token, signIn(t, h, marsh, tablet))

	want := people.Session{Person: marsh, Device: tablet, Started: morning.UTC(), Until: evening.UTC()}
	for range 2 {
		got, err := h.Session(token, evening.Add(-time.Millisecond))
		require.NoError(t, err)
		require.Equal(t, want, got)
		h.restart()
	}
	_, err = h.Session(token, evening)
	requireCode(t, fault.SignIn, err)
	requireOver(t, h, "", token[:31], token+"A", "not a token at all")
	require.False(t, h.inFolder([]byte(token)), "only its hash is stored")
	require.False(t, h.inFolder(raw))
}

func TestASessionMustEndAfterItStarts(t *testing.T) {
	h := newHouse(t)
	_, err := h.StartSession(marsh, tablet, morning, morning)
	requireCode(t, fault.Invalid, err)
}

func TestEndedSessionsStayEnded(t *testing.T) {
	h := newHouse(t)
	one, other := signIn(t, h, marsh, tablet), signIn(t, h, marsh, phone)
	iyers := signIn(t, h, iyer, tablet)

	require.NoError(t, h.EndSession(one))
	require.NoError(t, h.EndSession(one), "twice is no error")
	requireOver(t, h, one)
	requireOpen(t, h, other, iyers)
	h.restart()
	requireOver(t, h, one)

	require.NoError(t, h.EndAllOf(marsh))
	requireOver(t, h, one, other)
	requireOpen(t, h, iyers)

	require.NoError(t, h.EndAllOn(tablet))
	h.restart()
	requireOver(t, h, one, other, iyers)
}

func TestSessionsThatRanOutLeaveTheFile(t *testing.T) {
	h := newHouse(t)
	token := signIn(t, h, marsh, tablet)
	_, err := h.StartSession(iyer, tablet, evening, evening.Add(time.Hour))
	require.NoError(t, err)
	// With the clock put back it would be valid again, were it still there.
	requireOver(t, h, token)
	h.restart()
	requireOver(t, h, token)
}

func BenchmarkSession(b *testing.B) {
	for _, sessions := range []int{10, 1000} {
		b.Run(fmt.Sprintf("of %d", sessions), func(b *testing.B) {
			h := newHouse(b)
			tokens := make([]string, sessions)
			for i := range tokens {
				tokens[i] = signIn(b, h, people.ID{byte(i), byte(i >> 8)}, tablet)
			}
			for i := 0; b.Loop(); i++ {
				if _, err := h.Session(tokens[i%sessions], morning); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
