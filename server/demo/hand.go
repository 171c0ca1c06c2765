package demo

import (
	"errors"
	"strconv"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// hand is a person at work. Whatever it does it does through the desk, by a page
// that it has just opened.
type hand struct {
	*house
	caller desk.Caller
}

// page opens the page of a sealer with a pouch in hand.
func (p hand) page(s sealer, in pouch) *desk.SealerView {
	page, err := p.desk.Sealer(p.caller, p.codes[s], in.id())
	if !p.keep("open page of sealer "+sealers[s].Number, err) {
		return &desk.SealerView{}
	}
	return page
}

// due reports whether a page asks for the check of the day with a pouch, and for
// nothing more than that.
func due(page *desk.SealerView, in pouch) bool {
	st := page.Standing
	return st.State == record.CheckDue && st.Need == record.NeedCheck &&
		(st.Why != rules.WhyChangeover || st.Pouch == in.id())
}

func ready(page *desk.SealerView, in pouch) bool {
	return page.Standing.State == record.Ready && page.Standing.Pouch == in.id()
}

// passIfDue makes the check that a page asks for, if it does.
func (p hand) passIfDue(s sealer, in pouch) {
	if due(p.page(s, in), in) {
		p.pass(s, in)
	}
}

func (p hand) pass(s sealer, in pouch) { p.check(s, in, desk.CheckIn{Outcome: record.Pass}) }

// fails finds a fault in a check and tags the sealer that it takes out of
// service.
func (p hand) fails(s sealer, in pouch, c desk.CheckIn) desk.Done {
	c.Outcome = record.Fail
	done := p.check(s, in, c)
	p.tag(done.Problem)
	return done
}

// check records a check at the approved setting.
func (p hand) check(s sealer, in pouch, c desk.CheckIn) desk.Done {
	page := p.page(s, in)
	if page.Pouch == nil || page.Pouch.Setting == nil {
		p.keep("check sealer "+sealers[s].Number, errors.New("no setting for "+pouches[in].Name))
		return desk.Done{}
	}
	from := p.from(page.Size)
	c.ID, c.Seen = from.ID, from.Seen
	c.Code, c.Pouch, c.Approval = p.codes[s], in.id(), page.Pouch.Setting.Approval
	if page.Plan.AskShown && c.Shown == "" && c.Outcome == record.Pass {
		value, err := strconv.Atoi(page.Pouch.Setting.Value)
		p.keep("read setting", err)
		c.Shown = strconv.Itoa(value + p.luck.IntN(3) - 1)
	}
	done, err := p.desk.Check(p.ctx, p.caller, c)
	p.keep("check sealer "+sealers[s].Number, err)
	return done
}

// openDye says that a new box of dye is in use.
func (p hand) openDye(lot string, expires record.Date) {
	_, err := p.desk.OpenBox(p.ctx, p.caller, desk.BoxIn{What: record.DyeBox, Lot: lot, Expires: expires})
	p.keep("open box "+lot, err)
}

// changeover sets a sealer for another pouch, if it is ready for one.
func (p hand) changeover(s sealer, to pouch) {
	page := p.page(s, to)
	if page.Standing.State != record.Ready || ready(page, to) {
		return
	}
	_, err := p.desk.Changeover(p.ctx, p.caller,
		desk.ChangeoverIn{From: p.from(page.Size), Code: p.codes[s], Pouch: to.id()})
	p.keep("change sealer "+sealers[s].Number+" over", err)
}

// seal counts packs, if the page says that they may be sealed.
func (p hand) seal(s sealer, in pouch, count int) {
	if page := p.page(s, in); ready(page, in) {
		p.count(s, in, count, p.from(page.Size))
	}
}

// count puts packs on the log.
func (p hand) count(s sealer, in pouch, count int, from desk.From) desk.Done {
	load := "S1-" + p.clock.Now().In(p.zone).Format("0102-15")
	done, err := p.desk.LogPacks(p.ctx, p.caller,
		desk.PacksIn{From: from, Code: p.codes[s], Pouch: in.id(), Count: count, Load: load})
	p.keep("count packs of sealer "+sealers[s].Number, err)
	return done
}

// stops reports a bad seal found at the bench and tags the sealer that it takes
// out of service.
func (p hand) stops(s sealer, in pouch, b desk.BadSealIn) desk.Done {
	b.Found = record.AtBench
	done := p.report(s, in, b)
	p.tag(done.Problem)
	return done
}

// report reports a bad seal.
func (p hand) report(s sealer, in pouch, b desk.BadSealIn) desk.Done {
	b.From, b.Code, b.Pouch = p.from(p.page(s, in).Size), p.codes[s], in.id()
	done, err := p.desk.ReportBadSeal(p.ctx, p.caller, b)
	p.keep("report bad seal of sealer "+sealers[s].Number, err)
	return done
}

// photograph adds a photograph to a report.
func (p hand) photograph(of desk.Done, jpeg []byte) {
	_, err := p.desk.AddPhotograph(p.ctx, p.caller,
		desk.PhotoIn{From: p.from(of.Size), Of: of.ID, Bytes: jpeg})
	p.keep("add photograph", err)
}

// notUsed says of sealers that they are not used on a day, unless they are away.
func (p hand) notUsed(day record.Date, list ...sealer) {
	in := desk.NotUsedIn{FromDay: day, Why: "No work for it today"}
	for _, s := range list {
		page := p.page(s, paper)
		in.From = p.from(page.Size)
		if page.Standing.State == record.CheckDue {
			in.Codes = append(in.Codes, p.codes[s])
		}
	}
	if len(in.Codes) == 0 {
		return
	}
	_, err := p.desk.NotUsed(p.ctx, p.caller, in)
	p.keep("say not used", err)
}

// powerWasOff says of all sealers that they were without power.
func (p hand) powerWasOff() {
	in := desk.DisturbIn{From: p.from(p.page(one, paper).Size), All: true, What: record.PowerOff}
	in.Note = "Power and Wi-Fi were out from 03:00 to 03:12."
	_, err := p.desk.Disturb(p.ctx, p.caller, in)
	p.keep("say power was off", err)
}

// release lets a lot of a pouch be used again.
func (p hand) release(of pouch, lot, why string) {
	_, err := p.desk.ReleaseLot(p.ctx, p.caller,
		desk.ReleaseIn{From: p.from(0), Pouch: of.id(), Lot: lot, Why: why})
	p.keep("release lot", err)
}
