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
