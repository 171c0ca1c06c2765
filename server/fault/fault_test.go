package fault_test

import (
	"errors"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
)

func TestCodeOf(t *testing.T) {
	require.Equal(t, fault.Code(""), fault.CodeOf(nil))
	require.Equal(t, fault.Internal, fault.CodeOf(io.EOF), "an error of no known kind is our own mistake")

	wrapped := fmt.Errorf("save form: %w", fault.Field("value", "type a value"))
	require.True(t, fault.Is(wrapped, fault.Invalid), "the code survives wrapping")
	require.False(t, fault.Is(nil, fault.Invalid))
}

func TestWrapKeepsTheCauseForTheLogOnly(t *testing.T) {
	err := fault.Wrap(io.ErrUnexpectedEOF, fault.Full, "No room on the disk.")
	require.True(t, errors.Is(err, io.ErrUnexpectedEOF))
	require.Equal(t, "No room on the disk.", err.Message)
	require.Contains(t, err.Error(), "unexpected EOF")
}
