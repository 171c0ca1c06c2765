package desk_test

import (
	"context"
	"maps"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

func init() {
	maps.Copy(needs, map[string]string{"Settings": "Settings", "Table": "Settings", "Ladder": "Settings",
		"Advice": "Settings"})
	maps.Copy(commands, map[string]command{
		"EnterTable": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.EnterTable(ctx, who, w.measured(from))
		}},
		"RecordReading": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.RecordReading(ctx, who, desk.ReadingIn{From: from, Code: w.code, Setting: "6", Face: "171",
				KnownIn: probe, InstrumentIn: desk.InstrumentIn{Instrument: "probe 3"}})
		}},
		"RecordLadder": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.RecordLadder(ctx, who, w.ladder(from))
		}},
		"TestStrength": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.TestStrength(ctx, who, desk.StrengthIn{From: from, Code: w.code, MadeIn: w.made(),
				Strips: "2.1 2,3\n2.2", StripsUnit: "N/15mm", Minimum: "1.5 N/15mm"})
		}},
		"MeasureWidth": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.MeasureWidth(ctx, who, desk.WidthIn{From: from, Code: w.code, MadeIn: w.made(),
				Ribs: "2; 2; 2.5", RibsUnit: "mm", Least: "6"})
		}},
		"TestSterilized": {do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
			return w.TestSterilized(ctx, who, desk.SterilizedIn{From: from, Code: w.code, MadeIn: w.made(),
				Process: "steam", Before: 10, BeforeGood: 10, After: 10, AfterGood: 10})
		}},
		"ApproveFrom": {before: func(w *workplace) { w.revise("165 °C", "200 °C"); w.enter(w.measured(w.from())) },
			do: func(w *workplace, ctx context.Context, who desk.Caller, from desk.From) (desk.Done, error) {
				return w.ApproveFrom(ctx, who, w.approvalFrom(from, "7 1/2"))
			}},
	})
}

// probe is how well a usual reference thermometer knows a temperature.
var probe = desk.KnownIn{Known: "1.5 °C", Stated: "expanded"}

// measured is a table of sealer 2 at three places: 6 is about 165 °C, 9 about 195.
func (w *workplace) measured(from desk.From) desk.TableIn {
	return desk.TableIn{From: from, Code: w.code, Source: record.Measured, Condition: record.AsLeft, Scale: sealing.Celsius,
		Position: []string{"6", "7 1/2", "9", ""}, Left: []string{"164", "179", "194", ""},
		Middle: []string{"165.5", "180", "195", ""}, Right: []string{"165", "180.5", "195.5", ""}, KnownIn: probe,
		InstrumentIn: desk.InstrumentIn{Instrument: "contact probe 3", Certificate: "C-118", Due: 20_600}}
}

func (w *workplace) enter(in desk.TableIn) desk.Done {
	w.t.Helper()
	done, err := w.EnterTable(w.ctx, w.lead(), in)
	require.NoError(w.t, err)
	return done
}

func (w *workplace) ladder(from desk.From) desk.LadderIn {
	return desk.LadderIn{From: from, Code: w.code, Pouch: w.paper, Setting: []string{"5", "6", "7", "8", ""},
		Dye: []string{"", "pass", "pass", "", ""}, Peel: []string{"", "pass", "pass", "", ""},
		Look: []string{"open", "even", "even", "burnt", ""}}
}

func (w *workplace) made() desk.MadeIn { return desk.MadeIn{Pouch: w.paper, Setting: "6", Lot: "7781"} }

func (w *workplace) revise(low, high string) desk.Done {
	w.t.Helper()
	done, err := w.RevisePouch(w.ctx, w.lead(), desk.PouchIn{From: w.from(), Pouch: w.paper, Name: "Paper/film 20 cm",
		Material: record.PaperFilm, Low: low, High: high, IFUIn: desk.IFUIn{Title: "IFU of the pouch", Page: "3"}})
	require.NoError(w.t, err)
	return done
}

// approvalFrom rests on the newest table of sealer 2.
func (w *workplace) approvalFrom(from desk.From, value string) desk.ApproveFromIn {
	in := desk.ApproveFromIn{From: from, Code: w.code, Pouch: w.paper, Value: value, Unit: "mark", Hold: "2 s"}
	if table := w.settings().Table; table != nil {
		in.Evidence = table.Line.Seq
	}
	return in
}

func (w *workplace) settings() *desk.SettingsView {
	w.t.Helper()
	view, err := w.Settings(w.lead(), w.code)
	require.NoError(w.t, err)
	return view
}

func requireField(t *testing.T, err error, field string) {
	t.Helper()
	var f *fault.Error
	require.ErrorAs(t, err, &f)
	require.Equal(t, []any{fault.Invalid, field}, []any{f.Code, f.Field}, f.Message)
}

func TestATableIsShownAsItWasTypedWithItsCurve(t *testing.T) {
	w := newWorkplace(t)
	w.revise("165 °C", "200 °C")
	w.enter(w.measured(w.from()))
	table := w.settings().Table
	require.True(t, table.Newest)
	require.Len(t, table.Table.Points, 9)
	require.Equal(t, record.TablePoint{Place: record.Middle, Position: record.Quantity{Value: "7 1/2", Unit: "mark"},
		Face: record.Quantity{Value: "180", Unit: "degC"}}, table.Table.Points[4])
	require.Equal(t, []sealing.Place{sealing.Left, sealing.Middle, sealing.Right},
		[]sealing.Place{table.Places[0].Place, table.Places[1].Place, table.Places[2].Place})
	left := table.Places[0]
	require.Equal(t, sealing.StraightLine, left.Basis)
	require.Equal(t, desk.CurvePoint{X: 7.5, T: 179, U: 1.5}, left.Points[1], "U is twice 1.5/2")
	require.InDelta(t, 179, left.Samples[16].T, 1e-9, "three points on a line")
	require.Equal(t, "165.0 °C to 200.0 °C", table.Windows[0].Text)
	require.Equal(t, 6.0, *table.Windows[0].At, "approved")
}

func TestAPositionInTheMiddleOfTheWindowIsProposedAndChangesNothing(t *testing.T) {
	w := newWorkplace(t)
	w.revise("165 °C", "200 °C")
	w.enter(w.measured(w.from()))
	e := w.settings().Pouches[0]
	require.Equal(t, sealing.Proposed, e.Proposed.Verdict)
	require.Equal(t, "8", e.Proposed.Position, "185 °C at all places; the middle of the window is 182.5")
	require.Equal(t, "6", e.Setting.Value)
	sealer, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(t, err)
	require.Nil(t, sealer.Pouch.Setting, "6 is at 164 °C at the left, below the window")
	require.Equal(t, rules.WhyQuestioned, sealer.Pouch.Missing)
	require.Equal(t, record.CheckDue, sealer.Standing.State)
}

func TestAnApprovalFromATableKeepsWhatWasShownThen(t *testing.T) {
	w := newWorkplace(t)
	w.revise("165 °C", "200 °C")
	table := w.enter(w.measured(w.from()))
	_, err := w.ApproveFrom(w.ctx, w.lead(), w.approvalFrom(w.from(), "7 1/2"))
	require.NoError(t, err)
	line := w.settings().Decisions[0]
	given := line.Body.(*record.ApprovalGiven)
	require.Equal(t, record.FromTable, given.Basis)
	require.Equal(t, table.Seq, *given.Table)
	require.Equal(t, "IFU of the pouch", given.IFU.Title)
	require.Equal(t, "180.2 °C ± 3.5 °C", given.FaceDegrees, "of the middle: the one least sure to be inside")
	require.Equal(t, "more than 99.9 %", given.Confidence)
	sealer, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(t, err)
	require.Equal(t, "7 1/2", sealer.Pouch.Setting.Value)
}

func TestALeadMayInsistOnAValueThatTheEvidenceSpeaksAgainst(t *testing.T) {
	w := newWorkplace(t)
	w.revise("165 °C", "200 °C")
	w.enter(w.measured(w.from()))
	in := w.approvalFrom(w.from(), "6")
	_, err := w.ApproveFrom(w.ctx, w.lead(), in)
	requireField(t, err, "sure")
	require.ErrorContains(t, err, "At 6 the face is at 164.")
	in.Sure = true
	_, err = w.ApproveFrom(w.ctx, w.lead(), in)
	require.NoError(t, err)
	in = w.approvalFrom(w.from(), "4")
	_, err = w.ApproveFrom(w.ctx, w.lead(), in)
	requireField(t, err, "value")
}

func TestAnApprovalRestsOnALadderTrialOfItsPouch(t *testing.T) {
	w := newWorkplace(t)
	trial, err := w.RecordLadder(w.ctx, w.lead(), w.ladder(w.from()))
	require.NoError(t, err)
	advice, err := w.Advice(w.lead(), desk.AdviceAsk{Code: w.code, Pouch: w.paper, Ladder: record.None})
	require.NoError(t, err)
	require.Equal(t, []string{"6", "7"}, advice.Ladder.Passed)
	require.Equal(t, []string{"6", "8"}, []string{advice.Ladder.Proposed, advice.Ladder.Over})
	in := desk.ApproveFromIn{From: w.from(), Code: w.code, Pouch: w.paper, Evidence: trial.Seq, Value: "8", Unit: "mark"}
	_, err = w.ApproveFrom(w.ctx, w.lead(), in)
	requireField(t, err, "sure")
	in.Value = "6"
	_, err = w.ApproveFrom(w.ctx, w.lead(), in)
	require.NoError(t, err)
	require.Equal(t, record.FromLadder, w.settings().Decisions[0].Body.(*record.ApprovalGiven).Basis)
	in.From, in.Evidence = w.from(), w.approval
	_, err = w.ApproveFrom(w.ctx, w.lead(), in)
	require.True(t, fault.Is(err, fault.Unknown), "an approval is no evidence")
}

// 356 °F is 180 °C exactly (NIST SP 811).
func TestAMixUpOfScalesIsAskedAbout(t *testing.T) {
	w := newWorkplace(t)
	in := w.measured(w.from())
	in.Middle[1] = "356"
	_, err := w.EnterTable(w.ctx, w.lead(), in)
	requireField(t, err, "points")
	in.Left, in.Right = nil, nil
	in.Middle = []string{"329", "356", "383", ""}
	_, err = w.EnterTable(w.ctx, w.lead(), in)
	requireField(t, err, "sure")
	require.ErrorContains(t, err, "Is 356 °F meant (180 °C)?")
	in.Scale = sealing.Fahrenheit
	w.enter(in)
	point := w.settings().Table.Places[0].Points[1]
	require.InDelta(t, 180, point.T, 1e-9)
}

func TestAFaultOfATableIsShownAtTheCellItWasTypedInto(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*desk.TableIn)
		field string
	}{
		"a word for a face":       {func(in *desk.TableIn) { in.Middle[2] = "warm" }, "middle-3"},
		"a face in metres":        {func(in *desk.TableIn) { in.Left[0] = "164 mm" }, "left-1"},
		"a position of words":     {func(in *desk.TableIn) { in.Position[1] = "high" }, "position-2"},
		"no position":             {func(in *desk.TableIn) { in.Position[0] = "" }, "position-1"},
		"known exactly":           {func(in *desk.TableIn) { in.Known = "0" }, "known"},
		"known nobody knows how":  {func(in *desk.TableIn) { in.Stated = "" }, "known"},
		"known not at all":        {func(in *desk.TableIn) { in.Known = "" }, "known"},
		"one position":            {func(in *desk.TableIn) { in.Position = in.Position[:1] }, "points"},
		"cooler as it rises":      {func(in *desk.TableIn) { in.Left[2] = "170" }, "points"},
		"by nothing":              {func(in *desk.TableIn) { in.Instrument = "" }, "instrument"},
		"by an instrument of old": {func(in *desk.TableIn) { in.Due = 20_000 }, "sure"},
	} {
		t.Run(name, func(t *testing.T) {
			w := newWorkplace(t)
			in := w.measured(w.from())
			c.spoil(&in)
			_, err := w.EnterTable(w.ctx, w.lead(), in)
			requireField(t, err, c.field)
		})
	}
}

func TestProgramsGivePointsAndAreToldWhichIsAtFault(t *testing.T) {
	w := newWorkplace(t)
	in := w.measured(w.from())
	in.Position, in.Points = nil, []desk.PointIn{{Position: "6", Face: "165 °C"},
		{Position: "9", Face: "383 °F", Known: "9 °F", Stated: "accuracy"}}
	in.Sure = true // two scales
	w.enter(in)
	require.InDelta(t, 2*5/1.7320508075688772, w.settings().Table.Places[0].Points[1].U, 1e-9,
		"9 °F are 5 °C; limits of a maker are divided by the root of 3 (JCGM 100:2008, 4.3.7)")
	in.From, in.Points[1].Face = w.from(), "hot"
	_, err := w.EnterTable(w.ctx, w.lead(), in)
	requireField(t, err, "points.2.face")
}

func TestARevisedWindowPutsAMeasuredSettingInDoubt(t *testing.T) {
	w := newWorkplace(t)
	w.enter(w.measured(w.from()))
	w.revise("160 °C", "200 °C")
	require.Empty(t, w.settings().Pouches[0].Missing)
	w.revise("170 °C", "200 °C")
	view := w.settings()
	require.Equal(t, rules.WhyQuestioned, view.Pouches[0].Missing)
	require.Equal(t, "6", view.Pouches[0].Setting.Value, "the lead still sees what was approved")
	require.Equal(t, sealing.WindowMissed, view.Pouches[0].Approved.Effect)
	advice, err := w.Advice(w.lead(), desk.AdviceAsk{Code: w.code, Pouch: w.paper, Ladder: record.None, Value: "7"})
	require.NoError(t, err)
	require.Equal(t, record.DoubtIFU, advice.Doubt.Body.(*record.ApprovalQuestioned).Why)
	require.Equal(t, "7", advice.Tried.Position)
	require.Equal(t, []desk.Ref{{ID: advice.Others[0].ID, Code: w.spare, Text: "4"}}, advice.Others)
}

func TestReadingsMakeSeriesBySettingAndPlace(t *testing.T) {
	w := newWorkplace(t)
	read := func(place record.Place, face string) {
		w.now = w.now.AddDate(0, 0, 30)
		_, err := w.RecordReading(w.ctx, w.lead(), desk.ReadingIn{From: w.from(), Code: w.code, Setting: "6", Place: place,
			Face: face, KnownIn: probe, InstrumentIn: desk.InstrumentIn{Instrument: "probe 3"}})
		require.NoError(t, err)
	}
	read(record.Left, "170")
	for _, face := range []string{"170", "171", "172", "173", "174"} {
		read(record.Middle, face)
	}
	series := w.settings().Series
	require.Len(t, series, 2)
	require.Equal(t, []any{sealing.TooFew, 1}, []any{series[0].Course, series[0].Missing})
	read(record.Middle, "175")
	middle := w.settings().Series[0]
	require.Equal(t, sealing.Drifting, middle.Course)
	require.Equal(t, "+1.0 °C", middle.PerMonth, "one degree in thirty days, by hand")
	require.Len(t, middle.Chart, 6)
}

func TestValidationsAreAssessedWheneverTheyAreShown(t *testing.T) {
	w := newWorkplace(t)
	for _, name := range []string{"TestStrength", "MeasureWidth", "TestSterilized"} {
		_, err := commands[name].do(w, w.ctx, w.lead(), w.from())
		require.NoError(t, err)
	}
	list := w.settings().Validations
	require.Len(t, list, 3)
	require.True(t, list[0].Good, "10 of 10 before and after")
	require.Equal(t, []any{true, "6.5 mm"}, []any{list[1].Good, list[1].Total})
	s := list[2].Strength
	require.InDelta(t, 2.2, s.Mean, 1e-9)
	// One-sided factor for n = 3, 95/95: 7.656 (from memory of the usual tables).
	require.InDelta(t, 7.656, s.Factor, .001)
	require.InDelta(t, 2.2-7.656*.1, s.Bound, .001)
	require.Equal(t, sealing.NotShown, list[2].Finding)
}

func TestWhatIsNotThisSealersIsNotThere(t *testing.T) {
	w := newWorkplace(t)
	table := w.enter(w.measured(w.from()))
	for _, seq := range []record.Seq{table.Seq, w.approval, -1, 9999} {
		_, err := w.Table(w.lead(), w.spare, seq)
		require.True(t, fault.Is(err, fault.Unknown), "%d", seq)
		_, err = w.Ladder(w.lead(), w.code, seq)
		require.True(t, fault.Is(err, fault.Unknown), "%d", seq)
	}
	_, err := w.Table(w.lead(), w.code, table.Seq)
	require.NoError(t, err)
	_, err = w.Settings(w.staff[record.Technician], w.code)
	require.True(t, fault.Is(err, fault.Forbidden), "technicians see one number")
}
