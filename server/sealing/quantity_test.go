package sealing_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

func TestParseQuantityTakesTheTypedUnitOrTheAssumedOne(t *testing.T) {
	for _, c := range []struct {
		typed   string
		assumed sealing.Unit
		want    string
	}{
		{"180", sealing.Celsius, "180 °C"},
		{"180 °F", sealing.Celsius, "180 °F"},
		{"180F", sealing.Celsius, "180 °F"},
		{"180 deg C", sealing.Fahrenheit, "180 °C"},
		{"180º C", sealing.Fahrenheit, "180 °C"},
		{"180 ℃", sealing.Fahrenheit, "180 °C"},
		{"356.5 Fahrenheit", sealing.Celsius, "356.5 °F"},
		{"6 1/2", sealing.Mark, "6½"},
		{"0.8 sec", sealing.Seconds, "0.8 s"},
		{"1,5 N/15 mm", sealing.PoundsPerInch, "1,5 N/15 mm"},
		{"10 m/min", sealing.MetresPerMin, "10 m/min"},
		{"1/4 in", sealing.Millimetres, "1/4 in"},
		{"60 PSI", sealing.Kilopascals, "60 psi"},
	} {
		q, err := sealing.ParseQuantity(c.typed, c.assumed)
		require.NoError(t, err, c.typed)
		require.Equal(t, c.want, q.String(), c.typed)
	}
}

func TestParseQuantityRefusesAnotherDimensionAndUnknownUnits(t *testing.T) {
	for typed, assumed := range map[string]sealing.Unit{
		"180 s": sealing.Celsius, "6 1/2 °C": sealing.Mark, "180 K": sealing.Celsius,
		"°C": sealing.Celsius, "180 °C 5": sealing.Celsius, "5 °": sealing.Celsius,
		"1.5 N": sealing.NewtonsPer15mm, "": sealing.Seconds,
	} {
		_, err := sealing.ParseQuantity(typed, assumed)
		require.True(t, fault.Is(err, fault.Invalid), "%q gave %v", typed, err)
	}
}

func TestARefusalSaysHowToTypeIt(t *testing.T) {
	_, err := sealing.ParseQuantity("6 1/2 °C", sealing.Mark)
	require.EqualError(t, err, `"6 1/2 °C": type the mark alone, like 6 1/2.`)
	_, err = sealing.ParseQuantity(" 180 s", sealing.Celsius)
	require.EqualError(t, err, `"180 s" is not a temperature. Type it in °C.`)
}

// Source: NIST SP 811 (2008), Appendix B: t/°C = (t/°F - 32)/1.8, exact;
// 1 lbf = 4.4482216152605 N and 1 in = 25.4 mm, exact, so that
// 1 lbf/in = 2.62690252869715 N/15 mm; 1 psi = 6.894757 kPa; 1 ft = 0.3048 m.
func TestUnitsConvertExactly(t *testing.T) {
	for _, c := range []struct {
		value    string
		from, to sealing.Unit
		want     string
	}{
		{"120", sealing.Celsius, sealing.Fahrenheit, "248"},
		{"130", sealing.Celsius, sealing.Fahrenheit, "266"},
		{"165", sealing.Celsius, sealing.Fahrenheit, "329"},
		{"170", sealing.Celsius, sealing.Fahrenheit, "338"},
		{"200", sealing.Celsius, sealing.Fahrenheit, "392"},
		{"250", sealing.Fahrenheit, sealing.Celsius, "1090/9"},
		{"10", sealing.FeetPerMin, sealing.MetresPerMin, "3.048"},
		{"1/4", sealing.Inches, sealing.Millimetres, "6.35"},
		{"0.4", sealing.Bars, sealing.Kilopascals, "40"},
	} {
		q, err := sealing.Q(c.value, c.from)
		require.NoError(t, err)
		got, err := q.Exact(c.to)
		require.NoError(t, err)
		want, ok := new(big.Rat).SetString(c.want)
		require.True(t, ok)
		require.Zero(t, want.Cmp(got), "%s is %s %s, want %s", q, got, c.to, c.want)
	}
	newtons := in(t, "1", sealing.PoundsPerInch, sealing.NewtonsPer15mm)
	require.InDelta(t, 2.62690252869715, newtons, 5e-15)
	pounds := in(t, "1.5", sealing.NewtonsPer15mm, sealing.PoundsPerInch)
	require.InDelta(t, 0.57101471547326, pounds, 5e-15)
	require.InDelta(t, 6.894757, in(t, "1", sealing.PoundsPerSqIn, sealing.Kilopascals), 5e-7)
}

func TestADifferenceConvertsWithoutThe32(t *testing.T) {
	q, err := sealing.Q("5", sealing.Celsius)
	require.NoError(t, err)
	d, err := q.ExactDifference(sealing.Fahrenheit)
	require.NoError(t, err)
	require.Zero(t, big.NewRat(9, 1).Cmp(d), "NIST SP 811: 5 °C as an interval is 9 °F")
}

func TestQuantitiesCompareByValueWhateverTheirUnits(t *testing.T) {
	c, _ := sealing.Q("180", sealing.Celsius)
	f, _ := sealing.Q("356", sealing.Fahrenheit)
	s, _ := sealing.Q("180", sealing.Seconds)
	require.True(t, c.Same(f))
	require.False(t, c.Same(s))
	require.False(t, c.Same(sealing.Quantity{}))
	require.True(t, sealing.Quantity{}.Same(sealing.Quantity{}))
	_, err := c.Cmp(s)
	require.Error(t, err)
}

func TestQuestionScaleAsksOnlyWhenTheOtherScaleMakesSense(t *testing.T) {
	for typed, asked := range map[string]bool{
		"356 °C": true, "338 °C": true, "250 °C": true, "180 °F": true, "200 °F": true,
		"180 °C": false, "356 °F": false, "120 °C": false, "248 °F": false,
		"20 °C": false, "1000 °C": false, "240 °C": false, "240.1 °C": true,
	} {
		q, err := sealing.ParseQuantity(typed, sealing.Celsius)
		require.NoError(t, err)
		w := sealing.QuestionScale(q)
		require.Equal(t, asked, w != nil, typed)
	}
	require.Nil(t, sealing.QuestionScale(sealing.Quantity{}))
	seconds, _ := sealing.Q("356", sealing.Seconds)
	require.Nil(t, sealing.QuestionScale(seconds))
	q, _ := sealing.Q("356", sealing.Celsius)
	require.Equal(t, "356 °C is not a sealing temperature. Is 356 °F meant (180 °C)?",
		sealing.QuestionScale(q).Message)
}

// The two scales are one line: there and back is the same number, exactly.
func TestConversionThereAndBackIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		thousandths := rapid.Int64Range(-5000000, 5000000).Draw(t, "thousandths")
		d := sealing.Rounded(float64(thousandths)/1000, 3)
		q := sealing.Quantity{Value: d, Unit: sealing.Fahrenheit}
		c, err := q.Exact(sealing.Celsius)
		if err != nil {
			t.Fatal(err)
		}
		back := c.Mul(c, big.NewRat(9, 5)).Add(c, big.NewRat(32, 1))
		if back.Cmp(d.Rat()) != 0 {
			t.Fatalf("%s °F came back as %s", d, back)
		}
	})
}

func FuzzParseQuantity(f *testing.F) {
	for _, s := range []string{"180 °F", "6½", "1,5 N/15 mm", "℃", "180 º C", "5 lbf/in"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		fields := []sealing.Unit{sealing.Celsius, sealing.Mark, sealing.NewtonsPer15mm}
		for _, assumed := range fields {
			q, err := sealing.ParseQuantity(typed, assumed)
			if err != nil {
				require.True(t, fault.Is(err, fault.Invalid))
				continue
			}
			require.Equal(t, assumed.Dimension(), q.Unit.Dimension())
			back, err := sealing.ParseQuantity(q.String(), assumed)
			require.NoError(t, err)
			require.True(t, back.Same(q), "%q from %q", q, typed)
		}
	})
}

func in(t testing.TB, value string, from, to sealing.Unit) float64 {
	q, err := sealing.Q(value, from)
	require.NoError(t, err)
	x, err := q.In(to)
	require.NoError(t, err)
	return x
}
