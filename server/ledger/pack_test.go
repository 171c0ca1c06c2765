package ledger_test

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/proof"
	"tidemark/server/record"
)

func TestThePastIsWhatItWasWhateverCameLater(t *testing.T) {
	l := open(t, options(t.TempDir()))
	for n := range 60 {
		add(t, l, n, n%3)
	}
	then := value(l, sealer(1))
	head := l.Head(sealer(1))
	c, signed, err := l.CheckpointAt(60)
	require.NoError(t, err)
	for n := range 60 {
		add(t, l, 60+n, n%3)
	}
	past, err := l.Past(60)
	require.NoError(t, err)
	require.Equal(t, then, past.Value(sealer(1)))
	require.Equal(t, head, past.Head(sealer(1)))
	require.EqualValues(t, 60, past.Size())
	require.Equal(t, record.None, past.Head(sealer(9)))

	again, signedAgain, err := l.CheckpointAt(60)
	require.NoError(t, err)
	require.Equal(t, c, again)
	require.Equal(t, signed, signedAgain, "byte for byte")
	for _, size := range []int64{0, 121} {
		_, _, err = l.CheckpointAt(size)
		require.Equal(t, fault.Unknown, fault.CodeOf(err))
	}
}

func TestAPackOfThePastProvesItsRecords(t *testing.T) {
	l := open(t, options(t.TempDir()))
	for n := range 100 {
		add(t, l, n, n%3)
	}
	c, _, err := l.CheckpointAt(70)
	require.NoError(t, err)
	var lines bytes.Buffer
	seqs := []int64{3, 64, 69}
	for _, seq := range seqs {
		line, err := l.Line(record.Seq(seq))
		require.NoError(t, err)
		lines.Write(append(line, '\n'))
	}
	p, err := l.Prove(70, seqs)
	require.NoError(t, err)
	var files []proof.Content
	for _, f := range []struct{ name, text string }{{proof.InclusionName, p.Text()}, {proof.RecordsName, lines.String()}} {
		m := proof.NewMeter(io.Discard)
		_, err := io.WriteString(m, f.text)
		require.NoError(t, err)
		files = append(files, m.Content(f.name, func() (io.ReadCloser, error) {
			return io.NopCloser(bytes.NewReader([]byte(f.text))), nil
		}))
	}
	var pack bytes.Buffer
	require.NoError(t, l.Pack(&pack, c, files))
	key, err := proof.NewVerifier(l.Keys()[0].Public)
	require.NoError(t, err)
	opened, err := proof.OpenPack(bytes.NewReader(pack.Bytes()), int64(pack.Len()), key)
	require.NoError(t, err)
	n, err := opened.CheckRecords()
	require.NoError(t, err)
	require.Equal(t, 3, n)
	require.Equal(t, c, opened.Checkpoint)
}
