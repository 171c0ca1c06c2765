package post_test

import (
	"context"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/post"
)

func TestATrayKeepsTheLast200LettersNewestFirst(t *testing.T) {
	var tray post.Tray
	require.Empty(t, tray.Letters())
	for n := range 250 {
		require.NoError(t, tray.Send(context.Background(), post.Letter{Subject: strconv.Itoa(n)}))
	}
	got := tray.Letters()
	require.Len(t, got, 200)
	require.Equal(t, "249", got[0].Subject)
	require.Equal(t, "50", got[199].Subject)
}
