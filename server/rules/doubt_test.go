package rules_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/sealing"
)

func typed(value, unit string) record.Quantity { return record.Quantity{Value: value, Unit: unit} }

// known is the uncertainty of a good reference thermometer.
var known = record.Uncertainty{Quantity: typed("1", "degC"), Stated: "expanded"}

// table is a measured table: position and face by turns, in the unit of the
// control and in degrees Celsius.
func table(unit string, pairs ...string) *record.TemperatureTable {
	t := &record.TemperatureTable{Source: record.Measured, Uncertainty: known,
		Instrument: record.Instrument{Name: "reference thermometer"}}
	for i := 0; i < len(pairs); i += 2 {
		t.Points = append(t.Points, record.TablePoint{Position: typed(pairs[i], unit), Face: typed(pairs[i+1], "degC")})
	}
	return t
}

// try records what was tried out on a sealer, its curve compiled as the desk does.
func (h *house) tryOut(s record.ID, body record.Body) ([]record.Record, error) {
	h.t.Helper()
	e := h.direct()
	e.By = h.lead
	said := rules.SaidTrial{Entry: e, Sealer: s, Trial: body}
	if b, ok := body.(*record.TemperatureTable); ok {
		said.Curve = h.curve(s, b)
	}
	return h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Trial(v, said, now)
	})
}

func (h *house) curve(s record.ID, b *record.TemperatureTable) *sealing.Curve {
	h.t.Helper()
	t, err := rules.TableOf(h.its(s).Type, b)
	require.NoError(h.t, err)
	c, err := t.Compile()
	require.NoError(h.t, err)
	return c
}

func (h *house) triedOut(s record.ID, body record.Body) []record.Record {
	h.t.Helper()
	records, err := h.tryOut(s, body)
	require.NoError(h.t, err)
	return records
}

// revise gives a pouch's IFU another window, with the curves of all tables.
func (h *house) revise(pouch record.ID, low, high string) []record.Record {
	h.t.Helper()
	facts := rules.GetPouch(h, pouch).PouchFacts
	facts.Low, facts.High = low, high
	curves := rules.Curves{}
	for _, id := range rules.GetDepartment(h, h.dept).Sealers {
		if seq := h.its(id).Filed.Table(); seq != record.None {
			body, err := h.records[seq].Content()
			require.NoError(h.t, err)
			curves[seq] = h.curve(id, body.(*record.TemperatureTable))
		}
	}
	e := h.direct()
	e.By = h.lead
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.SetUp(v, rules.SaidSetUp{Entry: e, Dept: h.dept, Subject: pouchOf(pouch),
			Facts: &record.PouchRevised{PouchFacts: facts}, Curves: curves}, now)
	})
	require.NoError(h.t, err)
	return records
}

// requireShown wants technicians to see one approved value, or the reason why
// they see none.
func (h *house) requireShown(s, pouch record.ID, value, why string) {
	h.t.Helper()
	a, reason := h.its(s).Approval(h, pouch, rules.GetDepartment(h, h.dept).Day(h.now()))
	if value == "" {
		require.Nil(h.t, a)
		require.Equal(h.t, why, reason)
		return
	}
	require.NotNil(h.t, a, reason)
	require.Equal(h.t, value, a.Value)
}

// A calibration day: the display of a sealer that both pouches share reads 7
// degrees low. Paper/film (165 to 200 at 180 + 7) has room for it, nonwoven (120
// to 130 at 125 + 7) has not.
func TestADisplayThatLiesStopsThePouchWhoseWindowItMisses(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.at("2026-01-13 07:00")
	h.pass(s, h.nonwoven)
	found := table("degC", "120", "127", "180", "187")
	found.Condition = record.AsFound
	records := h.triedOut(s, found)
	require.Len(t, records, 2)
	body, err := records[1].Content()
	require.NoError(t, err)
	require.Equal(t, &record.ApprovalQuestioned{Pouch: h.nonwoven, Approval: h.its(s).Approvals[1].Seq,
		Why: record.DoubtFound, Face: "132.0 °C", Window: "120.0 °C to 130.0 °C", Confidence: "less than 0.1 %"}, body)
	h.requireShown(s, h.paper, "180", "")
	h.requireShown(s, h.nonwoven, "", rules.WhyQuestioned)
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyQuestioned)
	_, err = h.check(h.direct(), s, record.Check{Pouch: h.nonwoven, Outcome: record.Pass})
	require.ErrorContains(t, err, "until a lead decides")
}

func TestOnlyALeadsApprovalEndsADoubt(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.triedOut(s, table("degC", "120", "127", "180", "187"))
	h.triedOut(s, table("degC", "120", "120", "180", "180")) // adjusted, and measured again
	h.requireShown(s, h.nonwoven, "", rules.WhyQuestioned)
	h.approve(s, h.nonwoven, "125")
	h.requireShown(s, h.nonwoven, "125", "")
	require.Empty(t, h.its(s).Doubts)
	h.pass(s, h.nonwoven)
	h.requireReady(s, h.nonwoven)
}

func TestADoubtEndsWithItsApproval(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.triedOut(s, table("degC", "120", "127", "180", "187"))
	h.setUp(sealerOf(s), &record.ApprovalEnded{Pouch: h.nonwoven, Why: "not here any more"})
	require.Empty(t, h.its(s).Doubts)
	h.requireShown(s, h.nonwoven, "", rules.WhyNoApproval)
}

func TestWhatLiesInsideOrCannotBeToldStays(t *testing.T) {
	for name, tried := range map[string]record.Body{
		"inside, at both":     table("degC", "120", "121", "180", "181"),
		"not surely inside":   table("degC", "125", "129.5", "180", "181"),
		"not as hot as that":  table("degC", "130", "137", "170", "177"),
		"nonwoven was not it": table("degC", "130", "137", "180", "187"),
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			s := h.shared("5")
			h.pass(s, h.paper)
			require.Len(t, h.triedOut(s, tried), 1)
			h.requireShown(s, h.paper, "180", "")
			h.requireShown(s, h.nonwoven, "125", "")
			h.requireReady(s, h.paper)
		})
	}
}

func TestAReadingAtTheApprovedSettingCanPutItInDoubt(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	reading := func(set, face string) *record.Reading {
		return &record.Reading{Set: typed(set, "degC"), Face: typed(face, "degC"), Uncertainty: known,
			Instrument: record.Instrument{Name: "reference thermometer"}}
	}
	h.triedOut(s, reading("150", "240"))
	h.triedOut(s, reading("125.0", "129"))
	h.requireShown(s, h.nonwoven, "125", "")
	h.triedOut(s, reading("125.0", "131"))
	h.requireShown(s, h.nonwoven, "", rules.WhyQuestioned)
	h.requireShown(s, h.paper, "180", "")
}

func TestARevisedIFUStopsWhatLiesOutsideItsWindow(t *testing.T) {
	h := newHouse(t)
	measured, dial, unmeasured := h.bar("1"), h.bar("2"), h.shared("5")
	h.triedOut(measured, table("mark", "6", "165", "9", "195")) // 7 1/2 is 180
	h.revise(h.paper, "170 °C", "190 °C")
	for _, s := range []record.ID{measured, dial} {
		h.requireShown(s, h.paper, "7 1/2", "")
	}
	records := h.revise(h.paper, "185 °C", "200 °C")
	require.Len(t, records, 3, "the pouch, the measured dial and the display")
	h.requireShown(measured, h.paper, "", rules.WhyQuestioned)
	h.requireShown(dial, h.paper, "7 1/2", "")
	h.requireShown(unmeasured, h.paper, "", rules.WhyQuestioned)
	h.requireShown(unmeasured, h.nonwoven, "125", "")
}

func TestARevisionThatLeavesTheWindowQuestionsNothing(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.approve(s, h.nonwoven, "140") // a lead's decision, though outside
	require.Len(t, h.revise(h.nonwoven, "248 °F", "266 °F"), 1, "120 to 130 °C, NIST SP 811")
	h.requireShown(s, h.nonwoven, "140", "")
}

func TestARevisionWaitsForATableThatItWasNotDecidedWith(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.triedOut(s, table("mark", "6", "165", "9", "195"))
	facts := rules.GetPouch(h, h.paper).PouchFacts
	facts.Low = "185 °C"
	_, err := h.trySetUp(pouchOf(h.paper), &record.PouchRevised{PouchFacts: facts})
	require.True(t, fault.Is(err, fault.Busy))
	h.requireShown(s, h.paper, "7 1/2", "")
}

// No sequence of tables, readings, trials, revisions and questions shows a
// technician a number that nobody approved, or shows one again that was put in
// doubt: between approvals a value only stands or goes.
func TestNothingButAnApprovalChangesWhatTechniciansSee(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHouse(t)
		sealers := []record.ID{h.shared("5"), h.bar("1")}
		last := map[[2]record.ID]string{}
		for _, s := range sealers {
			for _, a := range h.its(s).Approvals {
				last[[2]record.ID{s, a.Pouch}] = a.Value
			}
		}
		gone := map[[2]record.ID]bool{}
		for range rapid.IntRange(1, 12).Draw(rt, "steps") {
			s := rapid.SampledFrom(sealers).Draw(rt, "sealer")
			pouch := rapid.SampledFrom([]record.ID{h.paper, h.nonwoven}).Draw(rt, "pouch")
			unit := map[record.SealerType]string{record.BarDial: "mark", record.BarDisplay: "degC"}[h.its(s).Type]
			number := func(low, high int, name string) string {
				return fmt.Sprint(rapid.IntRange(low, high).Draw(rt, name))
			}
			switch rapid.IntRange(0, 4).Draw(rt, "what") {
			case 0:
				from := rapid.IntRange(100, 180).Draw(rt, "from")
				ends := []string{"1", fmt.Sprint(from), "250", fmt.Sprint(from + 100)}
				h.triedOut(s, table(unit, ends...))
			case 1:
				_, _ = h.tryOut(s, &record.Reading{Set: typed(number(120, 190, "set"), unit), Uncertainty: known,
					Face: typed(number(100, 220, "face"), "degC"), Instrument: record.Instrument{Name: "probe"}})
			case 2:
				low := rapid.IntRange(110, 190).Draw(rt, "low")
				h.revise(pouch, fmt.Sprint(low, " °C"), fmt.Sprint(low+20, " °C"))
			case 3:
				h.triedOut(s, ladder(pouch, unit, "150", "160", "170"))
			case 4:
				value := number(120, 190, "value")
				h.approve(s, pouch, value)
				last[[2]record.ID{s, pouch}], gone[[2]record.ID{s, pouch}] = value, false
			}
			for at, value := range last {
				a, why := h.its(at[0]).Approval(h, at[1], date("2026-01-02"))
				if a != nil {
					require.False(rt, gone[at], "came back without a lead")
					require.Equal(rt, value, a.Value)
					continue
				}
				require.Equal(rt, rules.WhyQuestioned, why)
				gone[at] = true
			}
		}
		require.Equal(rt, h.state, h.replay().state)
	})
}
