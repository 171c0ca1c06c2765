package rules_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// mutate asks for mutants of the files whose name holds it: ".go" for all. It
// takes seconds a mutant:
//
//	go test ./server/rules -run Mutant -mutate .go -timeout 3h -v
var mutate = flag.String("mutate", "", "flip comparisons in files with this in their name")

// flips are what each operator is changed to, one at a time.
var flips = map[token.Token][]token.Token{
	token.EQL: {token.NEQ}, token.NEQ: {token.EQL},
	token.LSS: {token.LEQ, token.GEQ}, token.LEQ: {token.LSS, token.GTR},
	token.GTR: {token.GEQ, token.LEQ}, token.GEQ: {token.GTR, token.LSS},
	token.LAND: {token.LOR}, token.LOR: {token.LAND},
}

// mutant is one operator in one file, changed.
type mutant struct {
	file     string
	at       token.Position
	from, to token.Token
}

func (m mutant) String() string {
	return fmt.Sprintf("%s:%d:%d: %s became %s", m.file, m.at.Line, m.at.Column, m.from, m.to)
}

// equals are mutants that mean the same as the original, each with the reason.
// They are named by the line they change, as it reads, and what it became.
var equals = map[string]string{}

// RULES.md, tests that prove it, 10: a mutant that survives is a defect of the
// tests, or of the rules: then the comparison says nothing.
func TestNoMutantSurvives(t *testing.T) {
	if *mutate == "" {
		t.Skip("takes hours: -mutate .go")
	}
	survivors := 0
	for _, m := range mutants(t) {
		source, err := os.ReadFile(m.file)
		require.NoError(t, err)
		line := strings.TrimSpace(strings.Split(string(source), "\n")[m.at.Line-1])
		if why, ok := equals[line+" -> "+m.to.String()]; ok {
			t.Logf("%s: the same, because %s", m, why)
			continue
		}
		end := m.at.Offset + len(m.from.String())
		changed := string(source[:m.at.Offset]) + m.to.String() + string(source[end:])
		if survives(t, m.file, changed) {
			survivors++
			t.Errorf("survives: %s\n\t%s", m, line)
		}
	}
	t.Logf("%d survivors", survivors)
}

func mutants(t *testing.T) (all []mutant) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") || !strings.Contains(name, *mutate) {
			continue
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			if b, ok := n.(*ast.BinaryExpr); ok {
				for _, to := range flips[b.Op] {
					all = append(all, mutant{name, set.Position(b.OpPos), b.Op, to})
				}
			}
			return true
		})
	}
	return all
}

// survives runs the fast tests on the package with one file changed.
func survives(t *testing.T, name, source string) bool {
	t.Helper()
	dir := t.TempDir()
	changed, overlay := filepath.Join(dir, name), filepath.Join(dir, "overlay.json")
	require.NoError(t, os.WriteFile(changed, []byte(source), 0o600))
	here, err := filepath.Abs(name)
	require.NoError(t, err)
	replace, err := json.Marshal(map[string]any{"Replace": map[string]string{here: changed}})
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(overlay, replace, 0o600))
	run := exec.Command("go", "test", "-overlay", overlay, "-vet=off", "-short", "-failfast", "-timeout", "60s",
		"-rapid.nofailfile", "-rapid.seed=1", "-rapid.checks=200", "-rapid.shrinktime=0s", ".")
	out, err := run.CombinedOutput()
	if err == nil {
		return true
	}
	require.NotContains(t, string(out), "[setup failed]")
	return false
}
