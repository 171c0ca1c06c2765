package labels

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"
)

// Code names a sealer on its label: six random characters and a check
// character, in upper case without a dash.
type Code string

// What can be wrong with a typed code. The texts are for people.
var (
	ErrCodeLength = errors.New("a label code has seven characters, like K7QM-3XK")
	ErrCodeChar   = errors.New("a label code has no A, E, I, L, O, U, 0 or 1 in it; " +
		"look at the label once more")
	ErrCodeCheck = errors.New("one character of this code is not right; " +
		"look at the label once more")
)

// alphabet holds the 28 characters of a code. 0 and O, 1, I and L are left out
// because they are taken for each other on a worn label; the vowels because no
// code on a hospital's wall should happen to spell a word. Six of them make
// 375 million codes whose check character is one of the 28 as well.
const alphabet = "23456789BCDFGHJKMNPQRSTVWXYZ"

const codeLength = 7

// NewCode draws a code. It reads six bytes at a time from random, which should
// be crypto/rand.Reader: a code that can be guessed lets strangers ask for
// sealers by number.
func NewCode(random io.Reader) (Code, error) {
	// A draw is used with a probability of 0.70, so a sound source fails this
	// loop once in 10^52 calls; a stuck one ends it.
	for range 100 {
		var draw [codeLength - 1]byte
		if _, err := io.ReadFull(random, draw[:]); err != nil {
			return "", fmt.Errorf("read random bytes: %w", err)
		}
		if code, ok := codeFrom(draw); ok {
			return code, nil
		}
	}
	return "", errors.New("draw label code: the random source is stuck")
}

// codeFrom maps bytes to characters without bias: a byte beyond the last whole
// multiple of the alphabet spoils the draw. So does a check character outside
// the alphabet, which would bring the look-alikes back.
func codeFrom(draw [codeLength - 1]byte) (Code, bool) {
	code := make([]byte, 0, codeLength)
	for _, b := range draw {
		if int(b) >= 256/len(alphabet)*len(alphabet) {
			return "", false
		}
		code = append(code, alphabet[int(b)%len(alphabet)])
	}
	check := checkCharacter(string(code))
	return Code(append(code, check)), strings.IndexByte(alphabet, check) >= 0
}

// ParseCode reads a code as people and hand scanners enter it: in either case,
// with spaces and dashes, or as the whole address from the label. The error is
// one of ErrCodeLength, ErrCodeChar, ErrCodeCheck.
func ParseCode(typed string) (Code, error) {
	if i := strings.IndexAny(typed, "?#"); i >= 0 {
		typed = typed[:i]
	}
	typed = strings.TrimRight(typed, "/ \t\r\n")
	typed = typed[strings.LastIndexByte(typed, '/')+1:]
	code := strings.ToUpper(strings.Map(dropSeparator, typed))

	switch {
	case len([]rune(code)) != codeLength:
		return "", ErrCodeLength
	case strings.Trim(code, alphabet) != "":
		return "", ErrCodeChar
	case checkCharacter(code[:codeLength-1]) != code[codeLength-1]:
		return "", ErrCodeCheck
	}
	return Code(code), nil
}

func dropSeparator(r rune) rune {
	if unicode.IsSpace(r) || unicode.Is(unicode.Dash, r) {
		return -1
	}
	return r
}

// Grouped returns the code as it is printed: K7QM-3XK.
func (c Code) Grouped() string {
	if len(c) != codeLength {
		return string(c)
	}
	return string(c[:4] + "-" + c[4:])
}

// iso7064 gives the values of characters: '0' is 0, 'A' is 10, 'Z' is 35.
const iso7064 = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// checkCharacter returns the check character of ISO 7064, MOD 37,36, for a text
// of 0-9 and A-Z, by the recursive method for hybrid systems with M = 36. It
// notices every single wrong character.
func checkCharacter(text string) byte {
	const m = len(iso7064)
	p := m
	for i := range len(text) {
		sum := (p + strings.IndexByte(iso7064, text[i])) % m
		if sum == 0 {
			sum = m
		}
		p = 2 * sum % (m + 1)
	}
	return iso7064[(m+1-p)%m]
}
