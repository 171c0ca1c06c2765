package proof

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/mod/sumdb/note"
)

func TestAKeyChangeIsFollowedFromTheOldKeyToTheNew(t *testing.T) {
	c := testCheckpoint(t)
	first, _, one := testKey(t, origin, 1)
	second, _, two := testKey(t, origin, 2)
	third, _, three := testKey(t, origin, 3)
	a, err := KeyChange{c, one, two}.Sign(first, second)
	require.NoError(t, err)
	later := c
	later.Size++
	b, err := KeyChange{later, two, three}.Sign(second, third)
	require.NoError(t, err)

	k, err := OpenKeyChange(a, one)
	require.NoError(t, err)
	require.Equal(t, KeyChange{c, one, two}, k)
	back, err := KeyChange{Checkpoint{origin, 1, c.Root}, two, three}.Sign(second, third)
	require.NoError(t, err)
	for name, want := range map[string]struct {
		from    string
		changes [][]byte
		to      string
		over    int
	}{
		"none":                       {one, nil, one, 0},
		"one":                        {one, [][]byte{a}, two, 1},
		"both":                       {one, [][]byte{a, b}, three, 2},
		"from the second on":         {two, [][]byte{a, b}, three, 1},
		"the newest needs none":      {three, [][]byte{a, b}, three, 0},
		"one is missing":             {one, [][]byte{b}, one, 0},
		"the second goes back":       {one, [][]byte{a, back}, two, 1},
		"one that nobody can follow": {one, [][]byte{[]byte("?\n"), a}, two, 1},
	} {
		to, over := FollowKeys(want.from, want.changes...)
		require.Equal(t, want.to, to, name)
		require.Equal(t, want.over, over, name)
		require.Equal(t, want.changes, SplitKeyChanges(JoinKeyChanges(want.changes)), name)
	}
}

func TestEveryChangedByteOfAKeyChangeIsNoticed(t *testing.T) {
	first, _, one := testKey(t, origin, 1)
	second, _, two := testKey(t, origin, 2)
	signed, err := KeyChange{testCheckpoint(t), one, two}.Sign(first, second)
	require.NoError(t, err)
	everyChange(signed, func(changed []byte, at int) {
		_, err := OpenKeyChange(changed, one)
		require.Error(t, err, "byte %d", at)
	})
}

func TestAKeyChangeNeedsBothKeysOfOneLedger(t *testing.T) {
	c := testCheckpoint(t)
	first, _, one := testKey(t, origin, 1)
	second, _, two := testKey(t, origin, 2)
	stranger, _, strange := testKey(t, "elsewhere.example", 3)
	k := KeyChange{c, one, two}

	_, err := k.Sign(second, first)
	require.ErrorContains(t, err, "not in order")
	_, err = KeyChange{c, one, strange}.Sign(first, stranger)
	require.ErrorContains(t, err, "cannot speak for")
	_, err = KeyChange{c, one, "no key"}.Sign(first, second)
	require.ErrorContains(t, err, "read public key")
	for name, signers := range map[string][]Signer{"old": {first}, "new": {second}} {
		half, err := note.Sign(&note.Note{Text: k.text()}, signers...)
		require.NoError(t, err)
		_, err = OpenKeyChange(half, one)
		require.ErrorContains(t, err, "just the keys asked for", name)
	}
	for name, text := range map[string]string{
		"checkpoint alone": c.Text(),
		"a line more":      k.text() + "more\n",
		"a line less":      strings.TrimSuffix(k.text(), two+"\n"),
		"no checkpoint":    keyChangeTitle + one + "\n" + two + "\n",
	} {
		signed, err := note.Sign(&note.Note{Text: text}, first, second)
		require.NoError(t, err)
		_, err = OpenKeyChange(signed, one)
		require.Error(t, err, name)
	}
}

func FuzzOpenKeyChange(f *testing.F) {
	first, _, one := testKey(f, origin, 1)
	second, _, two := testKey(f, origin, 2)
	signed, err := KeyChange{testCheckpoint(f), one, two}.Sign(first, second)
	require.NoError(f, err)
	f.Add(signed)
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := OpenKeyChange(data, one); err == nil {
			require.Equal(t, signed, data, "a signature nobody made")
		}
	})
}
