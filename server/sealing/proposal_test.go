package sealing_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/sealing"
)

func limits(low, high float64) sealing.Limits { return sealing.Limits{Low: low, High: high} }

func marks(t testing.TB, first, last, step string) (all []sealing.Quantity) {
	list, err := sealing.Positions(decimal(t, first), decimal(t, last), decimal(t, step))
	require.NoError(t, err)
	for _, d := range list {
		all = append(all, sealing.Quantity{Value: d, Unit: sealing.Mark})
	}
	return all
}

func propose(t testing.TB, r sealing.Request) sealing.Proposal {
	p, err := r.Propose()
	require.NoError(t, err)
	return p
}

func TestPositionsAreMarksAndHalves(t *testing.T) {
	var shown []string
	for _, p := range marks(t, "6", "8.2", "1/2") {
		shown = append(shown, p.String())
	}
	require.Equal(t, []string{"6", "6½", "7", "7½", "8"}, shown)
	require.Len(t, marks(t, "6", "6", "1"), 1)
	for _, c := range [][3]string{{"1", "9", "0"}, {"9", "1", "1"}, {"0", "9999", "1"}} {
		_, err := sealing.Positions(decimal(t, c[0]), decimal(t, c[1]), decimal(t, c[2]))
		require.True(t, fault.Is(err, fault.Invalid))
	}
}

func TestTheMostProbablePositionIsProposed(t *testing.T) {
	table := dial(t, accuracy(t, "3 °C"), "6 = 154 °C", "7 = 173 °C", "8 = 192 °C", "9 = 211 °C")
	p := propose(t, sealing.Request{Curve: compile(t, table), Limits: limits(165, 200),
		Positions: marks(t, "1", "10", "1/2")})
	require.Equal(t, sealing.Proposed, p.Verdict)
	require.Equal(t, "7½", p.Position.String())
	require.InDelta(t, 182.5, p.Worst.T, 1e-9)
	require.Greater(t, p.Worst.Probability(), 0.999)
	require.Equal(t, "At 7½ the face is at 182.5 °C ± 3.5 °C: within 165.0 °C to 200.0 °C "+
		"with a probability of more than 99.9 %.", p.Sentence(sealing.Celsius))
}

// A display that lies by 7: the face is 7 cooler than shown.
func TestADisplayThatLiesMustReadSomethingElse(t *testing.T) {
	table := tableOf(t, sealing.DisplayBar, standard(t, "1 °C"),
		"110 °C = 103 °C", "150 °C = 143 °C", "200 °C = 193 °C")
	c := compile(t, table)
	list, err := sealing.Positions(decimal(t, "50"), decimal(t, "220"), decimal(t, "1"))
	require.NoError(t, err)
	r := sealing.Request{Curve: c, Limits: limits(120, 130)}
	for _, d := range list {
		r.Positions = append(r.Positions, sealing.Quantity{Value: d, Unit: sealing.Celsius})
	}
	p := propose(t, r)
	require.Equal(t, "132 °C", p.Position.String())
	require.InDelta(t, 125, p.Worst.T, 1e-9)
}

func TestTheWorstPlaceDecides(t *testing.T) {
	table := dial(t, standard(t, "2 °C"), "6 = 160 °C", "9 = 220 °C", "6 = 140 °C", "9 = 200 °C")
	placed(table, sealing.Left, sealing.Left, sealing.Right, sealing.Right)
	p := propose(t, sealing.Request{Curve: compile(t, table), Limits: limits(165, 200),
		Positions: marks(t, "6", "9", "1/2")})
	require.Equal(t, "7½", p.Position.String(), "left 190, right 170")
	require.Equal(t, sealing.Right, p.Worst.Place)
	require.InDelta(t, 170, p.Worst.T, 1e-9)

	p = propose(t, sealing.Request{Curve: compile(t, table), Limits: limits(165, 195),
		Positions: marks(t, "7½", "7½", "1"), Guard: 1})
	require.Equal(t, sealing.Left, p.Worst.Place, "190 and 170 are as bad: the first is named")
	require.Equal(t, limits(169, 191), p.Advice.Limits)
}

func TestTiesGoToTheMiddleThenToTheLowerMark(t *testing.T) {
	sure := standard(t, "1 °C")
	r := sealing.Request{Curve: compile(t, dial(t, sure, "6 = 160 °C", "9 = 220 °C")),
		Limits: limits(160, 220), Positions: marks(t, "6", "9", "1/4")}
	require.Equal(t, "7½", propose(t, r).Position.String(), "all but the ends have no tail")

	r.Limits = limits(165, 195) // 180 is the middle; 175 and 185 are as good
	r.Positions = []sealing.Quantity{q(t, "7 1/4"), q(t, "6 3/4")}
	require.Equal(t, "6¾", propose(t, r).Position.String(), "whatever the order of the list")
}

func TestNotKnownWellEnoughSaysWhatWouldDo(t *testing.T) {
	table := dial(t, standard(t, "6 °C"), "6 = 115 °C", "8 = 135 °C")
	r := sealing.Request{Curve: compile(t, table), Limits: limits(120, 130),
		Positions: marks(t, "6", "8", "1")}
	p := propose(t, r)
	require.Equal(t, sealing.NotKnown, p.Verdict)
	require.Equal(t, "7", p.Position.String())
	// Phi(1.645) leaves 5 % on either side (e-Handbook 1.3.6.7.1).
	require.InDelta(t, 5/1.644854, p.WouldDo, 1e-5)
	require.Equal(t, "At 7 the face is at 125.0 °C ± 12.0 °C: within 120.0 °C to 130.0 °C with a "+
		"probability of only 59.5 %. This is not known well enough; measured to ± 6.0 °C it "+
		"could be.", p.Sentence(sealing.Celsius))
	require.Contains(t, p.Sentence(sealing.Fahrenheit), "257.0 °F ± 21.6 °F")

	r.Limits = limits(150, 160)
	p = propose(t, r)
	require.Equal(t, sealing.OutOfReach, p.Verdict)
	require.Equal(t, "8", p.Position.String(), "the nearest")
	require.Zero(t, p.WouldDo)
	require.Contains(t, p.Sentence(sealing.Celsius), "Use another sealer")
}

func TestWouldDoIsTheTurningPoint(t *testing.T) {
	u := sealing.WouldDo(172, limits(170, 190), 0.9)
	enough := sealing.Prediction{T: 172, U: u}.Against(limits(170, 190)).Probability()
	require.InDelta(t, 0.9, enough, 1e-9)
	require.Zero(t, sealing.WouldDo(170, limits(170, 190), 0.9), "on the limit half is all")
	require.Zero(t, sealing.WouldDo(169, limits(170, 190), 0.9))
	require.Zero(t, sealing.WouldDo(169, limits(170, 190), 0.1), "no luck counts")
	require.Zero(t, sealing.WouldDo(191, limits(170, 190), 0.1))
}

func TestProposeRefuses(t *testing.T) {
	c := compile(t, dial(t, standard(t, "2 °C"), "6 = 160 °C", "8 = 190 °C"))
	good := sealing.Request{Curve: c, Limits: limits(165, 200), Positions: marks(t, "6", "8", "1")}
	degrees := []sealing.Quantity{q(t, "180 °C")}
	for name, change := range map[string]func(*sealing.Request){
		"no table":         func(r *sealing.Request) { r.Curve = nil },
		"no window":        func(r *sealing.Request) { r.Limits = limits(200, 165) },
		"empty window":     func(r *sealing.Request) { r.Limits = limits(165, 165) },
		"nothing measured": func(r *sealing.Request) { r.Positions = marks(t, "1", "5", "1") },
		"no positions":     func(r *sealing.Request) { r.Positions = nil },
		"degrees":          func(r *sealing.Request) { r.Positions = degrees },
		"certainty":        func(r *sealing.Request) { r.Enough = 1 },
		"negative guard":   func(r *sealing.Request) { r.Guard = -0.1 },
		"guard above one":  func(r *sealing.Request) { r.Guard = 1.1 },
	} {
		r := good
		change(&r)
		_, err := r.Propose()
		require.True(t, fault.Is(err, fault.Invalid), "%s gave %v", name, err)
	}
}

// Source: JCGM 106:2012, 8.3.2, and ILAC-G8:09/2019: tolerance [170, 190], u = 2
// and w = U = 2 u give [174, 186].
func TestTheGuardBandIsAdvice(t *testing.T) {
	p := sealing.Prediction{T: 175, U: 2}
	a := p.Guarded(limits(170, 190), 1)
	require.Equal(t, limits(174, 186), a.Limits)
	require.Equal(t, sealing.Inside, a.Zone)
	p.T = 172
	require.Equal(t, sealing.CannotDecide, p.Guarded(limits(170, 190), 1).Zone)
	p.T = 165
	require.Equal(t, sealing.Outside, p.Guarded(limits(170, 190), 1).Zone)
	require.Equal(t, sealing.Outside, p.Guarded(limits(170, 190), 0).Zone)
	p.T = 170
	require.Equal(t, sealing.Inside, p.Guarded(limits(170, 190), 0).Zone)

	for temperature, zone := range map[float64]sealing.Zone{
		174: sealing.Inside, 186: sealing.Inside, 166: sealing.CannotDecide,
		194: sealing.CannotDecide, 165.9: sealing.Outside, 194.1: sealing.Outside,
	} {
		p.T = temperature
		require.Equal(t, zone, p.Guarded(limits(170, 190), 1).Zone, "%g", temperature)
	}

	// Tolerance ±5, u = 2.5: the zone is empty. Cannot decide, never fail.
	a = sealing.Prediction{T: 0, U: 2.5}.Guarded(limits(-5, 5), 1)
	require.True(t, a.Empty)
	require.Equal(t, sealing.CannotDecide, a.Zone)
}

// randomTable draws a rising dial table in multiples of 5 °C, which are whole in
// Fahrenheit too.
func randomTable(t *rapid.T) sealing.Table {
	table := sealing.Table{Kind: sealing.DialBar}
	celsius := func(fives int64) sealing.Quantity {
		return sealing.Quantity{Value: sealing.Whole(5 * fives), Unit: sealing.Celsius}
	}
	statement := rapid.SampledFrom([]sealing.Statement{sealing.Accuracy, sealing.Expanded})
	face := int64(20)
	for position := range rapid.Int64Range(2, 8).Draw(t, "positions") {
		face += rapid.Int64Range(1, 8).Draw(t, "step")
		table.Points = append(table.Points, sealing.Point{
			Position: sealing.Quantity{Value: sealing.Whole(position + 2), Unit: sealing.Mark},
			Face:     celsius(face),
			Uncertainty: sealing.Uncertainty{
				Value:  celsius(rapid.Int64Range(1, 3).Draw(t, "u")),
				Stated: statement.Draw(t, "stated"),
			},
		})
	}
	return table
}

func TestCelsiusAndFahrenheitGiveTheSameDecision(t *testing.T) {
	positions := marks(t, "1", "11", "1/2")
	rapid.Check(t, func(t *rapid.T) {
		celsius := randomTable(t)
		low := 5 * rapid.Int64Range(20, 40).Draw(t, "low")
		high := low + 5*rapid.Int64Range(1, 12).Draw(t, "width")
		decide := func(table sealing.Table, low, high int64, scale sealing.Unit) sealing.Proposal {
			curve, err := table.Compile()
			if err != nil {
				t.Fatal(err)
			}
			window := sealing.Window{Low: sealing.Quantity{Value: sealing.Whole(low), Unit: scale},
				High: sealing.Quantity{Value: sealing.Whole(high), Unit: scale}}
			limits, err := window.Limits()
			if err != nil {
				t.Fatal(err)
			}
			p, err := sealing.Request{Curve: curve, Limits: limits, Positions: positions}.Propose()
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		fahrenheit := celsius
		fahrenheit.Points = nil
		for _, p := range celsius.Points {
			p.Face = inFahrenheit(p.Face, 32)
			p.Uncertainty.Value = inFahrenheit(p.Uncertainty.Value, 0)
			fahrenheit.Points = append(fahrenheit.Points, p)
		}
		c := decide(celsius, low, high, sealing.Celsius)
		f := decide(fahrenheit, low*9/5+32, high*9/5+32, sealing.Fahrenheit)
		if c.Verdict != f.Verdict || c.Position != f.Position || c.Worst != f.Worst {
			t.Fatalf("°C %+v, °F %+v", c, f)
		}
	})
}

// inFahrenheit types a multiple of 5 °C in the other scale; zero is 32 for a
// temperature and 0 for a difference.
func inFahrenheit(c sealing.Quantity, zero int64) sealing.Quantity {
	f := int64(c.Value.Float())*9/5 + zero
	return sealing.Quantity{Value: sealing.Whole(f), Unit: sealing.Fahrenheit}
}

func TestNothingIsProposedBeyondWhatWasMeasured(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := randomTable(t)
		curve, err := table.Compile()
		if err != nil {
			t.Fatal(err)
		}
		r := sealing.Request{Curve: curve, Limits: limits(165, 200)}
		for range rapid.IntRange(1, 30).Draw(t, "n") {
			x := float64(rapid.IntRange(-20, 200).Draw(t, "tenths")) / 10
			r.Positions = append(r.Positions,
				sealing.Quantity{Value: sealing.Rounded(x, 1), Unit: sealing.Mark})
		}
		first, last := table.Points[0].Position, table.Points[len(table.Points)-1].Position
		p, err := r.Propose()
		if err != nil {
			for _, position := range r.Positions {
				if curve.Known(position) {
					t.Fatalf("refused, though %s is known: %v", position, err)
				}
			}
			return
		}
		below, _ := p.Position.Cmp(first)
		above, _ := p.Position.Cmp(last)
		if below < 0 || above > 0 {
			t.Fatalf("proposed %s of %s to %s", p.Position, first, last)
		}
	})
}

// What conforms with 90 % is a set of positions: it loses members, and gains
// none, when the instrument is known less well or the window is drawn in.
func TestTheConformingSetShrinks(t *testing.T) {
	positions := marks(t, "2", "9", "1/4")
	conforming := func(t *rapid.T, table sealing.Table, l sealing.Limits) map[string]bool {
		curve, err := table.Compile()
		if err != nil {
			t.Fatal(err)
		}
		set := make(map[string]bool)
		for _, position := range positions {
			if !curve.Known(position) {
				continue
			}
			ps, err := curve.At(position)
			if err != nil {
				t.Fatal(err)
			}
			set[position.String()] = ps[0].Against(l).Probability() >= 0.9
		}
		return set
	}
	rapid.Check(t, func(t *rapid.T) {
		table := randomTable(t)
		// Up to four positions: with five, a wider u may also turn a bend into
		// a line, which is another prediction and not a wider one.
		table.Points = table.Points[:min(4, len(table.Points))]
		low := float64(rapid.IntRange(110, 200).Draw(t, "low"))
		high := low + float64(rapid.IntRange(5, 60).Draw(t, "width"))
		full := conforming(t, table, limits(low, high))
		for position, yes := range conforming(t, table, limits(low+2, high-1)) {
			if yes && !full[position] {
				t.Fatalf("%s conforms to the narrower window alone", position)
			}
		}
		wider := table
		wider.Points = append([]sealing.Point{}, table.Points...)
		for i := range wider.Points {
			u := &wider.Points[i].Uncertainty
			u.Value.Value = sealing.Whole(3 * int64(u.Value.Value.Float()))
		}
		for position, yes := range conforming(t, wider, limits(low, high)) {
			if yes && !full[position] {
				t.Fatalf("%s conforms with the wider uncertainty alone", position)
			}
		}
	})
}

func TestWindowsIntersectOrSayWhichTwoClash(t *testing.T) {
	window := func(pouch, low, high string) sealing.Window {
		return sealing.Window{Pouch: pouch, Low: q(t, low), High: q(t, high)}
	}
	film := window("Paper/film", "165 °C", "200 °C")
	wide := window("Gusseted", "338 °F", "400 °F")
	nonwoven := window("Nonwoven", "120 °C", "130 °C")

	shared, err := sealing.Intersect(film, wide)
	require.NoError(t, err)
	require.Equal(t, limits(170, 200), shared)

	_, err = sealing.Intersect(film, nonwoven, wide)
	var clash *sealing.Clash
	require.ErrorAs(t, err, &clash)
	require.EqualError(t, err, "No one temperature serves both: Gusseted needs at least 338 °F, "+
		"Nonwoven bears at most 130 °C.")
	_, err = sealing.Intersect(window("A", "120 °C", "130 °C"), window("B", "130 °C", "140 °C"))
	require.ErrorAs(t, err, &clash, "ranges that touch leave no room")

	for name, ws := range map[string][]sealing.Window{
		"none": nil, "upside down": {window("A", "130 °C", "120 °C")},
		"one degree alone": {window("A", "130 °C", "266 °F")},
		"no limit":         {window("A", "120 °C", "")}, "seconds": {window("A", "120 s", "130 s")},
	} {
		_, err := sealing.Intersect(ws...)
		require.True(t, fault.Is(err, fault.Invalid), name)
	}
	require.Len(t, window("A", "120 °C", "266 °C").Questions(), 1)
}

func TestPercentNeverClaimsCertainty(t *testing.T) {
	for p, want := range map[float64]string{
		1: "more than 99.9 %", 0.9991: "more than 99.9 %", 0.98765: "98.8 %", 0: "less than 0.1 %",
	} {
		require.Equal(t, want, sealing.Percent(p))
	}
	require.Equal(t, "356.0 °F", sealing.Degrees(180, sealing.Fahrenheit))
	require.Equal(t, "5.1 °C", sealing.Difference(5.01, sealing.Celsius))
	require.Equal(t, "9.0 °F", sealing.Difference(5, sealing.Fahrenheit))
}

// The compiled table against compiling it for each position, in one run.
func BenchmarkPosition(b *testing.B) {
	table := sealing.Table{Kind: sealing.DialBar}
	for _, place := range []sealing.Place{sealing.Left, sealing.Middle, sealing.Right} {
		for i := range 9 {
			face := 120 + 10*i + []int{0, 1, -1}[i%3]
			table.Points = append(table.Points, sealing.Point{Place: place,
				Position:    q(b, fmt.Sprint(i+1)),
				Face:        q(b, fmt.Sprintf("%d °C", face)),
				Uncertainty: accuracy(b, "3 °C")})
		}
	}
	curve, position := compile(b, table), q(b, "6 1/2")
	b.Run("compiled", func(b *testing.B) {
		for b.Loop() {
			ps, _ := curve.At(position)
			keep = ps[0].Against(limits(165, 200)).Probability()
		}
	})
	b.Run("compiled anew", func(b *testing.B) {
		for b.Loop() {
			c, _ := table.Compile()
			ps, _ := c.At(position)
			keep = ps[0].Against(limits(165, 200)).Probability()
		}
	})
	b.Run("proposal of 19 positions", func(b *testing.B) {
		r := sealing.Request{Curve: curve, Limits: limits(165, 200)}
		r.Positions = marks(b, "1", "10", "1/2")
		for b.Loop() {
			p, _ := r.Propose()
			keep = p.Worst.T
		}
	})
	b.Run("conformity", func(b *testing.B) {
		p := sealing.Prediction{T: 180, U: 3}
		for b.Loop() {
			keep = p.Against(limits(165, 200)).Probability()
		}
	})
}

var keep = math.NaN()
