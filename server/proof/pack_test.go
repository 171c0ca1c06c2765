package proof

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// testPack returns a small pack and what is in it.
func testPack(t testing.TB, key Signer) ([]byte, map[string][]byte) {
	t.Helper()
	files := map[string][]byte{
		"records.jsonl": []byte("{\"seq\":5}\n"), "photographs/9f3a.jpg": {0xff, 0xd8}, "empty.csv": {}}
	var b bytes.Buffer
	require.NoError(t, WritePack(&b, testCheckpoint(t), files, key))
	return b.Bytes(), files
}

func openBytes(pack []byte, key Verifier) (*Pack, error) {
	return OpenPack(bytes.NewReader(pack), int64(len(pack)), key)
}

func TestAPackGivesBackWhatWasPutIn(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	data, files := testPack(t, signer)
	again, _ := testPack(t, signer)
	require.Equal(t, data, again, "same files, same bytes")
	p, err := openBytes(data, verifier)
	require.NoError(t, err)
	require.Equal(t, testCheckpoint(t), p.Checkpoint)
	require.Len(t, p.Files, len(files))
	for name, want := range files {
		got, err := p.Read(name)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	_, err = p.Read(ManifestName)
	require.ErrorContains(t, err, "no file manifest.txt")
}

func TestEveryChangedByteOfAPackIsNoticed(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	data, _ := testPack(t, signer)
	everyChange(data, func(changed []byte, at int) {
		_, err := openBytes(changed, verifier)
		require.Error(t, err, "byte %d of %d", at, len(data))
	})
	_, err := openBytes(append(bytes.Clone(data), 0), verifier)
	require.Error(t, err, "a byte more at the end")
	_, err = openBytes(append([]byte{0}, data...), verifier)
	require.Error(t, err, "a byte more in front")
}

// The other side is the zip reader of another language's standard library.
func TestAnotherReaderOpensThePack(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 here")
	}
	signer, _, _ := testKey(t, origin, 1)
	data, _ := testPack(t, signer)
	name := filepath.Join(t.TempDir(), "pack.zip")
	require.NoError(t, os.WriteFile(name, data, 0o600))
	out, err := exec.Command(python, "-m", "zipfile", "-t", name).CombinedOutput()
	require.NoError(t, err, string(out))
	require.Equal(t, "Done testing\n", string(out))
}

func TestAPackOfOtherFilesThanItsManifestIsRefused(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	a, b := partOf("a", []byte("first")), partOf("b", []byte("second"))
	files := []File{NewFile("a", []byte("first")), NewFile("b", []byte("second"))}
	m := Manifest{testCheckpoint(t), files}
	signed, err := m.Sign(signer)
	require.NoError(t, err)
	manifest := partOf(ManifestName, signed)
	for name, parts := range map[string][]part{
		"no manifest":     {a, b},
		"manifest last":   {a, b, manifest},
		"a file less":     {manifest, a},
		"a file more":     {manifest, a, b, partOf("c", nil)},
		"not in order":    {manifest, b, a},
		"a file twice":    {manifest, a, a},
		"another content": {manifest, a, partOf("b", []byte("Second"))},
		"another size":    {manifest, a, partOf("b", []byte("second."))},
		"wrong checksum":  {manifest, a, {b.name, b.size, 1, b.open}},
	} {
		var pack bytes.Buffer
		require.NoError(t, writeContainer(&pack, parts))
		_, err := openBytes(pack.Bytes(), verifier)
		require.Error(t, err, name)
	}
	var pack bytes.Buffer
	require.NoError(t, writeContainer(&pack, []part{manifest, a, b}))
	_, err = openBytes(pack.Bytes(), verifier)
	require.NoError(t, err)
}

func TestAPackThatWasSqueezedIsRefused(t *testing.T) {
	signer, verifier, _ := testKey(t, origin, 1)
	data, _ := testPack(t, signer)
	old, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	var b bytes.Buffer
	squeezed := zip.NewWriter(&b)
	for _, f := range old.File {
		content, err := old.Open(f.Name)
		require.NoError(t, err)
		to, err := squeezed.Create(f.Name)
		require.NoError(t, err)
		_, err = io.Copy(to, content)
		require.NoError(t, err)
	}
	require.NoError(t, squeezed.Close())
	_, err = openBytes(b.Bytes(), verifier)
	require.ErrorIs(t, err, errOther)
}

func TestAPackThatCannotBeMadeSaysWhy(t *testing.T) {
	signer, _, _ := testKey(t, origin, 1)
	c := testCheckpoint(t)
	err := WritePack(&bytes.Buffer{}, c, map[string][]byte{"A": nil}, signer)
	require.ErrorContains(t, err, "cannot be in a pack")
	err = WritePack(brokenPipe{}, c, map[string][]byte{"a": make([]byte, 1<<16)}, signer)
	require.ErrorIs(t, err, errPipe)
}

type brokenPipe struct{}

var errPipe = errors.New("pipe gone")

func (brokenPipe) Write([]byte) (int, error) { return 0, errPipe }

func FuzzOpenPack(f *testing.F) {
	signer, verifier, _ := testKey(f, origin, 1)
	data, _ := testPack(f, signer)
	f.Add(data)
	f.Fuzz(func(t *testing.T, other []byte) {
		if _, err := openBytes(other, verifier); err == nil {
			require.Equal(t, data, other, "a pack nobody made")
		}
	})
}
