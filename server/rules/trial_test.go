package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// ladder is a trial whose middle steps pass: the first is open, the last burns.
func ladder(pouch record.ID, unit string, settings ...string) *record.LadderTrial {
	l := &record.LadderTrial{Pouch: pouch}
	for i, set := range settings {
		step := record.LadderStep{Setting: typed(set, unit), Dye: record.Pass, Peel: record.Pass, Look: record.Even}
		switch i {
		case 0:
			step = record.LadderStep{Setting: step.Setting, Look: record.Open}
		case len(settings) - 1:
			step = record.LadderStep{Setting: step.Setting, Look: record.Burnt}
		}
		l.Steps = append(l.Steps, step)
	}
	return l
}

func TestWhatIsTriedOutIsFiledNewestLast(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	require.Equal(t, record.None, h.its(s).Filed.Table())
	made := record.SealsMade{Pouch: h.paper, Setting: typed("180", "degC")}
	first := h.triedOut(s, table("degC", "120", "120", "180", "180"))[0].Seq
	second := h.triedOut(s, table("degC", "120", "121", "180", "181"))[0].Seq
	climb := h.triedOut(s, ladder(h.paper, "degC", "160", "180", "200"))[0].Seq
	strength := h.triedOut(s, &record.StrengthTested{SealsMade: made, Strips: []string{"2.1", "2,4"},
		Unit: "N/15mm", Minimum: typed("1.5", "N/15mm")})[0].Seq
	width := h.triedOut(s, &record.WidthMeasured{SealsMade: made, Ribs: []string{"3", "3"}, Unit: "mm",
		Least: typed("6", "mm")})[0].Seq
	after := h.triedOut(s, &record.AfterSterilizing{SealsMade: made, Process: "steam", Before: 10,
		BeforeGood: 10, After: 10})[0].Seq
	f := h.its(s).Filed
	require.Equal(t, second, f.Table())
	require.Equal(t, []record.Seq{first, second}, f.Tables)
	require.Equal(t, []record.Seq{climb}, f.Ladders)
	require.Equal(t, []record.Seq{strength, width, after}, f.Validations)
	require.Len(t, f.Decisions, 2, "both approvals")
}

func TestOnlyTheNewestOfEachAreKeptAtHand(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	var seqs []record.Seq
	for range 70 {
		seqs = append(seqs, h.triedOut(s, ladder(h.paper, "mark", "5", "6", "7"))[0].Seq)
	}
	require.Equal(t, seqs[6:], h.its(s).Filed.Ladders)
}

func TestATrialThatProposesNothingIsOnRecordAllTheSame(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	l := ladder(h.paper, "mark", "5", "6", "7")
	l.Steps[1] = record.LadderStep{Setting: typed("6", "mark"), Look: record.Open}
	h.triedOut(s, l)
}

func TestWhatCannotBeReadIsRefusedAtItsField(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	made := record.SealsMade{Pouch: h.paper, Setting: typed("180", "degC")}
	measured := func(change func(*record.TemperatureTable)) record.Body {
		b := table("degC", "120", "120", "180", "180")
		change(b)
		return b
	}
	reading := func(change func(*record.Reading)) record.Body {
		b := &record.Reading{Set: typed("180", "degC"), Face: typed("181", "degC"), Uncertainty: known,
			Instrument: record.Instrument{Name: "probe"}}
		change(b)
		return b
	}
	steps := func(change func(*record.LadderTrial)) record.Body {
		b := ladder(h.paper, "degC", "160", "180", "200")
		change(b)
		return b
	}
	for name, c := range map[string]struct {
		body  record.Body
		field string
	}{
		"measured with nothing":  {measured(func(b *record.TemperatureTable) { b.Instrument.Name = " " }), "instrument"},
		"a maker without manual": {measured(func(b *record.TemperatureTable) { b.Source = record.FromMaker }), "ifu"},
		"from nowhere":           {measured(func(b *record.TemperatureTable) { b.Source = "" }), "source"},
		"found how":              {measured(func(b *record.TemperatureTable) { b.Condition = "hot" }), "condition"},
		"read with nothing":      {reading(func(b *record.Reading) { b.Instrument.Name = "" }), "instrument"},
		"read in a corner":       {reading(func(b *record.Reading) { b.Place = record.Whole }), "place"},
		"read at a mark":         {reading(func(b *record.Reading) { b.Set.Unit = "mark" }), "setting"},
		"read as a word":         {reading(func(b *record.Reading) { b.Face.Value = "hot" }), "face"},
		"shown as a word":        {reading(func(b *record.Reading) { b.Shown = typed("hot", "degC") }), "shown"},
		"read without doubt":     {reading(func(b *record.Reading) { b.Uncertainty.Value = "0" }), "uncertainty"},
		"two steps":              {steps(func(b *record.LadderTrial) { b.Steps = b.Steps[:2] }), "steps"},
		"a step in marks":        {steps(func(b *record.LadderTrial) { b.Steps[1].Setting.Unit = "mark" }), "steps.2.setting"},
		"a dye that is unsure":   {steps(func(b *record.LadderTrial) { b.Steps[1].Dye = record.NotValid }), "steps"},
		"no peel":                {steps(func(b *record.LadderTrial) { b.Steps[1].Peel = "" }), "steps"},
		"of no pouch":            {steps(func(b *record.LadderTrial) { b.Pouch = record.ID{9} }), "pouch"},
		"one strip":              {&record.StrengthTested{SealsMade: made, Strips: []string{"2"}, Unit: "N/15mm", Minimum: typed("1.5", "N/15mm")}, ""},
		"a strip of words":       {&record.StrengthTested{SealsMade: made, Strips: []string{"2", "strong"}, Unit: "N/15mm", Minimum: typed("1.5", "N/15mm")}, "strips"},
		"no least strength":      {&record.StrengthTested{SealsMade: made, Strips: []string{"2", "3"}, Unit: "N/15mm"}, "minimum"},
		"a rib of nothing":       {&record.WidthMeasured{SealsMade: made, Ribs: []string{"0"}, Unit: "mm", Least: typed("6", "mm")}, "ribs"},
		"no least width":         {&record.WidthMeasured{SealsMade: made, Ribs: []string{"6"}, Unit: "mm"}, "least"},
		"no process":             {&record.AfterSterilizing{SealsMade: made, After: 1}, "process"},
		"none after":             {&record.AfterSterilizing{SealsMade: made, Process: "steam"}, "after"},
		"better than all before": {&record.AfterSterilizing{SealsMade: made, Process: "steam", BeforeGood: 1, After: 1}, "before_good"},
		"better than all after":  {&record.AfterSterilizing{SealsMade: made, Process: "steam", After: 1, AfterGood: 2}, "after_good"},
		"not a trial":            {&record.SealerMoved{}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := h.tryOut(s, c.body)
			var f *fault.Error
			require.ErrorAs(t, err, &f)
			require.Equal(t, []any{fault.Invalid, c.field}, []any{f.Code, f.Field})
		})
	}
}

func TestAnApprovalRestsOnTheNewestTableOrOnATrialOfItsOwnSealer(t *testing.T) {
	h := newHouse(t)
	s, other := h.bar("1"), h.bar("2")
	old := h.triedOut(s, table("mark", "6", "165", "9", "195"))[0].Seq
	given := func(basis record.Basis, on record.Seq) error {
		_, err := h.trySetUp(sealerOf(s), &record.ApprovalGiven{Pouch: h.paper, Value: "7", Unit: "mark",
			Basis: basis, Table: &on})
		return err
	}
	require.NoError(t, given(record.FromTable, old))
	h.triedOut(s, table("mark", "6", "166", "9", "196"))
	require.True(t, fault.Is(given(record.FromTable, old), fault.Stale))
	climb := h.triedOut(s, ladder(h.paper, "mark", "5", "6", "7"))[0].Seq
	theirs := h.triedOut(other, ladder(h.paper, "mark", "5", "6", "7"))[0].Seq
	require.NoError(t, given(record.FromLadder, climb))
	require.True(t, fault.Is(given(record.FromLadder, theirs), fault.Unknown))
}

func TestATrialIsAboutASealerThatIsThere(t *testing.T) {
	h := newHouse(t)
	_, err := h.write(t, h.newID(), func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Trial(v, rules.SaidTrial{Entry: h.direct(), Sealer: record.ID{9}}, now)
	})
	require.True(t, fault.Is(err, fault.Unknown))
}
