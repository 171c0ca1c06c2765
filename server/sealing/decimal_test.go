package sealing_test

import (
	"encoding/json"
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

func TestParseDecimalReadsWhatPeopleType(t *testing.T) {
	for _, c := range []struct{ typed, canonical, dial string }{
		{"180", "180", "180"},
		{" 180 ", "180", "180"},
		{"007", "7", "7"},
		{"6.5", "6.5", "6½"},
		{"6,5", "6.5", "6½"},
		{"6½", "6.5", "6½"},
		{"6 ½", "6.5", "6½"},
		{"6\u00a01/2", "6.5", "6½"},
		{"6 1/2", "6.5", "6½"},
		{"6-1/2", "6.5", "6½"},
		{"6 1⁄2", "6.5", "6½"},
		{"7 3/4", "7.75", "7¾"},
		{"½", "0.5", "½"},
		{"1/2", "0.5", "½"},
		{"-1/2", "-0.5", "-½"},
		{"−7½", "-7.5", "-7½"},
		{"+2.50", "2.5", "2½"},
		{".5", "0.5", "½"},
		{"0,125", "0.125", "⅛"},
		{"3 1/64", "3.015625", "3.015625"},
		{"3 1/16", "3.0625", "3.0625"},
		{"6.3", "6.3", "6.3"},
		{"6.05", "6.05", "6.05"},
		{"0.000", "0", "0"},
		{"123456789.123456", "123456789.123456", "123456789.123456"},
	} {
		d, err := sealing.ParseDecimal(c.typed)
		require.NoError(t, err, c.typed)
		require.Equal(t, c.canonical, d.Canonical(), c.typed)
		require.Equal(t, c.dial, d.Dial(), c.typed)
	}
}

func TestParseDecimalRefusesWhatIsNoNumberOrTwo(t *testing.T) {
	for _, typed := range []string{
		"", " ", "-", ".", ",", "½½", "1½½", "1,500", "-1,500", "1.2.3", "1,2,3", "1.500,5",
		"6.", "6,",
		"61/2/3", "6 1/0", "6 2/2", "7/2", "1/3", "6 2/3", "1234567890", "1.1234567", "1e3", "0x10",
		"NaN", "Inf", "١٨٠", "180C", "six", "6 5", "\u202e180", "--1", "1-2",
	} {
		_, err := sealing.ParseDecimal(typed)
		require.True(t, fault.Is(err, fault.Invalid), "%q gave %v", typed, err)
	}
}

func TestDecimalKeepsTheTypedTextAndComparesByValue(t *testing.T) {
	a, b := decimal(t, "7 1/2"), decimal(t, "7,50")
	require.Equal(t, "7 1/2", a.String())
	require.True(t, a.Equal(b))
	require.Zero(t, a.Cmp(b))
	require.False(t, decimal(t, "1").Equal(decimal(t, "0.1")))
	require.Equal(t, -1, a.Cmp(decimal(t, "7.501")))
	require.Equal(t, 1, a.Cmp(decimal(t, "-8")))
	require.Equal(t, big.NewRat(15, 2), a.Rat())
	require.Equal(t, 7.5, a.Float())
	require.True(t, sealing.Decimal{}.Missing())
	require.False(t, decimal(t, "0").Missing())
}

func TestDecimalTravelsInJSONAsTyped(t *testing.T) {
	out, err := json.Marshal(sealing.Quantity{Value: decimal(t, "7 1/2"), Unit: sealing.Mark})
	require.NoError(t, err)
	require.JSONEq(t, `{"value":"7 1/2","unit":"mark"}`, string(out))

	var back sealing.Quantity
	require.NoError(t, json.Unmarshal(out, &back))
	require.Equal(t, "7½", back.String())
	require.Error(t, json.Unmarshal([]byte(`{"value":"seven"}`), &back))
}

func TestAMessageShowsAtMostTwentyFourCharacters(t *testing.T) {
	_, err := sealing.ParseDecimal("abcdefghijklmnopqrstuvwx")
	require.ErrorContains(t, err, `"abcdefghijklmnopqrstuvwx" is`)
	_, err = sealing.ParseDecimal("abcdefghijklmnopqrstuvwxy")
	require.ErrorContains(t, err, `"abcdefghijklmnopqrstuvwx…" is`)
}

func TestRoundedGoesHalfAwayFromZero(t *testing.T) {
	require.Equal(t, "173", sealing.Rounded(172.5, 0).Canonical())
	require.Equal(t, "-0.3", sealing.Rounded(-0.25, 1).Canonical())
	require.Equal(t, "180", sealing.Rounded(180.0004, 2).String())
	require.True(t, sealing.Rounded(math.NaN(), 0).Missing())
	require.True(t, sealing.Rounded(1e12, 0).Missing())
}

// Every text a Decimal can show is read back as the same number: the canonical
// one, the typed one and the one beside a dial.
func TestEveryTextOfADecimalIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coef := rapid.Int64Range(-1e12, 1e12).Draw(t, "coef")
		places := rapid.IntRange(3, 6).Draw(t, "places")
		d := sealing.Rounded(float64(coef)/math.Pow10(places), places)
		if d.Missing() {
			t.Skip("outside the digits a Decimal takes")
		}
		for _, text := range []string{d.Canonical(), d.String(), d.Dial()} {
			back, err := sealing.ParseDecimal(text)
			if err != nil || !back.Equal(d) || back.Canonical() != d.Canonical() {
				t.Fatalf("%s came back as %s, %v", text, back.Canonical(), err)
			}
		}
	})
}

func FuzzParseDecimal(f *testing.F) {
	for _, s := range []string{"6 1/2", "6,5", "6½", "180", "-1/8", "1,500", "000000001.000001"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		d, err := sealing.ParseDecimal(typed)
		if err != nil {
			require.True(t, fault.Is(err, fault.Invalid))
			return
		}
		for _, text := range []string{d.Canonical(), d.String(), d.Dial()} {
			back, err := sealing.ParseDecimal(text)
			require.NoError(t, err, "%q from %q", text, typed)
			require.True(t, back.Equal(d), "%q from %q", text, typed)
		}
		exact, ok := new(big.Rat).SetString(d.Canonical())
		require.True(t, ok)
		require.Zero(t, exact.Cmp(d.Rat()))
		nearest, _ := exact.Float64()
		require.Equal(t, nearest, d.Float(), "correctly rounded")
	})
}

func decimal(t testing.TB, typed string) sealing.Decimal {
	d, err := sealing.ParseDecimal(typed)
	require.NoError(t, err)
	return d
}
