package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
)

// signOff has everybody who checks shown and assessed, and asks for it from then
// on. The first lead was never signed off for the continuous-feed sealer, and
// one sign-off ends within two weeks of today.
func (h *house) signOff() {
	for w := range who(len(staff)) {
		if role := staff[w].roles[0]; role != record.Technician && role != record.Lead {
			continue
		}
		in := desk.TrainedIn{From: h.from(0), Person: w.id(), Types: record.SealerTypes(), For: []record.Skill{record.ToCheck},
			AssessedBy: ollerby.id(), On: h.day(Days), DueAgain: h.day(Days) + 365}
		switch w {
		case castellune:
			in.Types = []record.SealerType{record.BarDial, record.BarDisplay, record.Impulse}
		case ollerby:
			in.AssessedBy = castellune.id()
		case ostrowin:
			in.DueAgain = h.day(0) + 12
		}
		if staff[w].firstLine {
			in.For = record.Skills()
		}
		in.Note = "Made three checks while the assessor watched"
		_, err := h.desk.SignOff(h.ctx, h.callers[castellune], in)
		h.keep("sign off "+staff[w].name, err)
	}
	_, err := h.desk.AskTraining(h.ctx, h.callers[castellune], desk.AskTrainingIn{From: h.from(0), Ask: true,
		Reason: "Policy SP-07, section 6"})
	h.keep("ask for sign-offs", err)
}
