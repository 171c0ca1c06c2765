package people

import (
	"strings"

	"tidemark/server/fault"
)

const pinDigits = 6

// refusePIN says why a PIN cannot be chosen: nil, or a fault on the field
// "pin". It refuses the shapes that guessers try first; it knows nothing of
// birthdays, which would be one PIN in thirty.
func refusePIN(pin string) error {
	switch {
	case !sixDigits(pin):
		return notSixDigits()
	case distinct(pin) < 3:
		return tooEasy("it has fewer than three different digits")
	case evenSteps(pin):
		return tooEasy("its digits count up or down")
	case pin[:3] == pin[3:] || pin[:3] == reversed(pin[3:]):
		return tooEasy("its second half repeats the first")
	case pin[0] == pin[1] && pin[2] == pin[3] && pin[4] == pin[5]:
		return tooEasy("it is made of double digits")
	case keypadLine(pin[:3]) && keypadLine(pin[3:]):
		return tooEasy("it follows the rows of the keypad")
	}
	return nil
}

func notSixDigits() error { return fault.Field("pin", "A PIN is six digits, 0 to 9.") }

func tooEasy(why string) error {
	return fault.Field("pin", "This PIN is easy to guess: %s. Choose six digits in no order.", why)
}

func sixDigits(pin string) bool {
	return len(pin) == pinDigits && strings.Trim(pin, "0123456789") == ""
}

func distinct(pin string) int {
	n := 0
	for d := '0'; d <= '9'; d++ {
		if strings.ContainsRune(pin, d) {
			n++
		}
	}
	return n
}

// evenSteps reports whether each digit is the one before plus the same number,
// 9 being followed by 0: 345678, 654321, 890123, 135791.
func evenSteps(pin string) bool {
	for i := 2; i < len(pin); i++ {
		if (pin[i]-pin[i-1]+10)%10 != (pin[1]-pin[0]+10)%10 {
			return false
		}
	}
	return true
}

// keypadLine reports whether three digits are a row, a column or a diagonal of
// a telephone keypad, in either direction.
func keypadLine(three string) bool {
	const lines = "123 456 789 147 258 369 159 357"
	return strings.Contains(lines, three) || strings.Contains(lines, reversed(three))
}

func reversed(s string) string {
	b := make([]byte, len(s))
	for i := range b {
		b[i] = s[len(s)-1-i]
	}
	return string(b)
}
