package people

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
)

func TestRefusePIN(t *testing.T) {
	for why, pins := range map[string][]string{
		"six digits":       {"", "12345", "1234567", "12a456", " 28041", "28041\n", "٢٨٠٤١٧"},
		"three different":  {"000000", "999999", "121212", "100000", "727272", "554455"},
		"count up or down": {"123456", "654321", "890123", "321098", "135791", "048260"},
		"second half":      {"123123", "280280", "280082", "147741", "905509"},
		"double digits":    {"112233", "998877", "110022", "447711"},
		"keypad":           {"147258", "789456", "159753", "963741", "123789", "357159"},
	} {
		for _, pin := range pins {
			err := refusePIN(pin)
			require.True(t, fault.Is(err, fault.Invalid), pin)
			require.ErrorContains(t, err, why, pin)
			require.Equal(t, "pin", err.(*fault.Error).Field)
		}
	}
	for _, pin := range []string{"280417", "904152", "010263", "124578", "735182", "123457"} {
		require.NoError(t, refusePIN(pin), pin)
	}
}

// The ten six-digit PINs most often chosen, as reported by the study "This PIN
// Can Be Easily Guessed" (IEEE Symposium on Security and Privacy 2020).
func TestRefusePINRefusesTheTenMostChosen(t *testing.T) {
	for _, pin := range []string{
		"000000", "111111", "112233", "121212", "123123",
		"123456", "159753", "654321", "666666", "789456",
	} {
		require.Error(t, refusePIN(pin), pin)
	}
}

// A rule that takes too much would make guessing easier, not harder.
func TestRefusePINLeavesNinetyNineInAHundred(t *testing.T) {
	refused := 0
	for n := range 1_000_000 {
		if refusePIN(fmt.Sprintf("%06d", n)) != nil {
			refused++
		}
	}
	t.Logf("%d of 1,000,000 refused", refused)
	require.Less(t, refused, 10_000)
}
