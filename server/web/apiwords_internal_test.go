package web

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
)

// offersOf lists what the JSON interface offers and what the router answers below
// its root.
func offersOf(t *testing.T) (offers []offer, answered map[string]bool) {
	t.Helper()
	answered = map[string]bool{}
	_, err := handler(Options{PublicURL: "http://tide.test"}, func(h *house, e *router) {
		h.routes(e)
		offers = e.offers
		for _, r := range e.Routes() {
			if path, ok := strings.CutPrefix(r.Path, apiRoot); ok {
				answered[r.Method+" "+path] = true
			}
		}
	})
	require.NoError(t, err)
	return offers, answered
}

func TestEveryAddressOfTheInterfaceHasWords(t *testing.T) {
	offers, answered := offersOf(t)
	names, wanted := map[string]string{}, map[string]bool{}
	for _, o := range offers {
		at := o.method + " " + o.path
		wanted[at] = true
		w := wordsOf(o)
		if w.text == "" {
			t.Errorf("%s has no words in apiTables", at)
			continue
		}
		require.Regexp(t, `^[A-Z].*\.$`, w.text, at)
		require.Regexp(t, `^[a-z][A-Za-z]*$`, w.name, at)
		require.Empty(t, names[w.name], "%s and %s have one name", at, names[w.name])
		names[w.name] = at
		if w.needs == needsPerson {
			require.NotEmpty(t, desk.RolesFor(w.use), "%s: nobody may %q", at, w.use)
		}
		for _, m := range regexp.MustCompile(`:([a-z]+)`).FindAllStringSubmatch(o.path, -1) {
			require.NotEmpty(t, pathWords[m[1]], "%s: no words for %s", at, m[1])
		}
		for _, q := range w.query {
			require.NotEmpty(t, queryWords[q], "%s: no words for %s", at, q)
		}
	}
	for _, table := range apiTables {
		for at := range table {
			require.True(t, wanted[at], "there are words for %s, which is not offered", at)
		}
	}
	for at := range answered {
		require.True(t, wanted[at], "%s is answered and not described", at)
	}
}
