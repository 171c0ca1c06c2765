package record_test

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/tlog"

	"tidemark/server/record"
)

var update = flag.Bool("update", false, "add golden lines for kinds and versions that have none")

var goldenFile = filepath.Join("..", "..", "testdata", "golden", "records.txt")

// golden is a line that was written once and has to be readable for ever. The
// file has one for each kind and version: the leaf hash in hex, a space and the
// line. Lines are added, never changed.
type golden struct {
	hash string
	line []byte
}

func readGolden(t *testing.T) (all []golden) {
	t.Helper()
	b, err := os.ReadFile(goldenFile)
	if os.IsNotExist(err) && *update {
		return nil
	}
	require.NoError(t, err)
	for _, text := range strings.Split(strings.TrimSuffix(string(b), "\n"), "\n") {
		hash, line, ok := strings.Cut(text, " ")
		require.True(t, ok, text)
		all = append(all, golden{hash, []byte(line)})
	}
	return all
}

func TestEveryLineThatWasEverWrittenIsRead(t *testing.T) {
	all := readGolden(t)
	if *update {
		all = addMissing(t, all)
	}
	newest := map[string]bool{}
	for _, g := range all {
		// RFC 6962, 2.1, as golang.org/x/mod has it.
		want := tlog.RecordHash(g.line)
		require.Equal(t, hex.EncodeToString(want[:]), g.hash, "%s", g.line)
		r, err := record.Parse(g.line)
		require.NoError(t, err)
		require.Equal(t, string(g.line), string(r.Append(nil)))
		newest[versionOf(r)] = true
		if versionOf(r) == newestVersion(t, r.Kind) {
			content, err := r.Content()
			require.NoError(t, err)
			requireFilled(t, string(r.Kind), reflect.ValueOf(content))
		}
	}
	for kind := range record.Kinds() {
		require.True(t, newest[newestVersion(t, kind)], "no golden line for %s", kind)
	}
}

func TestTheEnvelopesGoldenLineUsesEveryField(t *testing.T) {
	r, err := record.Parse(readGolden(t)[0].line)
	require.NoError(t, err)
	requireFilled(t, "record", reflect.ValueOf(r))
}

func versionOf(r record.Record) string { return fmt.Sprintf("%s %d", r.Kind, r.V) }

func newestVersion(t *testing.T, kind record.Kind) string {
	t.Helper()
	r, err := record.New(record.Kinds()[kind])
	require.NoError(t, err)
	return versionOf(r)
}

// requireFilled tells a field that was added to a struct whose golden line does
// not have it: it needs a new version, or a line of its own before the first
// release.
func requireFilled(t *testing.T, path string, v reflect.Value) {
	t.Helper()
	for v.Kind() == reflect.Pointer {
		require.False(t, v.IsNil(), "%s is missing in its golden line", path)
		v = v.Elem()
	}
	if v.Kind() == reflect.Slice && v.Len() > 0 && v.Type().Elem().Kind() == reflect.Struct {
		requireFilled(t, path+"[0]", v.Index(0))
	}
	if v.Kind() != reflect.Struct {
		require.False(t, v.IsZero(), "%s is missing in its golden line", path)
		return
	}
	for i := range v.NumField() {
		if f := v.Type().Field(i); f.IsExported() {
			requireFilled(t, path+"."+f.Name, v.Field(i))
		}
	}
}

// addMissing writes lines for the kinds and versions that have none.
func addMissing(t *testing.T, all []golden) []golden {
	have := map[string]bool{}
	for _, g := range all {
		r, err := record.Parse(g.line)
		require.NoError(t, err)
		have[versionOf(r)] = true
	}
	kinds := record.Kinds()
	for _, kind := range slices.Sorted(maps.Keys(kinds)) {
		if have[newestVersion(t, kind)] {
			continue
		}
		body := kinds[kind]
		fill(t, reflect.ValueOf(body).Elem(), 1)
		r, err := record.New(body)
		require.NoError(t, err)
		envelope := r
		fill(t, reflect.ValueOf(&r).Elem(), 1)
		r.V, r.Kind, r.Body, r.Subject.Type = envelope.V, envelope.Kind, envelope.Body, record.Sealer
		line := r.Append(nil)
		hash := tlog.RecordHash(line)
		all = append(all, golden{hex.EncodeToString(hash[:]), line})
	}
	var out bytes.Buffer
	for _, g := range all {
		fmt.Fprintf(&out, "%s %s\n", g.hash, g.line)
	}
	require.NoError(t, os.MkdirAll(filepath.Dir(goldenFile), 0o755))
	require.NoError(t, os.WriteFile(goldenFile, out.Bytes(), 0o644))
	return all
}

// fill gives every exported field a value that is not zero.
func fill(t *testing.T, v reflect.Value, n int) {
	t.Helper()
	switch at := v.Addr().Interface().(type) {
	case *record.Time:
		*at = record.Time(1768305900120 + 1000*n)
		return
	case *record.Date:
		*at = record.Date(20_466 + n)
		return
	case *json.RawMessage:
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(fmt.Sprintf("é<%d>", n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int32, reflect.Int64:
		v.SetInt(int64(n))
	case reflect.Array:
		v.Index(0).SetUint(uint64(n))
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(t, v.Elem(), n)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(t, v.Index(0), n)
	case reflect.Map:
		value := reflect.New(v.Type().Elem()).Elem()
		fill(t, value, n)
		v.Set(reflect.MakeMap(v.Type()))
		v.SetMapIndex(reflect.ValueOf("note").Convert(v.Type().Key()), value)
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				fill(t, v.Field(i), n+i)
			}
		}
	default:
		t.Fatalf("no value for %s", v.Type())
	}
}
