package record_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/record"
)

// The reference is package time's own formatting.
func TestTimesAndDatesAreWrittenAsTheLayoutsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := record.Time(rapid.Int64Range(-70_000_000_000_000, 260_000_000_000_000).Draw(t, "at"))
		text, err := at.MarshalText()
		require.NoError(t, err)
		if at != 0 {
			require.Equal(t, at.Time().Format("2006-01-02T15:04:05.000Z"), string(text))
		}
		d := record.DateOf(at.Time())
		text, err = d.MarshalText()
		require.NoError(t, err)
		if d != 0 {
			require.Equal(t, at.Time().Format(time.DateOnly), string(text))
		}
	})
}

func TestOnlyTheOneFormOfATimeIsRead(t *testing.T) {
	var at record.Time
	require.NoError(t, at.UnmarshalText([]byte("2026-02-28T23:59:59.999Z")))
	require.Equal(t, record.TimeOf(time.Date(2026, 2, 28, 23, 59, 59, 999e6, time.UTC)), at)
	for _, bad := range []string{"2026-02-29T00:00:00.000Z", "2026-02-28T24:00:00.000Z",
		"2026-02-28T23:59:60.000Z", "2026-2-28T23:59:59.999Z ", "2026-02-28t23:59:59.999Z",
		"2026-02-28T23:59:59.999z", "2026-02-28T23:59:59,999Z", "2026-02-28T23:59:59.99Z",
		"2026-02-2/T23:59:59.999Z", "+026-02-28T23:59:59.999Z"} {
		require.Error(t, at.UnmarshalText([]byte(bad)), bad)
	}
}
