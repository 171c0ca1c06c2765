package static_test

import (
	"html/template"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"

	"tidemark/static"
)

func TestDialText(t *testing.T) {
	for typed, drawn := range map[string]string{
		"7 1/2": "7½", "1/2": "½", "12 3/4": "12¾", "6 1/3": "6⅓", "0 7/8": "0⅞",
		"7": "7", "180": "180", "": "",
		"7.5":    "7.5",    // a display that shows 7.5 must not be told as a dial
		"7,5":    "7,5",    // nor in a country with a comma
		"7 3/16": "7 3/16", // no character of its own: 73/16 would be another number
		"A 1/2":  "A 1/2",  // a letter is no whole number
		"-1 1/2": "-1 1/2", // a sign neither
		"7  1/2": "7  1/2", // not how anybody types it: left alone
		"II":     "II",
		"1/2 °C": "1/2 °C",
	} {
		require.Equalf(t, drawn, static.DialText(typed), "%q", typed)
	}
}

// Every drawn fraction means what was typed: its compatibility decomposition in the Unicode
// Character Database is the digits around U+2044.
func TestDrawnFractionsMeanWhatWasTyped(t *testing.T) {
	count := 0
	for over := '1'; over <= '9'; over++ {
		for under := '2'; under <= '9'; under++ {
			typed := string([]rune{over, '/', under})
			drawn := static.DialText(typed)
			if drawn == typed {
				continue
			}
			count++
			require.Equal(t, typed, strings.ReplaceAll(norm.NFKD.String(drawn), "\u2044", "/"))
		}
	}
	require.Equal(t, 15, count, "fractions that can be drawn")
}

func TestDictRefusesHalfAPair(t *testing.T) {
	for _, text := range []string{`{{dict "A"}}`, `{{dict 1 2}}`} {
		tmpl, err := template.New("").Funcs(static.Funcs()).Parse(text)
		require.NoError(t, err)
		require.Error(t, tmpl.Execute(&strings.Builder{}, nil))
	}
}
