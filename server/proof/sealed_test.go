package proof

import (
	"crypto/sha256"
	"testing"

	"github.com/stretchr/testify/require"
)

// The other side is one call of SHA-256 over the bytes in a row.
func TestACommitmentIsTheHashOfDomainSaltAndValue(t *testing.T) {
	salt := [32]byte{1, 2, 3}
	row := append([]byte("tidemark sealed 1\n"), salt[:]...)
	require.Equal(t, Hash(sha256.Sum256(append(row, "L. Marsh"...))), Commit(salt, []byte("L. Marsh")))
	other := salt
	other[31] = 1
	require.NotEqual(t, Commit(salt, []byte("a")), Commit(other, []byte("a")))
	require.NotEqual(t, Commit(salt, []byte("a")), Commit(salt, []byte("b")))
}
