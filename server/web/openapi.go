package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"regexp"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
)

// openapi describes the JSON interface in the manner of OpenAPI 3.1. It is made
// of the routes and of the types that they take and give: it cannot say anything
// else than what is answered. Only the words are written by hand, in apiwords.go.
func openapi(offers []offer, public string) ([]byte, error) {
	types := newSchemas()
	paths := map[string]map[string]any{}
	for _, o := range offers {
		path := parameter.ReplaceAllString(apiRoot+o.path, "{$1}")
		if paths[path] == nil {
			paths[path] = map[string]any{}
		}
		paths[path][strings.ToLower(o.method)] = operation(o, types)
	}
	types.of(reflect.TypeFor[problem]())
	b, err := json.Marshal(map[string]any{
		"openapi": "3.1.0",
		"info": map[string]any{"title": "tidemark", "version": "1", "description": apiIntroduction,
			"license": map[string]any{"name": "Apache-2.0", "identifier": "Apache-2.0"}},
		"servers": []any{map[string]any{"url": public}},
		"paths":   paths,
		"components": map[string]any{"schemas": types.named, "securitySchemes": securitySchemes,
			"responses": map[string]any{"Problem": content("What went wrong and what to do next (RFC 9457).",
				problemType, types.of(reflect.TypeFor[problem]()))}},
	})
	if err != nil {
		return nil, fmt.Errorf("write description of the JSON interface: %w", err)
	}
	return b, nil
}

var parameter = regexp.MustCompile(`:([a-z]+)`)

// operation describes one address and method.
func operation(o offer, types *schemas) map[string]any {
	w := wordsOf(o)
	op := map[string]any{"operationId": w.name, "summary": w.text, "description": whoMay(w)}
	var parameters []any
	for _, m := range parameter.FindAllStringSubmatch(o.path, -1) {
		parameters = append(parameters, map[string]any{"name": m[1], "in": "path", "required": true,
			"schema": schema{"type": "string"}, "description": pathWords[m[1]]})
	}
	for _, name := range w.query {
		parameters = append(parameters, map[string]any{"name": name, "in": "query",
			"schema": schema{"type": "string"}, "description": queryWords[name]})
	}
	if len(parameters) > 0 {
		op["parameters"] = parameters
	}
	if o.in != nil {
		op["requestBody"] = requestBody(o.in, types)
	}
	status := "200"
	if o.method == http.MethodPost {
		status = "201"
	}
	op["responses"] = map[string]any{status: answered(o.out, types),
		"default": map[string]any{"$ref": "#/components/responses/Problem"}}
	op["security"] = security[w.needs]
	return op
}

// jpeg stands for the bytes of a photograph where a type is wanted.
type jpeg []byte

func answered(t reflect.Type, types *schemas) map[string]any {
	if t == reflect.TypeFor[jpeg]() {
		return content("The photograph.", "image/jpeg", schema{})
	}
	if t == reflect.TypeFor[zipped]() {
		return content("The pack.", "application/zip", schema{})
	}
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return content("Done.", echo.MIMEApplicationJSON, types.of(t))
}

// delimited stands for the bytes of a list where a type is wanted.
type delimited []byte

// requestBody describes what is sent: JSON, a list, or a form with a photograph in
// it.
func requestBody(t reflect.Type, types *schemas) map[string]any {
	if t == reflect.TypeFor[delimited]() {
		body := content("", "text/csv", schema{})
		body["required"] = true
		return body
	}
	s := types.of(t)
	if t != reflect.TypeFor[desk.PhotoIn]() && t != reflect.TypeFor[keptPhotoIn]() {
		s = schema{"$ref": s["$ref"]}
		types.named[types.name(t)].(schema)["additionalProperties"] = false
		body := content("", echo.MIMEApplicationJSON, s)
		body["required"] = true
		return body
	}
	form := types.named[types.name(t)].(schema)
	form["properties"].(schema)["photo"] = schema{"type": "string", "contentMediaType": "image/jpeg"}
	form["required"] = []string{"of", "photo"}
	if t == reflect.TypeFor[keptPhotoIn]() {
		form["required"] = []string{"of", "photo", "entry"}
	}
	body := content("", echo.MIMEMultipartForm, s)
	body["required"] = true
	return body
}

func content(text, kind string, s schema) map[string]any {
	c := map[string]any{"content": map[string]any{kind: map[string]any{"schema": s}}}
	if text != "" {
		c["description"] = text
	}
	return c
}

// whoMay tells in a sentence who may do something.
func whoMay(w apiWords) string {
	switch w.needs {
	case needsNothing:
		return "Without sign-in."
	case needsDevice:
		return "On a device that was let in, without sign-in."
	}
	var names []string
	for _, r := range desk.RolesFor(w.use) {
		names = append(names, strings.ToLower(roleWords[r]))
	}
	return "For: " + strings.Join(names, ", ") + "."
}

// describeAPI serves the description.
func (h *house) describeAPI(c echo.Context) error {
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, h.api)
}
