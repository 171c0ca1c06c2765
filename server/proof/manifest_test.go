package proof

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/note"
)

func testManifest(t testing.TB) Manifest {
	t.Helper()
	return Manifest{testCheckpoint(t), []File{
		NewFile("photographs/9f3a.jpg", nil), NewFile("records.jsonl", []byte("abc"))}}
}

// The sum is that of FIPS 180-2, appendix B.1, for the message "abc".
func TestAManifestListsWhatSHA256Says(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	m := testManifest(t)
	signed, err := m.Sign(signer)
	require.NoError(t, err)
	require.Contains(t, string(signed), "\n"+
		"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad 3 records.jsonl\n\n")
	again, err := OpenManifest(signed, verifier)
	require.NoError(t, err)
	require.Equal(t, m, again)
}

func TestEveryChangedByteOfAManifestIsNoticed(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	signed, err := testManifest(t).Sign(signer)
	require.NoError(t, err)
	everyChange(signed, func(changed []byte, at int) {
		_, err := OpenManifest(changed, verifier)
		require.Error(t, err, "byte %d", at)
	})
}

func TestAManifestWrittenInAnyOtherWayIsRefusedThoughSigned(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	c, sum := testCheckpoint(t), hex.EncodeToString(make([]byte, sha256.Size))
	head := manifestTitle + c.Text()
	elsewhere := strings.Replace(head, origin, "elsewhere.example", 1)
	for name, text := range map[string]string{
		"a checkpoint":     c.Text(),
		"no checkpoint":    manifestTitle,
		"another ledger":   elsewhere + sum + " 3 a\n",
		"upper-case hash":  head + strings.Replace(sum, "0", "A", 1) + " 3 a\n",
		"short hash":       head + sum[2:] + " 3 a\n",
		"long hash":        head + sum + "00 3 a\n",
		"negative size":    head + sum + " -3 a\n",
		"leading zero":     head + sum + " 03 a\n",
		"no size":          head + sum + " x a\n",
		"no name":          head + sum + " 3\n",
		"empty name":       head + sum + " 3 \n",
		"blank line":       head + "\n" + sum + " 3 a\n",
		"not in order":     head + sum + " 3 b\n" + sum + " 3 a\n",
		"same file twice":  head + sum + " 3 a\n" + sum + " 3 a\n",
		"the manifest":     head + sum + " 3 manifest.txt\n",
		"upper-case name":  head + sum + " 3 A\n",
		"space in name":    head + sum + " 3 a b\n",
		"out of the pack":  head + sum + " 3 ../a\n",
		"from the root":    head + sum + " 3 /a\n",
		"hidden":           head + sum + " 3 a/.b\n",
		"empty step":       head + sum + " 3 a//b\n",
		"a folder":         head + sum + " 3 a/\n",
		"device separator": head + sum + " 3 c:a\n",
	} {
		signed, err := note.Sign(&note.Note{Text: text}, signer)
		require.NoError(t, err)
		_, err = OpenManifest(signed, verifier)
		require.Error(t, err, name)
	}
}

func TestAManifestThatCouldNotBeReadIsNotSigned(t *testing.T) {
	signer, _, _ := testKey(t, origin, 1)
	m := testManifest(t)
	m.Files[0].Name = "Photograph 1.jpg"
	_, err := m.Sign(signer)
	require.ErrorContains(t, err, `file "Photograph 1.jpg" of 0 bytes cannot be in a pack`)
	stranger, _, _ := testKey(t, "elsewhere.example", 2)
	_, err = testManifest(t).Sign(stranger)
	require.ErrorContains(t, err, "cannot speak for")
}

func FuzzParseManifest(f *testing.F) {
	f.Add(testManifest(f).text())
	f.Fuzz(func(t *testing.T, text string) {
		if m, err := parseManifest(text); err == nil {
			require.Equal(t, text, m.text())
			require.NoError(t, m.valid())
		}
	})
}
