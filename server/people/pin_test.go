package people_test

import (
	"encoding/hex"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"tidemark/server/fault"
	"tidemark/server/people"
)

const (
	goodPIN  = "280417"
	wrongPIN = "280418"
)

func requireSignedIn(t testing.TB, h *house, person, device people.ID, pin string) {
	t.Helper()
	_, err := h.CheckPIN(person, device, pin, morning)
	require.NoError(t, err)
}

func TestPIN(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning), "one's own PIN may be chosen again")
	h.restart()

	requireSignedIn(t, h, marsh, tablet, goodPIN)
	_, err := h.CheckPIN(marsh, tablet, wrongPIN, morning)
	requireCode(t, fault.SignIn, err)
	_, err = h.CheckPIN(iyer, tablet, goodPIN, morning)
	requireCode(t, fault.SignIn, err)

	require.NoError(t, h.SetPIN(marsh, "904152", morning))
	_, err = h.CheckPIN(marsh, tablet, goodPIN, morning)
	requireCode(t, fault.SignIn, err)
	requireSignedIn(t, h, marsh, tablet, "904152")

	require.NoError(t, h.RemovePIN(marsh))
	_, err = h.CheckPIN(marsh, tablet, "904152", morning)
	requireCode(t, fault.SignIn, err)
}

func TestCheckPINAnswersAlikeForSomebodyWhoDoesNotExist(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	for range 5 { // through the free tries and into the waits
		_, known := h.CheckPIN(marsh, tablet, wrongPIN, morning)
		_, unknown := h.CheckPIN(nobody, tablet, wrongPIN, morning)
		require.Equal(t, known, unknown)
	}
}

func TestCheckPINRefusesWhatIsNoPINWithoutCountingIt(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	for _, typed := range []string{"", "28041", "2804170", "28041 ", "٢٨٠٤١٧", "S/4K7Q2M-8"} {
		_, err := h.CheckPIN(marsh, tablet, typed, morning)
		requireCode(t, fault.Invalid, err)
	}
	requireSignedIn(t, h, marsh, tablet, goodPIN)
	refusals, err := h.Refusals(10)
	require.NoError(t, err)
	require.Empty(t, refusals)
}

func TestResetPINMustBeChanged(t *testing.T) {
	h := newHouse(t)
	given, err := h.ResetPIN(marsh, morning)
	require.NoError(t, err)

	mustChange, err := h.CheckPIN(marsh, tablet, given, morning)
	require.NoError(t, err)
	require.True(t, mustChange)
	status, err := h.PINStatus(marsh)
	require.NoError(t, err)
	require.Equal(t, people.PINStatus{Set: true, MustChange: true}, status)

	err = h.SetPIN(marsh, given, morning)
	requireCode(t, fault.Invalid, err)
	require.ErrorContains(t, err, "another PIN")

	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	mustChange, err = h.CheckPIN(marsh, tablet, goodPIN, morning)
	require.NoError(t, err)
	require.False(t, mustChange)
}

func TestResetPINPassesItsOwnRules(t *testing.T) {
	h := newHouse(t)
	seen := map[string]bool{}
	for range 50 {
		pin, err := h.ResetPIN(marsh, morning)
		require.NoError(t, err)
		require.NoError(t, h.SetPIN(iyer, pin, morning), pin)
		seen[pin] = true
	}
	require.Greater(t, len(seen), 45, "they are random")
}

func TestAnotherPepperOpensNothing(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	require.NoError(t, h.Close())
	defer h.open() // for the verification

	other := options()
	other.Pepper = []byte("another pepper of the same length")
	s, err := people.Open(h.path, other)
	require.NoError(t, err)
	_, err = s.CheckPIN(marsh, tablet, goodPIN, morning)
	requireCode(t, fault.SignIn, err)
	status, err := s.PINStatus(marsh)
	require.NoError(t, err)
	require.Equal(t, people.PINStatus{}, status, "as one who never had a PIN")
	require.NoError(t, s.Close())
}

func TestARowCopiedToAnotherPersonOpensNothing(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	h.raw(func(tx *bbolt.Tx) error {
		pins := tx.Bucket([]byte("pins"))
		return pins.Put(iyer[:], pins.Get(marsh[:]))
	})
	h.open()
	requireSignedIn(t, h, marsh, tablet, goodPIN)
	_, err := h.CheckPIN(iyer, tablet, goodPIN, morning)
	requireCode(t, fault.SignIn, err)
}

func TestRowsKeepTheCostTheyWereMadeWith(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.SetPIN(marsh, goodPIN, morning))
	require.NoError(t, h.Close())
	defer h.open()

	dearer := options()
	dearer.Argon = people.Argon{Memory: 128, Time: 2, Threads: 1}
	s, err := people.Open(h.path, dearer)
	require.NoError(t, err)
	_, err = s.CheckPIN(marsh, tablet, goodPIN, morning)
	require.NoError(t, err)
	require.NoError(t, s.Close())
}

// The hash comes from the reference implementation in C (Debian's argon2
// 0~20171227): HMAC-SHA-256 made by Python's hmac over the person 00..0f and
// the PIN, in binary on standard input of
//
//	argon2 salt-of-16-bytes -id -t 2 -k 19456 -p 1 -l 32 -v 13
//
// The cost is what the OWASP Password Storage Cheat Sheet gives as the least:
// Argon2id, 19 MiB, 2 iterations, 1 degree of parallelism.
func TestPINRowAgainstTheReferenceImplementation(t *testing.T) {
	path := filepath.Join(t.TempDir(), "people.db")
	s, err := people.Open(path, people.Options{
		Pepper: []byte("pepper of the test, 32 bytes long"),
		Rand:   strings.NewReader("salt-of-16-bytes"),
	})
	require.NoError(t, err)
	person := people.ID{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15}
	require.NoError(t, s.SetPIN(person, goodPIN, morning))
	require.NoError(t, s.Close())

	change(t, path, func(tx *bbolt.Tx) error {
		row := hex.EncodeToString(tx.Bucket([]byte("pins")).Get(person[:]))
		require.Equal(t, strings.Join([]string{
			"01",               // version
			"00",               // no need to change it
			"000001a2125cc780", // set, in milliseconds
			"00004c00",         // memory, 19456 KiB
			"00000002", "01",   // passes, threads
			"77ea3d7a", // SHA-256 of the pepper, its start
			hex.EncodeToString([]byte("salt-of-16-bytes")),
			"c896197f78713d9cf7e4a2b14152e3b4282d8259823e2fa312f4fac3cc46f42d",
		}, ""), row)
		return nil
	})
}

// BenchmarkCheckPIN at the cost of DefaultArgon: the three should not differ.
func BenchmarkCheckPIN(b *testing.B) {
	h := newHouse(b)
	require.NoError(b, h.Close())
	dear := options()
	dear.Argon = people.DefaultArgon
	store, err := people.Open(h.path, dear)
	require.NoError(b, err)
	h.Store = store
	require.NoError(b, h.SetPIN(marsh, goodPIN, morning))
	for what, try := range map[string]struct {
		person people.ID
		pin    string
	}{"right": {marsh, goodPIN}, "wrong": {marsh, wrongPIN}, "nobody": {nobody, wrongPIN}} {
		b.Run(what, func(b *testing.B) {
			now := morning
			for i := 0; b.Loop(); i++ {
				now = now.Add(time.Hour) // past any wait; many devices, so never locked
				_, err := h.CheckPIN(try.person, people.ID{byte(i)}, try.pin, now)
				if (err == nil) != (what == "right") {
					b.Fatal(err)
				}
			}
		})
	}
}
