package static

import (
	"bytes"
	"path"
	"regexp"
)

// lean takes from a script or a style sheet what only people read: lines that are
// a comment, comments of a style sheet, indents and empty lines. They would be
// half of what a weak phone loads. Scripts here hold no text over several lines;
// a test keeps it so.
func lean(name string, data []byte) []byte {
	switch path.Ext(name) {
	case ".css":
		data = cssComment.ReplaceAll(data, nil)
	case ".js":
	default:
		return data
	}
	var out []byte
	for line := range bytes.Lines(data) {
		line = bytes.TrimSpace(line)
		if len(line) == 0 || path.Ext(name) == ".js" && bytes.HasPrefix(line, []byte("//")) {
			continue
		}
		out = append(append(out, line...), '\n')
	}
	return out
}

var cssComment = regexp.MustCompile(`(?s)/\*.*?\*/`)
