package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
)

// faces are what a calibration of sealer 5 measured at 125 and at 180: left,
// middle, right.
type faces struct{ at125, at180 [3]string }

var (
	true5   = faces{[3]string{"125.2 °C", "125.6 °C", "125.3 °C"}, [3]string{"180.1 °C", "180.6 °C", "180.2 °C"}}
	hotter5 = faces{[3]string{"131.8 °C", "132.4 °C", "132.1 °C"}, [3]string{"186.7 °C", "187.3 °C", "187.0 °C"}}
)

func (f faces) points() (list []desk.PointIn) {
	for i, place := range []record.Place{record.Left, record.Middle, record.Right} {
		list = append(list, desk.PointIn{Place: place, Position: "125 °C", Face: f.at125[i]},
			desk.PointIn{Place: place, Position: "180 °C", Face: f.at180[i]})
	}
	return list
}

// calibrates holds the display of sealer 5 against the reference instrument.
func (p hand) calibrates(found faces, left []desk.PointIn, report string) {
	_, err := p.desk.Calibrate(p.ctx, p.caller, desk.CalibrationIn{From: p.from(p.page(five, paper).Size), Code: p.codes[five],
		Found: found.points(), Left: left, Tolerance: "5 °C", Report: report, KnownIn: desk.KnownIn{Known: "1 °C", Stated: "expanded"},
		InstrumentIn: desk.InstrumentIn{Instrument: "Reference 2, contact probe", Certificate: "K-20931", Due: p.day(0) + 200}})
	p.keep("calibrate sealer 5", err)
}

// assessed settles the packs that the calibration put on hold in bulk, with the
// names of both leads.
func (h *house) assessed(day record.Date) {
	problem, first := new(record.ID), new(record.Seq)
	h.at(day, "13:48", func() {
		lead := h.as(castellune)
		*problem = lead.fromCalibration()
		done, err := h.desk.AssessInBulk(h.ctx, lead.caller, desk.AssessIn{
			ProblemIn: desk.ProblemIn{From: lead.from(lead.page(five, paper).Size), Problem: *problem}, End: "used",
			Reason: "Test seals kept of these weeks peeled whole; infection prevention and the pouch maker were told"})
		h.keep("assess in bulk", err)
		*first = done.Seq
	})
	h.at(day, "15:22", func() {
		second := h.as(ollerby)
		_, err := h.desk.ConfirmBulk(h.ctx, second.caller, desk.ConfirmIn{
			ProblemIn: desk.ProblemIn{From: second.from(second.page(five, paper).Size), Problem: *problem}, Assessed: *first})
		h.keep("confirm in bulk", err)
		_, err = h.desk.CloseProblem(h.ctx, second.caller, desk.FinishIn{ProblemIn: second.step(*problem, ""),
			Reason: "Display adjusted at the calibration; looked at again after a month."})
		h.keep("close problem", err)
	})
}

// fromCalibration is the open problem that a calibration of sealer 5 opened.
func (p hand) fromCalibration() record.ID {
	list, err := p.desk.Problems(p.caller, 0)
	if p.keep("look for the calibration's problem", err) {
		for _, row := range list.Open {
			if row.Problem.What == "calibration" {
				return row.Problem.ID
			}
		}
	}
	return record.ID{}
}
