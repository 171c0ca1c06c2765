package packlist

import (
	"bufio"
	"bytes"
	"io"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"tidemark/server/fault"
)

// Separators lists what can stand between cells.
func Separators() []string { return []string{",", ";", "\t", "|"} }

var decoders = map[string]encoding.Encoding{
	"windows-1252": charmap.Windows1252, "iso-8859-1": charmap.ISO8859_1,
	"utf-16": unicode.UTF16(unicode.LittleEndian, unicode.UseBOM),
}

var bom = []byte("\uFEFF")

// utf8 makes UTF-8 of a list that is written in another way, and takes off the
// mark that some programs put first.
func utf8Of(r io.Reader, encoding string) (*bufio.Reader, error) {
	if d, ok := decoders[encoding]; ok {
		r = d.NewDecoder().Reader(r)
	} else if encoding != "utf-8" && encoding != "" {
		return nil, fault.Field("encoding", "Choose how the file is written.")
	}
	b := bufio.NewReaderSize(r, 64<<10)
	if head, _ := b.Peek(len(bom)); bytes.Equal(head, bom) {
		_, _ = b.Discard(len(bom)) // was peeked
	}
	return b, nil
}

// separatorOf is the one that the first line has most of.
func separatorOf(line string) string {
	best := ","
	for _, s := range Separators() {
		if strings.Count(line, s) > strings.Count(line, best) {
			best = s
		}
	}
	return best
}

// EncodingOf looks at the beginning of a list: one with a UTF-16 mark says so
// itself, anything else is UTF-8 until somebody states otherwise.
func EncodingOf(head []byte) string {
	if bytes.HasPrefix(head, []byte{0xff, 0xfe}) || bytes.HasPrefix(head, []byte{0xfe, 0xff}) {
		return "utf-16"
	}
	return "utf-8"
}

// Head is the beginning of a list as text, up to the last whole line.
func Head(b []byte, encoding string) string {
	r, err := utf8Of(bytes.NewReader(b), encoding)
	if err != nil {
		return ""
	}
	text, err := io.ReadAll(r)
	if err != nil && len(text) == 0 {
		return ""
	}
	if end := bytes.LastIndexByte(text, '\n'); end > 0 {
		text = text[:end+1]
	}
	return strings.ToValidUTF8(string(text), "\uFFFD")
}

// SeparatorOf is the one that the first line has most of.
func SeparatorOf(text string) string {
	line, _, _ := strings.Cut(text, "\n")
	return separatorOf(line)
}

// signs are words that columns are often called by, the surest first.
var signs = map[string][]string{
	"sealer": {"sealer", "device", "machine", "station"},
	"date":   {"sealed", "date", "sterilized", "sterilised", "printed", "time"},
	"clock":  {"clock", "time"},
	"pouch":  {"pouch", "packaging", "material"},
	"load":   {"load", "batch", "cycle", "charge"},
	"pack":   {"pack number", "pack no", "pack id", "barcode", "serial", "pack"},
	"count":  {"count", "quantity", "packs", "number of"},
}

// Guess is the column that may be meant, "" if none looks like it. A column that
// a surer guess takes is left to it.
func Guess(header []string, what string) string {
	for _, sign := range signs[what] {
		for _, name := range header {
			low := strings.ToLower(name)
			if strings.Contains(low, sign) && !taken(header, name, what) {
				return name
			}
		}
	}
	return ""
}

// taken keeps one column from being guessed for two things.
func taken(header []string, name, what string) bool {
	order := []string{"sealer", "date", "clock", "pouch", "load", "count", "pack"}
	for _, before := range order {
		if before == what {
			return false
		}
		if Guess(header, before) == name {
			return true
		}
	}
	return false
}
