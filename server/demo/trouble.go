package demo

import (
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// step begins a step of a problem on its page, which is opened for it.
func (p hand) step(problem record.ID, note string) desk.ProblemIn {
	return p.stepOn(p.problem(problem), note)
}

func (p hand) stepOn(page *desk.ProblemView, note string) desk.ProblemIn {
	in := desk.ProblemIn{From: p.from(page.Size), Problem: page.Problem.ID}
	in.Note = note
	return in
}

// problem opens the page of a problem.
func (p hand) problem(id record.ID) *desk.ProblemView {
	page, err := p.desk.Problem(p.caller, id)
	if !p.keep("open page of problem", err) {
		return &desk.ProblemView{}
	}
	return page
}

func (p hand) tag(problem record.ID) {
	_, err := p.desk.Tag(p.ctx, p.caller, desk.TagIn{ProblemIn: p.step(problem, "")})
	p.keep("tag sealer", err)
}

func (p hand) see(problem record.ID) {
	_, err := p.desk.MarkSeen(p.ctx, p.caller, desk.SeenIn{ProblemIn: p.step(problem, "")})
	p.keep("mark problem as seen", err)
}

func (p hand) work(problem record.ID, w desk.WorkIn, note string) {
	w.ProblemIn = p.step(problem, note)
	_, err := p.desk.Work(p.ctx, p.caller, w)
	p.keep("take problem in hand", err)
}

func (p hand) handBack(problem record.ID, b desk.HandBackIn) {
	b.ProblemIn, b.Safety, b.Wiped = p.step(problem, b.Note), "ok", true
	_, err := p.desk.HandBack(p.ctx, p.caller, b)
	p.keep("hand sealer back", err)
}

func (p hand) fix(problem record.ID, did, was string) {
	_, err := p.desk.FirstLineFix(p.ctx, p.caller,
		desk.FixIn{ProblemIn: p.step(problem, ""), Did: []string{did}, What: was})
	p.keep("fix sealer", err)
}

func (p hand) judge(problem record.ID, blame record.Blame) {
	_, err := p.desk.Judge(p.ctx, p.caller,
		desk.JudgeIn{ProblemIn: p.step(problem, ""), Blame: blame})
	p.keep("judge problem", err)
}

// keepWindow declines the wider hold window, if a page asks.
func (p hand) keepWindow(problem record.ID, reason string) {
	page := p.problem(problem)
	if !page.HoldList.Open {
		return
	}
	_, err := p.desk.AnswerHold(p.ctx, p.caller,
		desk.AnswerHoldIn{ProblemIn: p.stepOn(page, ""), Reason: reason})
	p.keep("answer for hold window", err)
}

func (p hand) note(problem record.ID, text string) {
	_, err := p.desk.AddNote(p.ctx, p.caller, p.step(problem, text))
	p.keep("add note", err)
}

// settle gives so many packs of a hold list the same end, those sealed first
// before others; fewer if there are fewer.
func (p hand) settle(problem record.ID, count int, end desk.SettleIn) {
	page := p.problem(problem)
	for _, row := range page.HoldList.Rows {
		n := min(count, row.Count-row.Settled)
		if n < 1 {
			continue
		}
		end.ProblemIn, end.Packs, end.Count = p.stepOn(page, ""), row.ID, n
		_, err := p.desk.SettlePacks(p.ctx, p.caller, end)
		p.keep("settle packs", err)
		count -= n
	}
}

// all is more packs than any hold list has.
const all = 1 << 20

// conclude settles what is left, repackaged, and ends the hold and the problem.
func (p hand) conclude(problem record.ID, reason string) {
	p.settle(problem, all, desk.SettleIn{Where: "cart", End: "repackaged"})
	in := desk.FinishIn{ProblemIn: p.step(problem, ""), Reason: reason}
	_, err := p.desk.FinishPacks(p.ctx, p.caller, in)
	p.keep("finish hold list", err)
	in.ProblemIn = p.step(problem, "")
	_, err = p.desk.CloseProblem(p.ctx, p.caller, in)
	p.keep("close problem", err)
}

// repair is a visit of clinical engineering and what follows it.
type repair struct {
	sealer sealer
	pouch  pouch
	by     who
	start  time.Time
	back   desk.HandBackIn // the note and the work-order number among it
	close  string          // the lead's reason
}

// repaired lets clinical engineering repair a sealer, sterile processing make
// the return checks and the lead end the problem, in the course of five hours.
func (h *house) repaired(problem *record.ID, r repair) {
	after := func(minutes int, do func()) {
		h.add(r.start.Add(time.Duration(minutes)*time.Minute), do)
	}
	after(0, func() {
		h.as(r.by).work(*problem, desk.WorkIn{Stage: record.AtWork, Order: r.back.Order}, "")
	})
	after(165, func() { h.as(r.by).handBack(*problem, r.back) })
	after(200, func() { h.as(iyenath).pass(r.sealer, r.pouch) })
	after(208, func() { h.as(iyenath).pass(r.sealer, r.pouch) })
	after(270, func() {
		h.as(ollerby).keepWindow(*problem, "Ten packs of earlier days were peeled open: all good.")
		h.as(ollerby).conclude(*problem, r.close)
	})
}
