package sealing

import (
	"cmp"
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"tidemark/server/fault"
)

// Decimal is an exact decimal number together with the text it was typed as:
// "7 1/2", "6,5", "6½" or "180". Two decimals are the same number when Equal
// says so; == also compares the text. The zero Decimal means that nothing was
// typed; its value is 0.
type Decimal struct {
	text  string
	coef  int64 // value = coef / 10^scale, no trailing zero in coef
	scale int
}

// The forms that are read, after runs of any white space became one space. At
// most nine digits before and six after the mark keep every coef below 10^15,
// so that Float is correctly rounded.
var (
	plainForm    = regexp.MustCompile(`^([+\-−]?)(\d{0,9})(?:[.,](\d{1,6}))?$`)
	slashForm    = regexp.MustCompile(`^([+\-−]?)(?:(\d{1,9})[ \-])?(\d{1,2})[/⁄](\d{1,2})$`)
	vulgarForm   = regexp.MustCompile(`^([+\-−]?)(\d{0,9}) ?([½¼¾⅛⅜⅝⅞])$`)
	thousandForm = regexp.MustCompile(`^[+\-−]?[1-9]\d{0,2},\d{3}$`)
)

// vulgar lists the single-character fractions in thousandths.
var vulgar = map[string]int64{
	"⅛": 125, "¼": 250, "⅜": 375, "½": 500, "⅝": 625, "¾": 750, "⅞": 875,
}

// ParseDecimal reads a number as people type it: "180", "6.5", "6,5", "6 1/2",
// "6-1/2", "6½", "1/2", with an optional sign. It refuses, as a
// [fault.Invalid], what could be read in two ways ("1,500"), a fraction that is
// no finite decimal (1/3) or not below one (7/2), and more than nine digits
// before or six after the decimal mark. ParseDecimal(d.Canonical()) and
// ParseDecimal(d.String()) give d's value back for every d it made.
func ParseDecimal(typed string) (Decimal, error) {
	text := strings.Join(strings.Fields(typed), " ")
	if text == "" {
		return Decimal{}, fault.New(fault.Invalid, "Type a number.")
	}
	if thousandForm.MatchString(text) {
		return Decimal{}, fault.New(fault.Invalid,
			"%s can be read in two ways. Type a point, or leave the comma out.", quote(text))
	}
	if m := plainForm.FindStringSubmatch(text); m != nil && m[2]+m[3] != "" {
		return makeDecimal(text, m[1], digits(m[2]+m[3]), len(m[3])), nil
	}
	if m := vulgarForm.FindStringSubmatch(text); m != nil {
		return makeDecimal(text, m[1], digits(m[2])*1000+vulgar[m[3]], 3), nil
	}
	if m := slashForm.FindStringSubmatch(text); m != nil {
		return parseFraction(text, m)
	}
	return Decimal{}, fault.New(fault.Invalid,
		"%s is not a number this field takes. Type it like 180, 6.5 or 6 1/2.", quote(text))
}

// parseFraction reads the parts of slashForm: sign, whole, numerator,
// denominator.
func parseFraction(text string, m []string) (Decimal, error) {
	const million = 1_000_000 // 1/64 is .015625
	num, den := digits(m[3]), digits(m[4])
	if den == 0 || num >= den {
		return Decimal{}, fault.New(fault.Invalid,
			"%s is not a fraction below one. Type it like 6 1/2.", quote(text))
	}
	if num*million%den != 0 {
		return Decimal{}, fault.New(fault.Invalid,
			"%s has no exact decimal. Type it like 6.3.", quote(text))
	}
	return makeDecimal(text, m[1], digits(m[2])*million+num*million/den, 6), nil
}

// makeDecimal applies the sign and removes trailing zeros.
func makeDecimal(text, sign string, coef int64, scale int) Decimal {
	if sign == "-" || sign == "−" {
		coef = -coef
	}
	for scale > 0 && coef%10 == 0 {
		coef, scale = coef/10, scale-1
	}
	return Decimal{text: text, coef: coef, scale: scale}
}

// Whole makes the Decimal of a whole number.
func Whole(n int64) Decimal { return Decimal{text: strconv.FormatInt(n, 10), coef: n} }

// Rounded makes the Decimal nearest to x with that many places, 0 to 6, halves
// away from zero: the way a computed figure becomes a value to propose. It is
// the zero Decimal when x is not a number or 1e9 and more.
func Rounded(x float64, places int) Decimal {
	if math.IsNaN(x) || math.Abs(x) >= 1e9 {
		return Decimal{}
	}
	places = min(max(places, 0), 6)
	d := makeDecimal("", "", int64(math.Round(x*math.Pow10(places))), places)
	d.text = d.Canonical()
	return d
}

// Missing reports that nothing was typed.
func (d Decimal) Missing() bool { return d.text == "" }

// Canonical returns the shortest plain decimal: "7.5", "-0.25", "180". Equal
// decimals have equal canonical texts.
func (d Decimal) Canonical() string {
	s := strconv.FormatInt(max(d.coef, -d.coef), 10)
	if d.scale > 0 {
		s = strings.Repeat("0", max(0, d.scale+1-len(s))) + s
		s = s[:len(s)-d.scale] + "." + s[len(s)-d.scale:]
	}
	if d.coef < 0 {
		return "-" + s
	}
	return s
}

// String returns the text as it was typed, white space tidied.
func (d Decimal) String() string { return d.text }

// Dial returns the number as it stands beside a dial: "7½", "¼", "6.3".
func (d Decimal) Dial() string {
	whole, thousandths := d.coef, int64(0)
	for range d.scale {
		whole /= 10
	}
	if d.scale <= 3 {
		thousandths = max(d.coef, -d.coef) * pow10(3-d.scale) % 1000
	}
	for glyph, value := range vulgar {
		if value != thousandths {
			continue
		}
		sign := ""
		if d.coef < 0 {
			sign = "-"
		}
		if whole == 0 {
			return sign + glyph
		}
		return strconv.FormatInt(whole, 10) + glyph
	}
	return d.Canonical()
}

// Equal reports whether d and e are the same number, however typed.
func (d Decimal) Equal(e Decimal) bool { return d.coef == e.coef && d.scale == e.scale }

// Cmp returns -1, 0 or +1 as d is below, equal to or above e.
func (d Decimal) Cmp(e Decimal) int {
	if d.scale == e.scale {
		return cmp.Compare(d.coef, e.coef)
	}
	return d.Rat().Cmp(e.Rat())
}

// Rat returns the value as an exact fraction of the caller's own.
func (d Decimal) Rat() *big.Rat { return big.NewRat(d.coef, pow10(d.scale)) }

// Float returns the float64 nearest to the value, for predictions only.
func (d Decimal) Float() float64 { return float64(d.coef) / float64(pow10(d.scale)) }

// MarshalText writes the text as typed.
func (d Decimal) MarshalText() ([]byte, error) { return []byte(d.text), nil }

// UnmarshalText reads what ParseDecimal reads, and "" as the zero Decimal.
func (d *Decimal) UnmarshalText(b []byte) (err error) {
	if len(b) == 0 {
		*d = Decimal{}
		return nil
	}
	*d, err = ParseDecimal(string(b))
	return err
}

// digits reads ASCII digits that a form has already vetted; "" is 0.
func digits(s string) (n int64) {
	for _, c := range s {
		n = 10*n + int64(c-'0')
	}
	return n
}

func pow10(n int) int64 { return int64(math.Pow10(n)) }

// quote shows what was typed in a message, cut so that it cannot fill a page.
func quote(s string) string {
	if r := []rune(s); len(r) > 24 {
		s = string(r[:24]) + "…"
	}
	return strconv.Quote(s)
}
