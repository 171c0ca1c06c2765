package proof

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/note"
)

const origin = "spd.hospital.example/ledger"

// The first test key of RFC 8032, 7.1.
const (
	rfc8032Secret = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
	rfc8032Public = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
)

// testKey makes a key pair from a seed of 32 times the same byte.
func testKey(t testing.TB, name string, seed byte) (Signer, Verifier, string) {
	t.Helper()
	return keyFrom(t, name, bytes.Repeat([]byte{seed}, 32))
}

func keyFrom(t testing.TB, name string, seed []byte) (Signer, Verifier, string) {
	t.Helper()
	secret, public, err := NewKey(bytes.NewReader(seed), name)
	require.NoError(t, err)
	signer, err := NewSigner(secret)
	require.NoError(t, err)
	verifier, err := NewVerifier(public)
	require.NoError(t, err)
	return signer, verifier, public
}

// testCheckpoint is the tree of the vector leaves.
func testCheckpoint(t testing.TB) Checkpoint {
	t.Helper()
	f, _ := grow(t, vectorLeaves(t), 8)
	return Checkpoint{origin, f.Size(), f.Root()}
}

// everyChange calls try with data, one byte of which is another: each byte in
// turn, each bit of it, and with each byte taken out or doubled.
func everyChange(data []byte, try func(changed []byte, at int)) {
	for i := range data {
		for bit := range 8 {
			changed := bytes.Clone(data)
			changed[i] ^= 1 << bit
			try(changed, i)
		}
		try(append(bytes.Clone(data[:i]), data[i+1:]...), i)
		try(append(bytes.Clone(data[:i+1]), data[i:]...), i)
	}
}

// The other side is crypto/ed25519 and the words of C2SP signed-note:
// key ID = SHA-256(name || 0A || 01 || public key)[:4], signature over the text.
func TestASignedCheckpointIsWhatTheSpecificationSays(t *testing.T) {
	seed, err := hex.DecodeString(rfc8032Secret)
	require.NoError(t, err)
	public, err := hex.DecodeString(rfc8032Public)
	require.NoError(t, err)
	signer, verifier, vkey := keyFrom(t, origin, seed)
	id := sha256.Sum256(append([]byte(origin+"\n\x01"), public...))
	typed := append([]byte{1}, public...)
	require.Equal(t, origin+"+"+hex.EncodeToString(id[:4])+"+"+
		base64.StdEncoding.EncodeToString(typed), vkey)

	c := testCheckpoint(t)
	signed, err := c.Sign(signer)
	require.NoError(t, err)
	text, line, ok := strings.Cut(string(signed), "\n\n")
	require.True(t, ok)
	require.Equal(t, c.Text(), text+"\n")
	encoded, ok := strings.CutPrefix(line, "— "+origin+" ")
	require.True(t, ok)
	raw, err := base64.StdEncoding.Strict().DecodeString(strings.TrimSuffix(encoded, "\n"))
	require.NoError(t, err)
	require.Equal(t, id[:4], raw[:4])
	require.True(t, ed25519.Verify(public, []byte(c.Text()), raw[4:]))

	again, err := OpenCheckpoint(signed, verifier)
	require.NoError(t, err)
	require.Equal(t, c, again)
}

func TestEveryChangedByteOfASignedCheckpointIsNoticed(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	signed, err := testCheckpoint(t).Sign(signer)
	require.NoError(t, err)
	everyChange(signed, func(changed []byte, at int) {
		_, err := OpenCheckpoint(changed, verifier)
		require.Error(t, err, "byte %d", at)
	})
}

func TestOnlyTheLedgersOwnKeySpeaksForIt(t *testing.T) {
	c := testCheckpoint(t)
	signer, verifier, _ := testKey(t, origin, 1)
	stranger, strangers, _ := testKey(t, "elsewhere.example", 2)
	_, err := c.Sign(stranger)
	require.ErrorContains(t, err, "cannot speak for")

	signed, err := c.Sign(signer)
	require.NoError(t, err)
	_, err = OpenCheckpoint(signed, strangers)
	require.Error(t, err)
	foreign, err := note.Sign(&note.Note{Text: c.Text()}, stranger)
	require.NoError(t, err)
	_, err = OpenCheckpoint(foreign, strangers)
	require.ErrorContains(t, err, "cannot speak for")

	_, err = Checkpoint{Origin: origin, Size: -1}.Sign(signer)
	require.ErrorContains(t, err, "size -1: want 0 to")
	other, err := note.Sign(&note.Note{Text: "something else\n"}, signer)
	require.NoError(t, err)
	_, err = OpenCheckpoint(other, verifier)
	require.ErrorContains(t, err, "parse checkpoint")
}

func TestSignaturesThatNobodyChecksAreRefused(t *testing.T) {
	c := testCheckpoint(t)
	signer, verifier, _ := testKey(t, origin, 1)
	second, _, _ := testKey(t, origin, 2)
	signed, err := c.Sign(signer)
	require.NoError(t, err)
	_, line, _ := strings.Cut(string(signed), "\n\n")
	both, err := note.Sign(&note.Note{Text: c.Text()}, signer, second)
	require.NoError(t, err)
	_, err = OpenCheckpoint(both, verifier)
	require.ErrorContains(t, err, "just the keys asked for")
	_, err = OpenCheckpoint([]byte(string(signed)+line), verifier)
	require.ErrorContains(t, err, "as it would be signed")
}

func TestKeysThatAreNoneAreRefusedAndNotRepeated(t *testing.T) {
	_, _, err := NewKey(bytes.NewReader(make([]byte, 32)), "two words")
	require.ErrorContains(t, err, "printable ASCII")
	_, _, err = NewKey(bytes.NewReader(make([]byte, 31)), origin)
	require.ErrorContains(t, err, "make key")
	_, err = NewSigner("PRIVATE+KEY+spd+01020304+c2VjcmV0")
	require.Error(t, err)
	require.NotContains(t, err.Error(), "c2VjcmV0")
	_, err = NewVerifier("spd")
	require.ErrorContains(t, err, `read public key "spd"`)
}

func FuzzOpenCheckpoint(f *testing.F) {
	signer, verifier, _ := testKey(f, origin, 1)
	signed, err := testCheckpoint(f).Sign(signer)
	require.NoError(f, err)
	f.Add(signed)
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := OpenCheckpoint(data, verifier); err == nil {
			require.Equal(t, signed, data, "a signature nobody made")
		}
	})
}
