package rules

import (
	"slices"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// SaidChangeover is what somebody says of a changeover.
type SaidChangeover struct {
	Entry
	Sealer     record.ID
	Changeover record.Changeover
}

// Changeover decides on a changeover: not ready until the sealer has settled,
// then a check is due for the new pouch.
func Changeover(v record.View, c SaidChangeover, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	to, why := s.Approval(v, c.Changeover.Pouch, d.Day(now))
	st := Standing(v, s, now)
	switch {
	case c.Changeover.Minutes < 0 || c.Changeover.Minutes > 24*60:
		return nil, fault.Field("minutes", "Give the minutes until a check, from 0 to 1440.")
	case c.fact():
	case st.State == record.Retired:
		return nil, s.notHere()
	case st.State == record.OutOfService || st.State == record.WithEngineering:
		return nil, fault.New(fault.Stale, "Sealer %s was taken out of service; look at the problem.", s.Number)
	case to == nil:
		return nil, fault.New(fault.Invalid, "%s", noApproval(why))
	case st.State == record.Ready && st.Pouch == c.Changeover.Pouch:
		return nil, fault.New(fault.Stale, "Sealer %s is set up for this pouch already.", s.Number)
	}
	dr, err := c.draft(d, s.subject(), &c.Changeover, now)
	if err != nil {
		return nil, err
	}
	wait := settle(c.Changeover.Minutes, s.ChangeMinutes(v, d, st.Pouch, to, now))
	s.disturb(st, &dr.Record, WhyChangeover, wait)
	if next := dr.Record.Effect.Readiness; next != nil && !c.Changeover.Pouch.IsZero() {
		next.Pouch = c.Changeover.Pouch
	}
	return []Draft{dr}, nil
}

// ChangeMinutes is how long the plan gives a sealer between two pouches: cooling
// and warming differ, and unknown settings take the longer.
func (s *Sealer) ChangeMinutes(v record.View, d *Department, from record.ID, to *Approval, now record.Time) int {
	a, _ := s.Approval(v, from, d.Day(now))
	return changeMinutes(s.plan(d), a, to)
}

// changeMinutes is ChangeMinutes from the approval that stands now.
func changeMinutes(p record.Plan, from, to *Approval) int {
	longer := max(p.CoolMinutes, p.WarmMinutes)
	if from == nil || to == nil {
		return longer
	}
	old, err1 := sealing.Q(from.Value, sealing.Unit(from.Unit))
	next, err2 := sealing.Q(to.Value, sealing.Unit(to.Unit))
	if err1 != nil || err2 != nil {
		return longer
	}
	switch c, err := next.Cmp(old); {
	case err != nil:
		return longer
	case c < 0:
		return p.CoolMinutes
	case c > 0:
		return p.WarmMinutes
	}
	return 0
}

// SaidDisturbance is what somebody says of a disturbance. Several sealers make
// one entry and a record each.
type SaidDisturbance struct {
	Entry
	Sealers     []record.ID
	Disturbance record.Disturbance
}

// Disturb decides on a disturbance of one or more sealers.
func Disturb(v record.View, c SaidDisturbance, now record.Time) ([]Draft, error) {
	if !slices.Contains(record.Disturbances(), c.Disturbance.What) {
		return nil, fault.Field("what", "Say what happened to the sealer.")
	}
	if m := c.Disturbance.Minutes; m < 0 || m > 24*60 {
		return nil, fault.Field("minutes", "Give the minutes until a check, from 0 to 1440.")
	}
	if len(c.Sealers) == 0 {
		return nil, fault.Field("sealers", "Say which sealers.")
	}
	var drafts []Draft
	for _, id := range c.Sealers {
		s, d, err := sealerAt(v, id)
		if err != nil {
			return nil, err
		}
		dr, err := c.draft(d, s.subject(), &c.Disturbance, now)
		if err != nil {
			return nil, err
		}
		wait := time.Duration(0)
		if c.Disturbance.What == record.PowerOff || c.Disturbance.Minutes > 0 {
			wait = settle(c.Disturbance.Minutes, s.plan(d).WarmMinutes)
		}
		s.disturb(Standing(v, s, now), &dr.Record, c.Disturbance.What, wait)
		drafts = append(drafts, dr)
	}
	return drafts, nil
}

// disturb takes Ready away until a check, and the count of return checks with
// it; a disturbance that a good check answered already is a fact only.
func (s *Sealer) disturb(st record.Readiness, r *record.Record, why string, wait time.Duration) {
	r.Effect.Takes = true
	if st.State != record.Ready && st.State != record.CheckDue && st.State != record.NotReady {
		return
	}
	if s.answered(r.Happened) {
		r.Effect.Nothing = NothingAnswered
		return
	}
	next := due(st, r, why)
	next.Good = 0
	if next.Need == record.NeedFresh || next.Need == record.NeedTestSeal {
		next.Need = record.NeedCheck // a pouch or two prove too little now
	}
	if next.Need == record.NeedCheck && r.Happened.From > next.CheckAt.Add(skew) && r.Happened.Said != record.Doubtful {
		next.Of = 0 // but two are wanted still if the test that was not valid may have come after it
	}
	if until := r.Happened.To.Add(wait); wait > 0 {
		next.State, next.Until = record.NotReady, max(until, next.Until)
	}
	r.Effect.Readiness = &next
}
