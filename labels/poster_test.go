package labels

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A card on a wall is read from further away than a label on a sealer: its modules
// are at least four times as wide.
func TestACardForTheWallHasWideModules(t *testing.T) {
	url, err := PathURL("https://tide.lanternfield.example", "/F/K7QM3XK")
	require.NoError(t, err)
	for _, sheet := range PosterSheets[:2] {
		in := sheet.place(0, Options{}).inset(sheet.Pad)
		_, module, _, err := fitSymbol(url, min(in.h, in.w/2), 0)
		require.NoError(t, err)
		require.GreaterOrEqual(t, module, 4*leastModule, sheet.ID)
	}
}

func TestEverySheetForTheWallCarriesTheCard(t *testing.T) {
	url, err := PathURL("https://tide.lanternfield.example", "/F/K7QM3XK")
	require.NoError(t, err)
	for _, sheet := range PosterSheets {
		found, ok := FindSheet(sheet.ID)
		require.True(t, ok)
		require.Equal(t, sheet.Label, found.Label)
		var b bytes.Buffer
		require.NoError(t, PDF(&b, sheet, []Label{FoundCard(url)}, Options{Made: time.Unix(1768305900, 0)}))
		require.NotZero(t, b.Len(), sheet.ID)
	}
}
