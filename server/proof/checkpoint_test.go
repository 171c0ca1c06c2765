package proof

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// published is the example text of C2SP tlog-checkpoint.
const published = "example.com/behind-the-sofa\n" +
	"20852163\n" +
	"CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"

func TestThePublishedCheckpointIsReadAndWrittenAlike(t *testing.T) {
	c, err := ParseCheckpoint(published)
	require.NoError(t, err)
	require.Equal(t, "example.com/behind-the-sofa", c.Origin)
	require.EqualValues(t, 20852163, c.Size)
	require.Equal(t, published, c.Text())
	require.Equal(t, "20852163 0ac5186a", c.Short())
}

func TestACheckpointWrittenInAnyOtherWayIsRefused(t *testing.T) {
	origin, size, root := "example.com/behind-the-sofa\n", "20852163\n",
		"CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"
	for name, text := range map[string]string{
		"nothing":            "",
		"no root":            origin + size,
		"no last newline":    strings.TrimSuffix(published, "\n"),
		"an extension line":  published + "more\n",
		"no origin":          "\n" + size + root,
		"space in origin":    "example.com/behind the sofa\n" + size + root,
		"plus in origin":     "example.com+sofa\n" + size + root,
		"origin not ASCII":   "exämple.com/sofa\n" + size + root,
		"origin too long":    strings.Repeat("a", 201) + "\n" + size + root,
		"leading zero":       origin + "0" + size + root,
		"plus sign":          origin + "+" + size + root,
		"negative size":      origin + "-" + size + root,
		"size over 63 bits":  origin + "9223372036854775808\n" + root,
		"carriage return":    origin + "20852163\r\n" + root,
		"unused root bits":   origin + size + strings.Replace(root, "I=", "J=", 1),
		"root without pad":   origin + size + strings.Replace(root, "=", "", 1),
		"root of 31 bytes":   origin + size + strings.Replace(root, "q2I=", "qw==", 1),
		"root of url base64": origin + size + strings.Replace(root, "/", "_", 1),
	} {
		_, err := ParseCheckpoint(text)
		require.Error(t, err, name)
	}
}

func TestNewCheckpointReportsHashesThatAreNotThere(t *testing.T) {
	_, c := grow(t, vectorLeaves(t), 8)
	_, err := NewCheckpoint("spd.example", 9, c)
	require.ErrorContains(t, err, "not stored")
}

func FuzzParseCheckpoint(f *testing.F) {
	f.Add(published)
	f.Add("a\n0\n47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=\n")
	f.Fuzz(func(t *testing.T, text string) {
		if c, err := ParseCheckpoint(text); err == nil {
			require.Equal(t, text, c.Text())
		}
	})
}
