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

// house reads the table of DEVELOPERS.md: which rooms a room may import, and
// which of them are pure. What is not in it is refused. Tests may import more.
func house(t *testing.T) (rooms map[string][]string, pure []string) {
	t.Helper()
	text, err := os.ReadFile(path.Join(root, "DEVELOPERS.md"))
	require.NoError(t, err)
	rooms, short := map[string][]string{}, map[string]string{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimSpace(line), " | ")
		room, ok := strings.CutPrefix(cells[0], "| `")
		if !ok || len(cells) != 3 {
			continue
		}
		room = strings.TrimSuffix(room, "`")
		rooms[room], short[path.Base(room)] = strings.Split(cells[1], ", "), room
		if strings.HasSuffix(cells[2], "pure |") {
			pure = append(pure, room)
		}
	}
	for room, names := range rooms {
		for i, name := range names {
			require.True(t, name == "-" || short[name] != "", "%s may import %q, which is no room", room, name)
			names[i] = short[name]
		}
	}
	require.Greater(t, len(rooms), 15)
	require.Greater(t, len(pure), 5)
	return rooms, pure
}

// effects are what a pure room does without.
var effects = []string{"os", "os/exec", "io/fs", "io/ioutil", "path/filepath", "net", "net/http", "net/smtp", "syscall",
	"crypto/rand", "log", "log/slog", "math/rand", "embed", "html/template", "runtime"}

func TestRoomsImportOnlyWhatTheListAllows(t *testing.T) {
	rooms, _ := house(t)
	found := importsOfRooms(t)
	for room := range rooms {
		require.Contains(t, found, room, "DEVELOPERS.md names a room that is not there")
	}
	for room, imports := range found {
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
	_, pure := house(t)
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
