package record

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"sort"
	"strconv"
	"strings"
)

// coder writes a JSON object field by field, or reads what it has written, by
// the same list of fields. It is by hand: encoding/json took a fifth of the
// ledger's append and most of the time of a replay. As a reader it may take more
// than it writes; Parse writes again and compares.
type coder struct {
	reading bool
	b       []byte // written so far, or still to be read
	comma   bool   // a field went before
	bad     bool   // what was read makes no sense
}

// object writes or reads an object in the place of a value.
func (c *coder) object(fields func(*coder)) {
	c.raw('{')
	outer := c.comma
	c.comma = false
	fields(c)
	c.comma = outer
	c.raw('}')
}

func (c *coder) raw(char byte) {
	switch {
	case !c.reading:
		c.b = append(c.b, char)
	case len(c.b) > 0 && c.b[0] == char:
		c.b = c.b[1:]
	default:
		c.bad = true
	}
}

// key writes the key of a field that has something to say, or reports whether
// it comes next.
func (c *coder) key(k string, says bool) bool {
	if c.reading {
		return c.readKey(k)
	}
	if !says {
		return false
	}
	if c.comma {
		c.b = append(c.b, ',')
	}
	c.comma = true
	c.b = append(append(append(c.b, '"'), k...), '"', ':')
	return true
}

func (c *coder) readKey(k string) bool {
	b := c.b
	if c.comma {
		if len(b) == 0 || b[0] != ',' {
			return false
		}
		b = b[1:]
	}
	n := len(k) + 3
	if len(b) < n || b[0] != '"' || string(b[1:n-2]) != k || b[n-2] != '"' || b[n-1] != ':' {
		return false
	}
	c.b, c.comma = b[n:], true
	return true
}

// text is a field with a string, left out if empty.
func text[T ~string](c *coder, k string, v *T) {
	if c.key(k, *v != "") {
		if c.reading {
			*v = T(c.readString())
			return
		}
		c.writeString(string(*v))
	}
}

func (c *coder) writeString(s string) {
	if plain(s) {
		c.b = append(append(append(c.b, '"'), s...), '"')
		return
	}
	quoted, _ := json.Marshal(strings.ToValidUTF8(s, "\ufffd")) // a string always has a form
	c.b = append(c.b, quoted...)
}

func plain(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			return false
		}
	}
	return true
}

// readString reads a string with its quotes.
func (c *coder) readString() (s string) {
	n := valueLength(c.b)
	if n < 2 || c.b[0] != '"' {
		c.bad = true
		return ""
	}
	quoted := c.b[:n]
	c.b = c.b[n:]
	if bytes.IndexByte(quoted, '\\') < 0 {
		return string(quoted[1 : n-1])
	}
	if json.Unmarshal(quoted, &s) != nil {
		c.bad = true
	}
	return s
}

// valueLength is how far the JSON value at the beginning of b goes, 0 if it has
// no end. What is between its brackets is not looked at.
func valueLength(b []byte) int {
	depth, quoted := 0, false
	for i := 0; i < len(b); i++ {
		switch char := b[i]; {
		case quoted:
			if char == '\\' {
				i++
				continue
			}
			quoted = char != '"'
		case char == '"':
			quoted = true
		case char == '{' || char == '[':
			depth++
			continue
		case char == '}' || char == ']':
			depth--
		default:
			continue
		}
		if depth == 0 && !quoted {
			return i + 1
		}
	}
	return 0
}

// whole is a field with a number; one that is not always there is left out if
// it is none.
func whole[T ~int | ~int64](c *coder, k string, v *T, none T, always bool) {
	if !c.key(k, always || *v != none) {
		if c.reading && !always {
			*v = none
		}
		return
	}
	if c.reading {
		*v = T(c.readNumber())
		return
	}
	c.b = strconv.AppendInt(c.b, int64(*v), 10)
}

func (c *coder) readNumber() int64 {
	end := 0
	for end < len(c.b) && (c.b[end] == '-' || c.b[end] >= '0' && c.b[end] <= '9') {
		end++
	}
	n, err := strconv.ParseInt(string(c.b[:end]), 10, 64)
	c.bad = c.bad || err != nil
	c.b = c.b[end:]
	return n
}

// yes is a field that says true or is left out.
func (c *coder) yes(k string, v *bool) {
	if !c.key(k, *v) {
		return
	}
	if c.reading {
		c.b, *v = bytes.TrimPrefix(c.b, []byte("true")), true
		return
	}
	c.b = append(c.b, "true"...)
}

// simple are values that append themselves inside quotes.
type simple[T any] interface {
	*T
	append([]byte) []byte
	UnmarshalText([]byte) error
}

// quoted is a field with such a value; unless it is always there it is left out
// if it is zero.
func quoted[T comparable, P simple[T]](c *coder, k string, v P, always bool) {
	var zero T
	if !c.key(k, always || *v != zero) {
		return
	}
	if !c.reading {
		c.b = append(v.append(append(c.b, '"')), '"')
		return
	}
	n := valueLength(c.b)
	if n < 2 || c.b[0] != '"' || v.UnmarshalText(c.b[1:n-1]) != nil {
		c.bad = true
		return
	}
	c.b = c.b[n:]
}

// list is a field with numbers of records, left out if there are none.
func (c *coder) list(k string, v *[]Seq) {
	if !c.key(k, len(*v) > 0) {
		return
	}
	c.raw('[')
	for i := 0; c.more(i, i < len(*v)); i++ {
		if c.reading {
			*v = append(*v, Seq(c.readNumber()))
		} else {
			c.b = strconv.AppendInt(c.b, int64((*v)[i]), 10)
		}
	}
	c.raw(']')
}

// more reports whether a list has an element i, and deals with the comma.
func (c *coder) more(i int, has bool) bool {
	if c.reading {
		has = !c.bad && len(c.b) > 0 && c.b[0] != ']'
	}
	if has && i > 0 {
		c.raw(',')
	}
	return has
}

// value is a field with a JSON value that is kept as it is.
func (c *coder) value(k string, v *json.RawMessage) {
	if !c.key(k, true) {
		return
	}
	if !c.reading {
		c.b = append(c.b, *v...)
		return
	}
	n := valueLength(c.b)
	c.bad = c.bad || n == 0
	*v, c.b = append(json.RawMessage(nil), c.b[:n]...), c.b[n:]
}

// sealed is a field with commitments by name, in order of name.
func (c *coder) sealed(k string, m *Sealed) {
	if !c.key(k, len(*m) > 0) {
		return
	}
	if c.reading {
		n := valueLength(c.b)
		c.bad = c.bad || n == 0 || json.Unmarshal(c.b[:n], m) != nil
		c.b = c.b[n:]
		return
	}
	names := make([]string, 0, len(*m))
	for name := range *m {
		names = append(names, name)
	}
	sort.Strings(names)
	c.object(func(c *coder) {
		for _, name := range names {
			commitment := (*m)[name]
			digits := hex.EncodeToString(commitment[:])
			text(c, name, &digits)
		}
	})
}
