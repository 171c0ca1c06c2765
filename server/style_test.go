package server_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestEveryRoomSaysWhatItIs(t *testing.T) {
	said, seen := map[string]bool{}, map[string]bool{}
	eachGoFile(t, func(name string, file *ast.File, _ *token.FileSet) {
		if !strings.HasSuffix(name, "_test.go") {
			seen[path.Dir(name)] = true
			said[path.Dir(name)] = said[path.Dir(name)] || file.Doc != nil
		}
	})
	for room := range seen {
		require.True(t, said[room], "%s has no package comment", room)
	}
}

// vague are names that say nothing about what is inside.
var vague = regexp.MustCompile(`^(utils?|common|helpers?|types|misc|shared|base|lib)$`)

func TestNamesSayWhatIsInside(t *testing.T) {
	eachFile(t, func(name string) {
		for part := range strings.SplitSeq(strings.TrimSuffix(name, ".go"), "/") {
			require.NotRegexp(t, vague, strings.TrimSuffix(part, "_test"), name)
		}
	})
}

// leftOver is spelled so that this file does not find itself.
var leftOver = regexp.MustCompile(`\b(TO` + `DO|FIX` + `ME|XX` + `X|HA` + `CK)\b`)

func TestNothingIsLeftToDoInComments(t *testing.T) {
	eachGoFile(t, func(name string, file *ast.File, _ *token.FileSet) {
		for _, group := range file.Comments {
			require.NotRegexp(t, leftOver, group.Text(), name)
		}
	})
}

// A variable that a test overwrites is an input that nobody declared, and two
// tests that do it cannot run side by side.
func TestTestsOverwriteNoPackageVariables(t *testing.T) {
	variables := map[string]map[string]bool{} // by room
	eachGoFile(t, func(name string, file *ast.File, _ *token.FileSet) {
		if room := path.Dir(name); !strings.HasSuffix(name, "_test.go") {
			if variables[room] == nil {
				variables[room] = map[string]bool{}
			}
			for _, v := range variablesOf(file) {
				variables[room][v] = true
			}
		}
	})
	eachGoFile(t, func(name string, file *ast.File, set *token.FileSet) {
		if !strings.HasSuffix(name, "_test.go") {
			return
		}
		inside := variables[path.Dir(name)]
		if strings.HasSuffix(file.Name.Name, "_test") {
			inside = nil
		}
		for _, target := range targetsOf(file) {
			switch to := target.(type) {
			case *ast.Ident:
				require.False(t, inside[to.Name] && to.Obj == nil, "%s overwrites %s", set.Position(to.Pos()), to.Name)
			case *ast.SelectorExpr:
				if room, ok := roomOf(file, to.X); ok {
					require.False(t, variables[room][to.Sel.Name], "%s overwrites %s", set.Position(to.Pos()), to.Sel.Name)
				}
			}
		}
	})
}

func variablesOf(file *ast.File) (names []string) {
	for _, d := range file.Decls {
		if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.VAR {
			for _, spec := range g.Specs {
				for _, n := range spec.(*ast.ValueSpec).Names {
					names = append(names, n.Name)
				}
			}
		}
	}
	return names
}

// targetsOf lists what a file assigns to, declarations apart.
func targetsOf(file *ast.File) (targets []ast.Expr) {
	ast.Inspect(file, func(n ast.Node) bool {
		if a, ok := n.(*ast.AssignStmt); ok && a.Tok != token.DEFINE {
			targets = append(targets, a.Lhs...)
		}
		return true
	})
	return targets
}

// roomOf is the room that a name before a dot was imported as.
func roomOf(file *ast.File, x ast.Expr) (string, bool) {
	id, ok := x.(*ast.Ident)
	if !ok || id.Obj != nil {
		return "", false
	}
	for _, spec := range file.Imports {
		p, _ := strconv.Unquote(spec.Path.Value)
		if inside, ok := strings.CutPrefix(p, "tidemark/"); ok && path.Base(p) == id.Name {
			return inside, true
		}
	}
	return "", false
}

// The figures are those of the code bases that this one learns from: functions
// of 8-15 lines at the median and 35-45 at the 90th percentile, files of 90-150.
func TestFunctionsAndFilesStayShort(t *testing.T) {
	var functions, files []int
	long := 0
	eachGoFile(t, func(name string, file *ast.File, set *token.FileSet) {
		if strings.HasSuffix(name, "_test.go") {
			return
		}
		b, err := os.ReadFile(path.Join(root, name))
		require.NoError(t, err)
		files = append(files, strings.Count(string(b), "\n"))
		for line := range strings.Lines(string(b)) {
			if len([]rune(strings.ReplaceAll(line, "\t", "    "))) > 101 {
				long++
			}
		}
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Body != nil {
				functions = append(functions, set.Position(f.End()).Line-set.Position(f.Pos()).Line+1)
			}
		}
	})
	slices.Sort(functions)
	slices.Sort(files)
	at := func(list []int, percent int) int { return list[(len(list)-1)*percent/100] }
	t.Logf("%d functions: median %d lines, 90th percentile %d, longest %d", len(functions), at(functions, 50),
		at(functions, 90), at(functions, 100))
	t.Logf("%d files: median %d lines, longest %d; %d lines are wider than 100 columns", len(files), at(files, 50),
		at(files, 100), long)
	require.LessOrEqual(t, at(functions, 50), 15)
	require.LessOrEqual(t, at(functions, 90), 45)
	require.LessOrEqual(t, at(files, 50), 150)
}

func eachGoFile(t *testing.T, do func(name string, file *ast.File, set *token.FileSet)) {
	t.Helper()
	eachFile(t, func(name string) {
		if !strings.HasSuffix(name, ".go") {
			return
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path.Join(root, name), nil, parser.ParseComments)
		require.NoError(t, err)
		do(name, file, set)
	})
}
