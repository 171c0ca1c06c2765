package server_test

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

// description is /api/openapi.json as a program reads it. What is sent and
// answered is held against it by a validator that knows nothing of this project.
type description struct {
	t     *testing.T
	doc   map[string]any
	types *jsonschema.Compiler
	paths map[string]*regexp.Regexp
	seen  map[string]bool // operations that were answered well
}

const descriptionURL = "https://tide.test/api/openapi.json"

func readDescription(t *testing.T, handler http.Handler, public string) *description {
	t.Helper()
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodGet, public+"/api/openapi.json", nil)
	handler.ServeHTTP(w, r)
	require.Equal(t, http.StatusOK, w.Code)
	require.Equal(t, "application/json", w.Header().Get("Content-Type"))
	doc, err := jsonschema.UnmarshalJSON(w.Body)
	require.NoError(t, err)
	d := &description{t: t, doc: doc.(map[string]any), types: jsonschema.NewCompiler(),
		paths: map[string]*regexp.Regexp{}, seen: map[string]bool{}}
	closeObjects(d.doc["components"].(map[string]any)["schemas"].(map[string]any))
	require.NoError(t, d.types.AddResource(descriptionURL, d.doc))
	for path := range d.doc["paths"].(map[string]any) {
		d.paths[path] = regexp.MustCompile("^" + parameters.ReplaceAllString(path, "[^/]+") + "$")
	}
	return d
}

var parameters = regexp.MustCompile(`\{[a-z]+\}`)

// closeObjects forbids fields that are not described: a program must expect new
// ones, but here each answer has to be described to the last field.
func closeObjects(types map[string]any) {
	for _, s := range types {
		if s := s.(map[string]any); s["properties"] != nil {
			s["additionalProperties"] = false
		}
	}
}

// operation finds what is said of a method and an address.
func (d *description) operation(method, address string) (at string, op map[string]any) {
	d.t.Helper()
	address, _, _ = strings.Cut(address, "?")
	for path, pattern := range d.paths {
		item := d.doc["paths"].(map[string]any)[path].(map[string]any)
		if found, ok := item[strings.ToLower(method)]; ok && pattern.MatchString(address) &&
			(at == "" || !strings.Contains(path, "{")) {
			at, op = strings.ToLower(method)+" "+path, found.(map[string]any)
		}
	}
	require.NotEmpty(d.t, at, "%s %s is not described", method, address)
	return at, op
}

// requireSent wants a body that the description allows.
func (d *description) requireSent(method, address string, body []byte) {
	d.t.Helper()
	at, op := d.operation(method, address)
	require.NotNil(d.t, op["requestBody"], "%s takes no body", at)
	d.require(at+" takes", op["requestBody"], "application/json", body)
}

// requireAnswer wants an answer that the description promises.
func (d *description) requireAnswer(method, address string, status int, kind string, body []byte) {
	d.t.Helper()
	at, op := d.operation(method, address)
	answers := op["responses"].(map[string]any)
	if status >= 400 {
		d.require(at+" refuses", d.doc["components"].(map[string]any)["responses"].(map[string]any)["Problem"], kind, body)
		return
	}
	answer, ok := answers[strconv.Itoa(status)]
	require.True(d.t, ok, "%s answered %d, which is not described", at, status)
	d.require(at+" answers", answer, kind, body)
	d.seen[at] = true
}

// require holds a body against the schema of its content type.
func (d *description) require(what string, described any, kind string, body []byte) {
	d.t.Helper()
	of, ok := described.(map[string]any)["content"].(map[string]any)[kind]
	require.True(d.t, ok, "%s %s, which is not described", what, kind)
	ref, ok := of.(map[string]any)["schema"].(map[string]any)["$ref"].(string)
	if !ok {
		return // bytes of a photograph
	}
	s, err := d.types.Compile(descriptionURL + ref)
	require.NoError(d.t, err)
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	require.NoError(d.t, err, "%s: %s", what, body)
	require.NoError(d.t, s.Validate(value), "%s: %s", what, body)
}
