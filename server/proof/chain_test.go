package proof

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestChainsThatAreWholeTellWhereTheyBegin(t *testing.T) {
	from, err := CheckChains([]Link{
		{0, None, "sealer:1"}, {2, None, "sealer:2"}, {3, 0, "sealer:1"},
		{7, 2, "sealer:2"}, {9, 4, "problem:1"}, {12, 3, "sealer:1"},
	})
	require.NoError(t, err)
	require.Equal(t, map[string]int64{"sealer:1": None, "sealer:2": None, "problem:1": 4}, from)
}

func TestLinksThatCannotBeAreRefused(t *testing.T) {
	for name, links := range map[string][]Link{
		"same number twice":      {{3, None, "a"}, {3, None, "b"}},
		"numbers fall":           {{3, None, "a"}, {2, None, "b"}},
		"negative number":        {{-1, None, "a"}},
		"goes on from itself":    {{3, 3, "a"}},
		"goes on from a later":   {{3, 4, "a"}},
		"goes on from below":     {{3, -2, "a"}},
		"begins twice":           {{3, None, "a"}, {4, None, "a"}},
		"skips one given":        {{1, None, "a"}, {2, 1, "a"}, {3, 1, "a"}},
		"goes on from a foreign": {{1, None, "a"}, {2, 1, "b"}},
	} {
		_, err := CheckChains(links)
		require.ErrorContains(t, err, "check chains", name)
	}
}

// A chain is built as a ledger would; then one link inside it is left out.
func TestALinkLeftOutOfAnyChainIsNoticed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		newest := map[string]int64{}
		var links []Link
		for seq := range int64(rapid.IntRange(3, 60).Draw(t, "links")) {
			l := Link{seq, None, fmt.Sprint(rapid.IntRange(1, 3).Draw(t, "subject"))}
			if prev, ok := newest[l.Subject]; ok {
				l.Prev = prev
			}
			newest[l.Subject] = seq
			links = append(links, l)
		}
		_, err := CheckChains(links)
		require.NoError(t, err)

		out := rapid.IntRange(0, len(links)-1).Draw(t, "left out")
		gone := links[out]
		from, err := CheckChains(append(links[:out:out], links[out+1:]...))
		switch {
		case newest[gone.Subject] == gone.Seq: // the last one: links cannot tell
			require.NoError(t, err)
		case gone.Prev == None: // the first one: the new beginning tells
			require.NoError(t, err)
			require.Equal(t, gone.Seq, from[gone.Subject])
		default:
			require.Error(t, err)
		}
	})
}
