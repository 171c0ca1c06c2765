package proof

import (
	"bytes"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/tlog"
)

// recordPack is a pack of some of eight records and the proof of them.
func recordPack(t *testing.T, spoil func(files map[string][]byte)) *Pack {
	t.Helper()
	signer, verifier, _ := testKey(t, origin, 1)
	var stored []Hash
	read := tlog.HashReaderFunc(func(indexes []int64) (list []Hash, err error) {
		for _, i := range indexes {
			list = append(list, stored[i])
		}
		return list, nil
	})
	lines := []string{`{"seq":0}`, `{"seq":1,"a":1}`, `{"seq":2}`, `{"seq":3}`, `{"seq":4}`, `{"seq":5}`, `{"seq":6}`, `{"seq":7}`}
	for i, line := range lines {
		more, err := tlog.StoredHashes(int64(i), []byte(line), read)
		require.NoError(t, err)
		stored = append(stored, more...)
	}
	c, err := NewCheckpoint(origin, 8, read)
	require.NoError(t, err)
	inclusion, err := ProveInclusion(8, []int64{1, 4, 5}, read)
	require.NoError(t, err)
	files := map[string][]byte{InclusionName: []byte(inclusion.Text()),
		RecordsName: []byte(lines[1] + "\n" + lines[4] + "\n" + lines[5] + "\n")}
	spoil(files)
	var b bytes.Buffer
	require.NoError(t, WritePack(&b, c, files, signer))
	p, err := openBytes(b.Bytes(), verifier)
	require.NoError(t, err)
	return p
}

func TestRecordsOfAPackAreProvedToBeInTheLedger(t *testing.T) {
	n, err := recordPack(t, func(map[string][]byte) {}).CheckRecords()
	require.NoError(t, err)
	require.Equal(t, 3, n)
	for name, spoil := range map[string]func(map[string][]byte){
		"another record": func(f map[string][]byte) {
			f[RecordsName] = bytes.Replace(f[RecordsName], []byte(`"a":1`), []byte(`"a":2`), 1)
		},
		"another number": func(f map[string][]byte) {
			f[RecordsName] = bytes.Replace(f[RecordsName], []byte(`:4`), []byte(`:3`), 1)
		},
		"one record less": func(f map[string][]byte) {
			f[RecordsName] = f[RecordsName][:bytes.LastIndexByte(f[RecordsName][:len(f[RecordsName])-1], '\n')+1]
		},
		"cut off":     func(f map[string][]byte) { f[RecordsName] = f[RecordsName][:len(f[RecordsName])-1] },
		"no record":   func(f map[string][]byte) { f[RecordsName] = []byte("hello\n") },
		"no proof":    func(f map[string][]byte) { delete(f, InclusionName) },
		"no records":  func(f map[string][]byte) { delete(f, RecordsName) },
		"wrong proof": func(f map[string][]byte) { f[InclusionName] = []byte(inclusionTitle) },
	} {
		_, err := recordPack(t, spoil).CheckRecords()
		require.Error(t, err, name)
	}
}

func TestAPackOfFilesElsewhereIsTheSameAsOneOfBytes(t *testing.T) {
	signer, _, _ := testKey(t, origin, 1)
	data, files := testPack(t, signer)
	var contents []Content
	for _, name := range []string{"empty.csv", "photographs/9f3a.jpg", "records.jsonl"} {
		var kept bytes.Buffer
		m := NewMeter(&kept)
		for _, b := range files[name] {
			_, err := m.Write([]byte{b})
			require.NoError(t, err)
		}
		contents = append(contents, m.Content(name, func() (io.ReadCloser, error) { return io.NopCloser(&kept), nil }))
	}
	var b bytes.Buffer
	require.NoError(t, WriteContents(&b, testCheckpoint(t), contents, signer))
	require.Equal(t, data, b.Bytes())
}
