// Package static is the look of the product: style sheet, scripts, icons and
// page templates, embedded in the binary.
//
// # Assets
//
// Everything under css/, js/ and icons/ is served by Handler below
// /static/<BuildHash>/, and by no other address. BuildHash covers every embedded
// byte, templates too, so an address never changes its content: answers are
// immutable for a year, compressed once at start, and a script may import its
// neighbour by a relative path. A page names an asset as {{asset "css/tide.css"}}.
//
// # Templates
//
// Templates returns the files: partials/ holds the parts that every page shares,
// pages/ one file per page. A page file defines "main" and nothing else; the
// shared layout is the template "page". One set per page file:
//
//	t, err := template.New("page").Funcs(static.Funcs()).
//		ParseFS(static.Templates(), "partials/*.html", "pages/sealer.html")
//	err = t.ExecuteTemplate(buf, "page", data)
//
// data is the page's own struct; it has at least a field Page of the shape
// described in partials/page.html (embed a struct type called Page). What each
// partial takes stands above its {{define}}: the fields by name, with an example.
// A struct must have every field named there; a map made by dict may leave out
// those marked "optional".
//
// Field names double as ids: an input called "value" has the id "value", its
// hint "value-hint", its error "value-bad", and the error summary links to
// #value. A radio button has the id "<name>-<value>" and its fieldset "<name>".
//
// Between the partials a page file writes plain HTML; these classes are all it needs:
//
//	cols             two columns from 768 px on: the setting or facts first, actions last
//	flow             children one below the other, evenly spaced (body and forms are so already)
//	grow             on a form: takes the height left, so that its actions stand within reach
//	card, soft, num  a card; secondary text; figures that stand in line
//	print-only       on paper alone; the attribute data-screen is its opposite
//
// Every form that posts says data-module="once" data-busy="Sending".
//
// # Rules of the house
//
// Every page works without script, by keyboard and with text twice as large. The
// content security policy is 'self' alone, so there is no style attribute, no
// <style>, no inline script and no blob: or data: address anywhere. State is
// never told by colour alone: the band has six shapes and its word beside it.
// Left and right of a sealer are physical: what draws a bar keeps dir="ltr".
//
// # Scripts
//
// js/start.js starts, for each element with data-module="name other", the default
// export of js/name.js with that element. Each module decorates working HTML and
// fails alone. What a module reads stands at its top. A worker for the offline pages belongs
// beside js/ and is not an asset: it needs an address of its own that never changes.
//
// This package knows no page, no rule and no state; it imports nothing of ours.
package static

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"path"
	"sync"
)

//go:embed css js icons templates sw.js
var files embed.FS

// prefix is the folder of every asset address.
const prefix = "/static/"

// Templates returns the page templates: partials/*.html and pages/*.html.
func Templates() fs.FS {
	sub, err := fs.Sub(files, "templates")
	if err != nil {
		panic(err) // the name is a constant and valid
	}
	return sub
}

// URL returns the address of an asset, such as URL("css/tide.css"). It panics when there is
// no such asset: a page that names one is a mistake that a test must find.
func URL(name string) string {
	if _, ok := build().assets[name]; !ok {
		panic("static: no asset " + name)
	}
	return prefix + BuildHash() + "/" + name
}

// Worker returns the script of the worker, to be served as /sw.js. It wants three names before
// it: build, assets and policy.
func Worker() []byte {
	b, err := files.ReadFile("sw.js")
	if err != nil {
		panic(err) // the name is a constant and valid
	}
	return b
}

// BuildHash names this set of assets and templates: 16 hexadecimal digits of the SHA-256 over
// the names and bytes of every embedded file. It is also the name of the offline cache.
func BuildHash() string { return build().hash }

// Names lists every asset, sorted, for whoever fills a cache ahead of time.
func Names() []string { return build().names }

// An asset is one file as it goes over the wire; zipped is nil where it would save nothing.
type asset struct {
	kind   string // Content-Type
	plain  []byte
	zipped []byte
}

type bundle struct {
	hash   string
	names  []string
	assets map[string]asset
}

// build reads and compresses the embedded files once. They are part of the binary, so reading
// them cannot fail at run time in a way that a test run would not have shown.
var build = sync.OnceValue(func() bundle {
	b := bundle{assets: map[string]asset{}}
	sum := sha256.New()
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		fileSum := sha256.Sum256(data)
		sum.Write([]byte(name + "\n"))
		sum.Write(fileSum[:])
		if kind, ok := contentType(name); ok && name != "sw.js" {
			b.names = append(b.names, name)
			data = lean(name, data)
			b.assets[name] = asset{kind: kind, plain: data, zipped: zip(data)}
		}
		return nil
	})
	if err != nil {
		panic("static: read embedded files: " + err.Error())
	}
	b.hash = hex.EncodeToString(sum.Sum(nil))[:16]
	return b
})

// contentType tells what a file is served as; templates are not served. The types are fixed
// here because the table of the operating system differs from one machine to the next.
func contentType(name string) (string, bool) {
	switch path.Ext(name) {
	case ".css":
		return "text/css; charset=utf-8", true
	case ".js":
		return "text/javascript; charset=utf-8", true
	case ".svg":
		return "image/svg+xml", true
	case ".png":
		return "image/png", true
	case ".webmanifest":
		return "application/manifest+json", true
	}
	return "", false
}

func zip(data []byte) []byte {
	var buf bytes.Buffer
	w, err := gzip.NewWriterLevel(&buf, gzip.BestCompression)
	if err != nil {
		panic(err) // the level is a constant and valid
	}
	w.Write(data) // a bytes.Buffer takes everything
	w.Close()
	if buf.Len() >= len(data) {
		return nil
	}
	return buf.Bytes()
}
