package server_test

import (
	"bytes"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// program is somebody at work through the JSON interface, by headers. Whatever
// it sends and gets is held against the description.
type program struct {
	*office
	name    string
	http    *http.Client
	device  string
	session string
	person  string // id
	sight   string // what the ledger looked like, brought back with each request; empty for nothing
	seen    int    // size of the ledger that the last view showed
	reply   reply
}

// object is JSON to send.
type object map[string]any

// reply is the last answer.
type reply struct {
	status int
	header http.Header
	raw    []byte
	body   map[string]any
}

// stranger is a program that nobody let in yet.
func (o *office) stranger() *program {
	return &program{office: o, name: "a stranger", http: o.client()}
}

// pin is everybody's.
const pin = "481516"

// begin opens the department and leaves its first lead signed in.
func (o *office) begin(name string) *program {
	o.t.Helper()
	token, err := o.Desk.MakeSetUp()
	require.NoError(o.t, err)
	p := o.stranger()
	p.name = name
	p.post("/begin", object{"token": token, "name": "Packing room", "zone": "America/New_York", "day_start": "05:00",
		"person": name, "pin": pin, "device": "bench computer"}).done()
	p.device, p.session, p.person = p.text("device"), p.text("session.token"), p.text("person")
	return p
}

// get asks for a view and remembers what was seen.
func (p *program) get(path string) *program {
	p.t.Helper()
	p.send(http.MethodGet, path, "", nil)
	require.Equal(p.t, http.StatusOK, p.reply.status, "%s", p.reply.raw)
	if p.reply.at("size") != nil {
		p.seen = p.whole("size")
	}
	return p
}

// post sends a command with a new id, on what was seen last, unless it brings
// its own.
func (p *program) post(path string, body object) *program {
	p.t.Helper()
	if _, ok := body["id"]; !ok {
		body["id"] = newID()
	}
	if _, ok := body["seen"]; !ok {
		body["seen"] = p.seen
	}
	return p.say(path, body)
}

// say sends a body as it is.
func (p *program) say(path string, body object) *program {
	p.t.Helper()
	b, err := json.Marshal(body)
	require.NoError(p.t, err)
	p.said.requireSent(http.MethodPost, "/api/v1"+path, b)
	p.send(http.MethodPost, path, "application/json", b)
	return p
}

// photograph adds a photograph to a record.
func (p *program) photograph(of string, file []byte) *program {
	p.t.Helper()
	body, kind := multipartForm(p.t, "photo", "photo.jpg", file, "id", newID(), "of", of, "seen", strconv.Itoa(p.seen))
	p.send(http.MethodPost, "/photographs", kind, body.Bytes())
	return p
}

// multipartForm is a form with a file and fields, names and values by turns.
func multipartForm(t *testing.T, name, fileName string, file []byte, fields ...string) (body *bytes.Buffer, kind string) {
	t.Helper()
	body = new(bytes.Buffer)
	form := multipart.NewWriter(body)
	for i := 0; i < len(fields); i += 2 {
		require.NoError(t, form.WriteField(fields[i], fields[i+1]))
	}
	part, err := form.CreateFormFile(name, fileName)
	require.NoError(t, err)
	_, err = part.Write(file)
	require.NoError(t, err)
	require.NoError(t, form.Close())
	return body, form.FormDataContentType()
}

// send sends a request to the interface and reads the answer.
func (p *program) send(method, path, kind string, body []byte) {
	p.t.Helper()
	p.browse(method, "/api/v1"+path, kind, bytes.NewReader(body))
	kind, _, err := mime.ParseMediaType(p.reply.header.Get("Content-Type"))
	require.NoError(p.t, err)
	p.said.requireAnswer(method, "/api/v1"+path, p.reply.status, kind, p.reply.raw)
	if strings.HasSuffix(kind, "json") {
		require.NoError(p.t, json.Unmarshal(p.reply.raw, &p.reply.body))
	}
}

// browse sends a request to any address.
func (p *program) browse(method, path, kind string, body io.Reader) *program {
	p.t.Helper()
	r, err := http.NewRequest(method, officeURL+path, body)
	require.NoError(p.t, err)
	r.Header.Set("Content-Type", kind)
	r.Header.Set("X-Tide-Device", p.device)
	if p.sight != "" {
		r.Header.Set("Tidemark-Sight", p.sight)
	}
	if p.session != "" {
		r.Header.Set("Authorization", "Bearer "+p.session)
	}
	return p.do(r)
}

// do sends a request as it is.
func (p *program) do(r *http.Request) *program {
	p.t.Helper()
	answer, err := p.http.Do(r)
	require.NoError(p.t, err)
	defer answer.Body.Close()
	raw, err := io.ReadAll(answer.Body)
	require.NoError(p.t, err)
	p.reply = reply{status: answer.StatusCode, header: answer.Header, raw: raw}
	return p
}

// done wants the last command to be taken.
func (p *program) done() *program {
	p.t.Helper()
	require.Equal(p.t, http.StatusCreated, p.reply.status, "%s: %s", p.name, p.reply.raw)
	return p
}

// refused wants the last command to be refused with a status and a code.
func (p *program) refused(status int, code string) *program {
	p.t.Helper()
	require.Equal(p.t, status, p.reply.status, "%s: %s", p.name, p.reply.raw)
	require.Equal(p.t, code, p.reply.body["code"], "%s", p.reply.raw)
	return p
}

// at reads a value of the last answer by its path, such as "standing.state" or
// "pouches.0.id"; nil if there is none.
func (r *reply) at(path string) any {
	var v any = r.body
	for name := range strings.SplitSeq(path, ".") {
		switch in := v.(type) {
		case map[string]any:
			v = in[name]
		case []any:
			i, err := strconv.Atoi(name)
			if err != nil || i >= len(in) {
				return nil
			}
			v = in[i]
		default:
			return nil
		}
	}
	return v
}

// text is the value at a path as text.
func (p *program) text(path string) string {
	p.t.Helper()
	v := p.reply.at(path)
	require.NotNil(p.t, v, "nothing at %q in %s", path, p.reply.raw)
	if s, ok := v.(string); ok {
		return s
	}
	return fmt.Sprint(v)
}

// whole is the number at a path.
func (p *program) whole(path string) int {
	p.t.Helper()
	n, ok := p.reply.at(path).(float64)
	require.True(p.t, ok, "no number at %q in %s", path, p.reply.raw)
	return int(n)
}

func newID() string {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails
	return hex.EncodeToString(b)
}

// ask gets JSON from a page's own address, which is no part of the interface.
func (p *program) ask(path string) {
	p.t.Helper()
	p.browse(http.MethodGet, path, "", nil)
	require.Equal(p.t, http.StatusOK, p.reply.status, "%s", p.reply.raw)
	require.NoError(p.t, json.Unmarshal(p.reply.raw, &p.reply.body))
}
