package static

import (
	"net/http"
	"strconv"
	"strings"
)

// Handler serves the assets: GET and HEAD of /static/<BuildHash>/<name>, with the content type,
// immutable for a year, as gzip where the browser takes it. Any other address is 404 and not
// to be stored, so that a page of an older build does not pin a miss.
func Handler() http.Handler {
	root := prefix + BuildHash() + "/"
	assets := build().assets
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name, ours := strings.CutPrefix(r.URL.Path, root)
		a, known := assets[name]
		switch {
		case !ours || !known:
			w.Header().Set("Cache-Control", "no-store")
			http.Error(w, "no such file", http.StatusNotFound)
		case r.Method != http.MethodGet && r.Method != http.MethodHead:
			w.Header().Set("Allow", "GET, HEAD")
			http.Error(w, "only GET and HEAD", http.StatusMethodNotAllowed)
		default:
			a.serve(w, takesGzip(r.Header.Get("Accept-Encoding")))
		}
	})
}

func (a asset) serve(w http.ResponseWriter, gzip bool) {
	body, h := a.plain, w.Header()
	if a.zipped != nil {
		h.Set("Vary", "Accept-Encoding")
		if gzip {
			h.Set("Content-Encoding", "gzip")
			body = a.zipped
		}
	}
	h.Set("Content-Type", a.kind)
	h.Set("Content-Length", strconv.Itoa(len(body)))
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("X-Content-Type-Options", "nosniff")
	w.Write(body) // a reader that went away is no news; net/http drops the body of a HEAD
}

// takesGzip reads an Accept-Encoding header (RFC 9110, 12.5.3): gzip is named, or covered by
// "*", and not with a weight of zero.
func takesGzip(accept string) bool {
	star := false
	for part := range strings.SplitSeq(accept, ",") {
		coding, weight, _ := strings.Cut(part, ";")
		wanted := !isZeroWeight(weight)
		switch strings.ToLower(strings.TrimSpace(coding)) {
		case "gzip", "x-gzip":
			return wanted
		case "*":
			star = wanted
		}
	}
	return star
}

// isZeroWeight tells whether a parameter like " q=0.000" refuses its coding.
func isZeroWeight(param string) bool {
	name, value, _ := strings.Cut(strings.TrimSpace(param), "=")
	q, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	return strings.EqualFold(strings.TrimSpace(name), "q") && err == nil && q == 0
}
