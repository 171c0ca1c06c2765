package rules_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// shapes are the sums of the state's types, by the number they had. If the test
// below fails because a struct of the state was changed, raise rules.Shape and
// add the sum that it prints; never change a line that was released: snapshots of
// that number exist.
var shapes = map[int]string{
	1:  "1fbe093c52dc9605",
	2:  "f5553bc5aa3eaa90",
	3:  "c36b13a6e1afefa7",
	4:  "b52867df99359724",
	5:  "81f678a7e925dc5d",
	6:  "46a748f48d58bd96",
	7:  "1e48344a230f79c6",
	8:  "9e95520db514dde5",
	9:  "7ffbdc0daf208511",
	10: "4eaf2879551a61a1",
	11: "5f4d80cef3af3627",
	12: "ac6a48b5c5a70901",
	13: "81c70e5876b91e44",
}

func TestAChangedStateHasANewShape(t *testing.T) {
	var b strings.Builder
	seen := map[reflect.Type]bool{}
	for _, root := range []any{rules.Site{}, rules.Department{}, rules.Person{}, rules.Pouch{}, rules.Sealer{}, rules.Problem{}} {
		describe(&b, reflect.TypeOf(root), seen)
	}
	sum := sha256.Sum256([]byte(b.String()))
	require.Equal(t, hex.EncodeToString(sum[:8]), shapes[rules.Shape],
		"the state's types changed: raise rules.Shape and note this sum in shapes")
}

// describe writes a type's fields with their names, tags and order, and then the
// types that they are made of.
func describe(b *strings.Builder, t reflect.Type, seen map[reflect.Type]bool) {
	if seen[t] {
		return
	}
	seen[t] = true
	fmt.Fprintf(b, "%s = %s\n", t, t.Kind())
	switch t.Kind() {
	case reflect.Struct:
		for i := range t.NumField() {
			f := t.Field(i)
			fmt.Fprintf(b, "  %s %s %q %v\n", f.Name, f.Type, f.Tag, f.Anonymous)
		}
		for i := range t.NumField() {
			describe(b, t.Field(i).Type, seen)
		}
	case reflect.Map:
		describe(b, t.Key(), seen)
		describe(b, t.Elem(), seen)
	case reflect.Slice, reflect.Array, reflect.Pointer:
		describe(b, t.Elem(), seen)
	}
}

// A snapshot must bring back just what was folded.
func TestEveryFieldOfTheStateIsWrittenToSnapshots(t *testing.T) {
	for _, root := range []any{rules.Site{}, rules.Department{}, rules.Person{}, rules.Pouch{}, rules.Sealer{}, rules.Problem{}} {
		seen := map[reflect.Type]bool{}
		describe(new(strings.Builder), reflect.TypeOf(root), seen)
		for typ := range seen {
			if typ.Kind() != reflect.Struct {
				continue
			}
			for i := range typ.NumField() {
				f := typ.Field(i)
				require.True(t, f.IsExported(), "%s.%s", typ, f.Name)
				require.NotEqual(t, "-", f.Tag.Get("json"), "%s.%s", typ, f.Name)
			}
		}
	}
}

func TestDecodeReadsEverySubjectOfTheStateAndNothingElse(t *testing.T) {
	w := tellWalkC(t)
	w.failAtTheLeft(w.report().ID)
	for s, value := range w.state {
		read, err := rules.Decode(s.Type, jsonOf(t, value))
		require.NoError(t, err)
		require.Equal(t, string(jsonOf(t, value)), string(jsonOf(t, read)))
		require.IsType(t, value, read)
	}
	_, err := rules.Decode("jaw", []byte("{}"))
	require.Error(t, err)
	_, err = rules.Decode(record.Sealer, []byte("{"))
	require.Error(t, err)
}

// RULES.md R13: no floating-point number in what is folded, nor in folding: x*y+z
// has another last bit on another machine.
func TestFoldingKnowsNoFloatingPoint(t *testing.T) {
	for _, name := range []string{"evolve.go", "evolveproblem.go", "state.go", "problemstate.go", "belongs.go",
		"evolvemaintenance.go", "maintenancestate.go", "unused.go", "due.go"} {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.Ident:
				require.NotContains(t, []string{"float32", "float64", "complex64", "complex128"}, n.Name, name)
			case *ast.BasicLit:
				require.NotContains(t, []token.Token{token.FLOAT, token.IMAG}, n.Kind, name)
			case *ast.ImportSpec:
				require.Contains(t, []string{`"cmp"`, `"encoding/json"`, `"fmt"`, `"maps"`, `"slices"`, `"time"`, `"tidemark/server/record"`,
					`"tidemark/server/fault"`}, n.Path.Value, name)
			}
			return true
		})
	}
	floats := map[reflect.Kind]bool{reflect.Float32: true, reflect.Float64: true, reflect.Complex64: true, reflect.Complex128: true}
	seen := map[reflect.Type]bool{}
	for _, root := range []any{rules.Site{}, rules.Department{}, rules.Person{}, rules.Pouch{}, rules.Sealer{}, rules.Problem{}} {
		describe(new(strings.Builder), reflect.TypeOf(root), seen)
	}
	for typ := range seen {
		require.False(t, floats[typ.Kind()], typ)
	}
}
