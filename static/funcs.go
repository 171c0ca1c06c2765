package static

import (
	"fmt"
	"html/template"
	"strings"
)

// Funcs are the few helpers that templates need:
//
//	asset "css/tide.css"          the address of an asset
//	dict "Text" .Name "Big" true  a map, to hand a partial its fields
//	list 1 2 3                    a slice
//	dialText "7 1/2"              "7½": how a value is drawn; never changes a decimal
func Funcs() template.FuncMap {
	return template.FuncMap{
		"asset":    URL,
		"dict":     dict,
		"list":     func(items ...any) []any { return items },
		"dialText": DialText,
	}
}

func dict(pairs ...any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("build dict: %d arguments, want name and value by turns", len(pairs))
	}
	m := make(map[string]any, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("build dict: name %v is not a string", pairs[i])
		}
		m[name] = pairs[i+1]
	}
	return m, nil
}

// fractions are those that have a character of their own (Unicode, block Number Forms and
// Latin-1 Supplement).
var fractions = map[string]string{
	"1/2": "½", "1/3": "⅓", "2/3": "⅔", "1/4": "¼", "3/4": "¾",
	"1/5": "⅕", "2/5": "⅖", "3/5": "⅗", "4/5": "⅘", "1/6": "⅙", "5/6": "⅚",
	"1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞",
}

// DialText draws a typed setting as a control shows it: "7 1/2" becomes "7½" and "1/2" becomes
// "½". Everything else stays letter for letter: a display that reads 7.5 is not a dial at 7½,
// and "7 3/16" without its space would read as 73 sixteenths.
func DialText(value string) string {
	whole, part, mixed := strings.Cut(value, " ")
	if !mixed {
		whole, part = "", value
	}
	drawn, ok := fractions[part]
	if !ok || strings.Trim(whole, "0123456789") != "" {
		return value
	}
	return whole + drawn
}
