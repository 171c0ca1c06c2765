package server_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// rooms says which rooms of the house a room may import; what is not on the list
// is refused. Tests may import more. It is the list of DEVELOPERS.md.
var rooms = map[string][]string{
	"cmd/tidemark": {"server", "server/demo", "server/fault", "labels"},
	"server": {"server/web", "server/desk", "server/post", "server/report", "server/people", "server/ledger",
		"server/rules", "server/sealing", "server/proof", "server/record", "server/photo", "server/stats",
		"server/durable", "server/fault", "server/demo", "labels", "static"},
	"server/web": {"server/desk", "labels", "static", "server/fault", "server/rules", "server/sealing", "server/record"},
	"server/desk": {"server/post", "server/report", "server/people", "server/ledger", "server/rules", "server/sealing",
		"server/proof", "server/record", "server/photo", "server/packlist", "server/stats", "server/durable", "server/fault", "labels"},
	"server/demo":     {"server/desk", "server/rules", "server/record", "server/people", "server/fault"},
	"server/post":     {"server/record", "server/fault"},
	"server/report":   {"server/record", "server/rules", "server/stats", "server/proof", "server/fault"},
	"server/people":   {"server/durable", "server/fault"},
	"server/ledger":   {"server/record", "server/proof", "server/durable", "server/fault"},
	"server/rules":    {"server/record", "server/sealing", "server/fault"},
	"server/sealing":  {"server/stats", "server/fault"},
	"server/proof":    {},
	"server/record":   {"server/fault"},
	"server/photo":    {"server/fault"},
	"server/packlist": {"server/record", "server/fault"},
	"server/stats":    {},
	"server/durable":  {},
	"server/fault":    {},
	"labels":          {},
	"static":          {},

	"server/durable/faulty": {"server/durable"}, // a disk that fails, for tests
}

// pure rooms know no clock, no disk, no network and no chance.
var pure = []string{"server/rules", "server/sealing", "server/proof", "server/record", "server/photo", "server/packlist", "server/stats",
	"server/fault", "server/report"}

// effects are what a pure room does without.
var effects = []string{"os", "os/exec", "io/fs", "io/ioutil", "path/filepath", "net", "net/http", "net/smtp", "syscall",
	"crypto/rand", "log", "log/slog", "math/rand", "embed", "html/template", "runtime"}

func TestRoomsImportOnlyWhatTheListAllows(t *testing.T) {
	for room, imports := range importsOfRooms(t) {
		allowed, known := rooms[room]
		require.True(t, known, "%s is not a room of the house: see DEVELOPERS.md", room)
		for _, i := range imports {
			if inside, ok := strings.CutPrefix(i, "tidemark/"); ok {
				require.Contains(t, allowed, inside, "%s may not import %s", room, i)
			}
		}
	}
}

func TestPureRoomsTouchNothingOutside(t *testing.T) {
	for room, imports := range importsOfRooms(t) {
		if !slices.Contains(pure, room) {
			continue
		}
		for _, i := range imports {
			require.NotContains(t, effects, i, "%s is pure and may not import %s", room, i)
		}
		for name, text := range textsOf(t, room) {
			for _, call := range []string{"time.Now(", "time.Since(", "time.After(", "time.Sleep("} {
				require.NotContains(t, text, call, "%s is pure and may not look at the clock", name)
			}
		}
	}
}

func TestOnlyPagesKnowTheWebFramework(t *testing.T) {
	for room, imports := range importsOfRooms(t) {
		for _, i := range imports {
			if strings.Contains(i, "/echo/") {
				require.Equal(t, "server/web", room)
			}
			if strings.HasSuffix(i, "/bbolt") {
				require.Contains(t, []string{"server/ledger", "server/people"}, room)
			}
		}
	}
}

// importsOfRooms lists what the code of each room imports, tests apart.
func importsOfRooms(t *testing.T) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	eachFile(t, func(name string) {
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return
		}
		file, err := parser.ParseFile(token.NewFileSet(), path.Join(root, name), nil, parser.ImportsOnly)
		require.NoError(t, err)
		room := path.Dir(name)
		found[room] = append(found[room], []string{}...)
		for _, spec := range file.Imports {
			i, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			found[room] = append(found[room], i)
		}
	})
	require.NotEmpty(t, found)
	return found
}

// root is the top of the project, seen from here.
const root = ".."

// eachFile walks the files of the project by their slash-separated names.
func eachFile(t *testing.T, do func(name string)) {
	t.Helper()
	err := fs.WalkDir(os.DirFS(root), ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() && (entry.Name() == ".git" || entry.Name() == "testdata") {
			return fs.SkipDir
		}
		if !entry.IsDir() {
			do(name)
		}
		return nil
	})
	require.NoError(t, err)
}

// textsOf reads the code of a room, tests apart.
func textsOf(t *testing.T, room string) map[string]string {
	t.Helper()
	texts := map[string]string{}
	eachFile(t, func(name string) {
		if path.Dir(name) == room && strings.HasSuffix(name, ".go") && !strings.HasSuffix(name, "_test.go") {
			b, err := os.ReadFile(path.Join(root, name))
			require.NoError(t, err)
			texts[name] = string(b)
		}
	})
	return texts
}
