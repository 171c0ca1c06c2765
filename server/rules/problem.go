package rules

import (
	"slices"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// fixAgain is how long a second first-line fix for the same cause is not enough,
// and none at all while the first is the last repair.
const fixAgain = 30 * 24 * time.Hour

// SaidOfProblem is a step of a problem: one of the bodies of record/problem.go.
type SaidOfProblem struct {
	Entry
	Problem record.ID
	Step    record.Body
	Who     *Person // who says it, nil by link; for what only some may do
	// Of a PackSettled: packs on the hold list as it is now, and in the entry of
	// the pack log that it names. 0 is not known.
	Listed, Logged int
}

// Step decides on a step of a problem. Steps change the sealer where table R20
// says so: at work, handed back, first-line fix; sent and seen change nothing.
func Step(v record.View, c SaidOfProblem, now record.Time) ([]Draft, error) {
	p := GetProblem(v, c.Problem)
	if p == nil {
		return nil, fault.New(fault.Unknown, "There is no such problem here.")
	}
	if p.Closed != 0 {
		if _, photo := c.Step.(*record.Photograph); !photo {
			return nil, fault.New(fault.Stale, "Problem %d is closed.", p.Number)
		}
	}
	d, s := GetDepartment(v, p.Dept), GetSealer(v, p.Sealer)
	if !makesSense(c.Step, record.Subject{Type: record.Problem, ID: p.ID}) {
		return nil, fault.New(fault.Invalid, "This is no step of a problem.")
	}
	if err := c.allowed(v, p, s, now); err != nil {
		return nil, err
	}
	dr, err := c.draft(d, record.Subject{Type: record.Problem, ID: p.ID}, c.Step, now)
	if err != nil {
		return nil, err
	}
	if s != nil {
		moveSealer(v, p, s, d, c.Step, &dr.Record, now)
	}
	return []Draft{dr}, nil
}

// allowed refuses what makes no sense at this point of the problem.
func (c *SaidOfProblem) allowed(v record.View, p *Problem, s *Sealer, now record.Time) error {
	st := record.Readiness{}
	if s != nil {
		st = Standing(v, s, now)
	}
	out := st.Problem == p.ID && (st.State == record.OutOfService || st.State == record.WithEngineering)
	switch b := c.Step.(type) {
	case *record.Tagged:
		return unless(out, "The sealer is not out of service any more.")
	case *record.Seen:
		return unless(p.NeedsEngineering(), "This problem is not for clinical engineering.")
	case *record.Work:
		if b.Stage != record.AtWork && b.Stage != record.Vendor {
			return fault.Field("stage", "Say whether you are at work or a vendor was called.")
		}
		if err := unless(out, "The sealer is not out of service any more."); err != nil {
			return err
		}
		return c.takes(p)
	case *record.HandedBack:
		if !slices.Contains(record.Findings(), b.Finding) {
			return fault.Field("finding", "Say what was found; None found is an answer, too.")
		}
		return unless(out, "The sealer is not out of service any more.")
	case *record.FirstLineFix:
		return c.firstLine(v, p, s, b, out, now)
	case *record.Judged:
		if b.Blame != record.BlamePlace && b.Blame != record.BlameHeat && b.Blame != record.BlameBoth {
			return fault.Field("blame", "Say place, heat or unknown.")
		}
	case *record.HoldChanged:
		if b.To < b.From {
			return fault.Field("to", "The end is before the beginning.")
		}
		if b.Reason == "" {
			return fault.Field("reason", "Give the reason.")
		}
	case *record.HoldAnswered:
		if b.Reason == "" {
			return fault.Field("reason", "Give the reason: it stays with your name.")
		}
	case *record.PacksLocated:
		return c.locates(b)
	case *record.PhotoMarked:
		return p.marks(b)
	case *record.HoldTold:
		return tells(b)
	case *record.PackSettled:
		return c.settles(p, b)
	case *record.BulkAssessed:
		return c.assesses(p, b)
	case *record.BulkConfirmed:
		return c.confirms(p, b)
	case *record.PacksSettled:
		return unless(p.SettledAt == 0, "The packs of this problem are settled already.")
	case *record.ProblemClosed:
		return closes(p, st)
	}
	return nil
}

func unless(ok bool, why string) error {
	if ok {
		return nil
	}
	return fault.New(fault.Stale, "%s Look at the problem again.", why)
}

// firstLine keeps a first-line fix within its limits.
func (c *SaidOfProblem) firstLine(v record.View, p *Problem, s *Sealer, b *record.FirstLineFix, out bool, now record.Time) error {
	d := GetDepartment(v, p.Dept)
	switch {
	case !out || s == nil:
		return unless(false, "The sealer is not out of service any more.")
	case c.Who == nil || d == nil || !d.SignedOff(c.Who, record.ToFix, s.Type, d.Day(now)):
		return fault.New(fault.Forbidden, "A first-line fix is for the lead or somebody trained for it.")
	case p.OnlyCE:
		return fault.New(fault.Stale, "A fix was tried and the fault came back: only clinical engineering can hand the sealer back now.")
	case LastFix(v, p) != nil:
		return fault.New(fault.Stale, "A first-line fix was the last repair here, and within 30 days there is a fault: it is for clinical engineering.")
	case OnlyEngineering(v, p):
		return fault.New(fault.Stale, "No fault was found here a short while ago, and this is one: it is for clinical engineering.")
	case len(b.Did) == 0:
		return fault.Field("did", "Say what was done.")
	case b.Cause == "":
		return fault.Field("was", "Say what it was.")
	}
	for _, f := range s.Fixes {
		if f.Problem != p.ID && now.Sub(f.At) <= fixAgain && f.Cause == b.Cause {
			return fault.New(fault.Stale, "The same cause was fixed here within 30 days: this one is for clinical engineering.")
		}
	}
	return nil
}

// settles keeps packs from having two ends: of two people who settle the same
// ones at once, one is told.
func (c *SaidOfProblem) settles(p *Problem, b *record.PackSettled) error {
	switch b.End {
	case "repackaged", "discarded", "used", "released", "not-found":
	default:
		return fault.Field("end", "Say what became of the packs.")
	}
	if b.Count < 1 {
		return fault.Field("count", "Give the number of packs.")
	}
	if b.Reason == "" && (b.End == "released" || b.End == "not-found") {
		return fault.Field("reason", "Give the reason: it stays with your name.")
	}
	if b.End == "not-found" && (c.Who == nil || !c.Who.Has(record.Lead)) {
		return fault.New(fault.Forbidden, "Packs that are not found are for the lead to sign.")
	}
	all, logged := p.settledPacks(b.Packs)
	if c.Listed > 0 && all+b.Count > c.Listed || c.Logged > 0 && logged+b.Count > c.Logged {
		return fault.New(fault.Stale, "So many are not left: some were settled meanwhile. "+
			"Look at the list again.")
	}
	return nil
}

// locates wants a place and no more packs than were counted.
func (c *SaidOfProblem) locates(b *record.PacksLocated) error {
	switch {
	case !slices.Contains(record.Wheres(), b.Where):
		return fault.Field("where", "Say where they are.")
	case b.Count < 1:
		return fault.Field("count", "Give the number of packs.")
	case c.Listed > 0 && b.Count > c.Listed || c.Logged > 0 && b.Count > c.Logged:
		return fault.Field("count", "So many are not on the list.")
	}
	return nil
}

// marks wants a photograph of this problem and a place on it.
func (p *Problem) marks(b *record.PhotoMarked) error {
	if !slices.ContainsFunc(p.Photos, func(f Photo) bool { return f.Record == b.Photo }) {
		return fault.New(fault.Unknown, "There is no such photograph of this problem.")
	}
	if b.X < 0 || b.X > 1000 || b.Y < 0 || b.Y > 1000 {
		return fault.Field("third", "Mark a place on the photograph.")
	}
	return nil
}

func tells(b *record.HoldTold) error {
	if !slices.Contains(record.Whom(), b.Whom) {
		return fault.Field("whom", "Say who was told.")
	}
	if len(b.Reference) > 60 {
		return fault.Field("reference", "Type the number under which they keep it, at most 60 characters.")
	}
	return nil
}

// settledPacks counts packs that have an end: all of them, and those of one
// entry of the pack log.
func (p *Problem) settledPacks(entry record.ID) (all, logged int) {
	for _, s := range p.Settled {
		all += s.Count
		if s.Packs == entry {
			logged += s.Count
		}
	}
	return all, logged
}

// closes wants the two other endings first.
func closes(p *Problem, st record.Readiness) error {
	if st.Problem == p.ID && st.State != record.Retired {
		return fault.New(fault.Stale, "The sealer is not back yet; the problem stays open.")
	}
	if p.SettledAt == 0 {
		return fault.New(fault.Stale, "The packs are not settled yet; the problem stays open.")
	}
	return nil
}

// moveSealer gives the sealer its next standing by a step of its problem.
func moveSealer(v record.View, p *Problem, s *Sealer, d *Department, step record.Body, r *record.Record, now record.Time) {
	st := Standing(v, s, now)
	if st.Problem != p.ID {
		return
	}
	next := st
	next.From, next.Day = r.Happened.From, max(r.Day, r.Effect.Arrived)
	switch step.(type) {
	case *record.Work:
		next.State, next.Why = record.WithEngineering, WhyAtWork
	case *record.HandedBack:
		next = returnChecks(next, s.plan(d), WhyHandedBack)
	case *record.FirstLineFix:
		next = returnChecks(next, s.plan(d), WhyFixed)
	default:
		return
	}
	r.Effect.Sealer, r.Effect.Takes, r.Effect.Readiness = s.ID, true, &next
}

func returnChecks(r record.Readiness, p record.Plan, why string) record.Readiness {
	r.State, r.Why, r.Need = record.CheckDue, why, record.NeedReturn
	r.Good, r.Of, r.NotValid = 0, max(1, p.ReturnGood), 0
	return r
}

// Attach decides on something that belongs to a subject and changes nothing
// else: a photograph, a note.
func Attach(v record.View, e Entry, s record.Subject, dept record.ID, body record.Body, now record.Time) ([]Draft, error) {
	if s.Type == record.Problem {
		return Step(v, SaidOfProblem{Entry: e, Problem: s.ID, Step: body}, now)
	}
	dr, err := e.draft(GetDepartment(v, dept), s, body, now)
	return []Draft{dr}, err
}
