package desk_test

import (
	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// planned starts a plan of maintenance for the sealers here.
func planned(w *workplace) {
	done, err := w.StartMaintenance(w.ctx, w.lead(), desk.CommonIn{From: w.from(), SealerType: record.BarDial, Plan: record.None})
	require.NoError(w.t, err)
	w.plan = done.Seq
}

// addDisplay approves a sealer with a display for nonwoven at 125 °C.
func addDisplay(w *workplace) {
	pouch, err := w.AddPouch(w.ctx, w.lead(), desk.PouchIn{From: w.from(), Name: "Nonwoven", Material: record.Nonwoven,
		Low: "120 °C", High: "130 °C"})
	require.NoError(w.t, err)
	w.nonwoven = pouch.Subject
	added, err := w.AddSealer(w.ctx, w.lead(), desk.SealerIn{From: w.from(), Number: "5", Type: record.BarDisplay})
	require.NoError(w.t, err)
	w.display = added.Code
	in := w.approval6(w.from(), w.display)
	in.Pouch, in.Value, in.Unit = w.nonwoven, "125", "degC"
	_, err = w.Approve(w.ctx, w.lead(), in)
	require.NoError(w.t, err)
}

// lyingDisplay finds the display 7 degrees low and puts it right.
func (w *workplace) lyingDisplay(from desk.From) desk.CalibrationIn {
	point := func(position, face string) desk.PointIn {
		return desk.PointIn{Place: record.Middle, Position: position, Face: face}
	}
	return desk.CalibrationIn{From: from, Code: w.display, Found: []desk.PointIn{point("125 °C", "132 °C"), point("180 °C", "187 °C")},
		Left: []desk.PointIn{point("125 °C", "125 °C"), point("180 °C", "180 °C")}, KnownIn: desk.KnownIn{Known: "1 °C", Stated: "expanded"},
		InstrumentIn: desk.InstrumentIn{Instrument: "reference 2", Certificate: "K-7", Due: record.DateOf(w.now) + 90}}
}

func calibrate(w *workplace) {
	addDisplay(w)
	_, err := w.Calibrate(w.ctx, w.lead(), w.lyingDisplay(w.from()))
	require.NoError(w.t, err)
	list, err := w.Problems(w.lead(), 0)
	require.NoError(w.t, err)
	w.problem = list.Open[0].Problem.ID
}

// assess has another lead's first name under the packs.
func assess(w *workplace) {
	calibrate(w)
	first := w.lead()
	w.hire(record.Lead)
	other := w.lead()
	w.staff[record.Lead] = first
	done, err := w.AssessInBulk(w.ctx, other, desk.AssessIn{ProblemIn: w.in(w.from()), End: "released", Reason: "peels were whole"})
	require.NoError(w.t, err)
	w.assessed = done.Seq
}
