package static_test

import (
	"bytes"
	"flag"
	"html/template"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"tidemark/static"
)

var specimenDir = flag.String("specimen", "", "write the specimen pages into this folder")

// m is a partial's data, spelled the way the comments above the partials spell it.
type m = map[string]any

// render draws one specimen page through the real layout.
func render(t *testing.T, s specimen) []byte {
	t.Helper()
	set, err := template.New("page").Funcs(static.Funcs()).
		ParseFS(static.Templates(), "partials/*.html")
	require.NoError(t, err)
	_, err = set.Parse(`{{define "main"}}` + s.main + `{{end}}`)
	require.NoError(t, err)
	var buf bytes.Buffer
	data := m{"Page": s.page}
	maps.Copy(data, s.data)
	require.NoError(t, set.ExecuteTemplate(&buf, "page", data))
	return buf.Bytes()
}

func TestSpecimens(t *testing.T) {
	for name, s := range specimens() {
		t.Run(name, func(t *testing.T) {
			page := render(t, s)
			checkMarkup(t, page)
			require.NotContains(t, string(page), "no value", "a field that is left out shows")
			require.NotContains(t, string(page), "ZgotmplZ", "a value in an unsafe place")
			if *specimenDir != "" {
				file := filepath.Join(*specimenDir, name+".html")
				require.NoError(t, os.WriteFile(file, page, 0o644))
			}
		})
	}
}

// Every partial is drawn by some specimen: a new one cannot be forgotten here.
func TestEveryPartialIsDrawn(t *testing.T) {
	var source strings.Builder
	set, err := template.New("page").Funcs(static.Funcs()).
		ParseFS(static.Templates(), "partials/*.html")
	require.NoError(t, err)
	for _, tmpl := range set.Templates() {
		if tmpl.Tree != nil {
			source.WriteString(tmpl.Tree.Root.String())
		}
	}
	for _, s := range specimens() {
		source.WriteString(s.main)
	}
	for _, tmpl := range set.Templates() {
		name := tmpl.Name()
		if name == "page" || strings.HasSuffix(name, ".html") {
			continue
		}
		require.Containsf(t, source.String(), `{{template "`+name+`"`, "%s is drawn by no one", name)
	}
}

// void elements have no end tag (HTML Living Standard, 13.1.2).
var void = []string{"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta",
	"source", "track", "wbr"}

// checkMarkup is stricter than a browser: every element is closed in order, ids are unique,
// what is pointed at exists, and nothing is there that the policy of 'self' would refuse.
func checkMarkup(t *testing.T, page []byte) {
	t.Helper()
	var open []string
	ids, wanted := map[string]bool{}, map[string]string{}
	for z := html.NewTokenizer(bytes.NewReader(page)); ; {
		switch kind := z.Next(); kind {
		case html.ErrorToken:
			require.Empty(t, open, "elements left open")
			for id, by := range wanted {
				require.Truef(t, ids[id], "%s points at #%s, which is not there", by, id)
			}
			return
		case html.StartTagToken, html.SelfClosingTagToken:
			tok := z.Token()
			checkElement(t, tok, ids, wanted)
			if kind == html.StartTagToken && !slices.Contains(void, tok.Data) {
				open = append(open, tok.Data)
			}
		case html.EndTagToken:
			name, _ := z.TagName()
			require.NotEmpty(t, open, "</%s> closes nothing", name)
			require.Equal(t, open[len(open)-1], string(name), "closed out of order")
			open = open[:len(open)-1]
		}
	}
}

func checkElement(t *testing.T, tok html.Token, ids map[string]bool, wanted map[string]string) {
	t.Helper()
	require.NotEqual(t, "style", tok.Data)
	for _, a := range tok.Attr {
		require.NotEqual(t, "style", a.Key, "inline style on <%s>", tok.Data)
		require.Falsef(t, strings.HasPrefix(a.Key, "on"), "%s on <%s>", a.Key, tok.Data)
		switch a.Key {
		case "id":
			require.Falsef(t, ids[a.Val], "id %s stands twice", a.Val)
			ids[a.Val] = true
		case "for":
			wanted[a.Val] = "for"
		case "aria-describedby":
			for id := range strings.FieldsSeq(a.Val) {
				wanted[id] = "aria-describedby"
			}
		case "href", "src":
			if id, ok := strings.CutPrefix(a.Val, "#"); ok {
				wanted[id] = "link"
			}
			require.Falsef(t, strings.Contains(a.Val, ":"), "%s leaves our own origin", a.Val)
		}
	}
	if tok.Data == "script" {
		require.True(t, slices.ContainsFunc(tok.Attr, func(a html.Attribute) bool {
			return a.Key == "src"
		}), "inline script")
	}
}
