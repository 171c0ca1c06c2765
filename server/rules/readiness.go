package rules

import (
	"slices"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// Codes of record.Readiness.Why: why a sealer is not ready.
const (
	WhyNew        = "new-sealer"
	WhyNewDay     = "new-day"
	WhyNewShift   = "new-shift"
	WhyChangeover = "changeover"
	WhyApproval   = "approval-changed"
	WhyNoApproval = "no-approval"
	WhyExpired    = "approval-expired"
	WhyIFU        = "ifu-revised"
	WhyQuestioned = "approval-questioned"
	WhyFail       = "failed-check"
	WhyNotValid   = "test-not-valid"
	WhyNotYet     = "not-ready-yet"
	WhyBadSeal    = "bad-seal"
	WhyRepackage  = "test-seal"
	WhyElsewhere  = "found-elsewhere"
	WhyHandedBack = "handed-back"
	WhyFixed      = "first-line-fix"
	WhyAtWork     = "at-work"
	WhyMoved      = "moved"
	WhyRetired    = "retired"
	WhyAway       = "away"
	WhyVoided     = "check-voided"
	WhyStopVoided = "stop-voided"
	WhyGood       = "good-check"
	WhyReturned   = "returned"
	WhyOverdue    = "calibration-overdue"
	WhyMaintained = "maintained"
	WhyCalibrated = "calibrated"
)

// Standing is where a sealer stands at an instant: the readiness that its last
// record left, and what time alone has made of it since. It is the one answer to
// "may I seal?" and the one place to read the rule for it: yes for a pouch only
// if State is Ready and Pouch is that pouch.
func Standing(v record.View, s *Sealer, now record.Time) record.Readiness {
	r := standing(v, s, now)
	if d := GetDepartment(v, s.Dept); r.State == record.CheckDue && d != nil && s.overdueStop(v, d.Day(now)) != nil {
		r.Why = WhyOverdue
	}
	return r
}

func standing(v record.View, s *Sealer, now record.Time) record.Readiness {
	r := s.Readiness
	switch r.State {
	case record.NotReady:
		if now < r.Until {
			return r
		}
		r.State, r.From = record.CheckDue, r.Until
		return newDay(v, s, r, now)
	case record.CheckDue:
		return newDay(v, s, r, now)
	case record.Ready:
		if why := unready(v, s, now); why != "" {
			r.State, r.Need, r.Why = record.CheckDue, record.NeedCheck, why
			r.NotValid, r.Good, r.Of, r.Until = 0, 0, 0, 0
		}
	}
	return r
}

// unready tells what time, or a decision about the approval, has done to a
// Ready; "" if it still holds.
func unready(v record.View, s *Sealer, now record.Time) string {
	r, d := s.Readiness, GetDepartment(v, s.Dept)
	if d == nil {
		return WhyNewDay
	}
	a, why := s.Approval(v, r.Pouch, d.Day(now))
	switch {
	case a == nil:
		return why
	case a.Seq != r.Approval:
		return WhyApproval
	case r.Day < d.Day(now):
		return WhyNewDay
	case r.Until != 0 && now >= r.Until:
		return WhyNewShift
	}
	return ""
}

// newDay lets a new operating day end a need that the check of the day answers
// anyway: a count of fresh pouches starts again. Return checks go on.
func newDay(v record.View, s *Sealer, r record.Readiness, now record.Time) record.Readiness {
	d := GetDepartment(v, s.Dept)
	if d == nil || r.Day >= d.Day(now) {
		return r
	}
	r.NotValid = 0
	if r.Need == record.NeedFresh || r.Need == record.NeedTestSeal {
		r.Need, r.Why = record.NeedCheck, WhyNewDay
	}
	if r.Need == record.NeedCheck {
		r.Good, r.Of = 0, 0
	}
	return r
}

// Approval returns the approval that may be used for a pouch on a day, or the
// code of why there is none. While calibration is overdue, past its grace and not
// extended, no approved setting is to be used: the sealer stands at Check due,
// shows no number, and takes no check until it is calibrated or a lead extends
// it.
func (s *Sealer) Approval(v record.View, pouch record.ID, day record.Date) (*Approval, string) {
	a, why := s.approved(v, pouch, day)
	if a != nil && s.overdueStop(v, day) != nil {
		return nil, WhyOverdue
	}
	return a, why
}

// approved is the approval that stands, whatever the sealer waits for.
func (s *Sealer) approved(v record.View, pouch record.ID, day record.Date) (*Approval, string) {
	for i := range s.Approvals {
		if a := &s.Approvals[i]; a.Pouch == pouch {
			if why := s.against(a, GetPouch(v, pouch), day); why != "" {
				return nil, why
			}
			return a, ""
		}
	}
	return nil, WhyNoApproval
}

// against is the code of why an approval that was given does not stand on a day;
// "" if it does.
func (s *Sealer) against(a *Approval, p *Pouch, day record.Date) string {
	switch {
	case a.Provisional != 0 && a.Provisional < day:
		return WhyExpired
	case s.doubted(a):
		return WhyQuestioned
	case p != nil && p.Recheck > a.Seq:
		return WhyIFU
	}
	return ""
}

// doubted reports whether an approval waits for a lead to decide.
func (s *Sealer) doubted(a *Approval) bool {
	return slices.ContainsFunc(s.Doubts, func(d Doubt) bool { return d.Approval == a.Seq })
}

// MaySeal reports whether s may seal a pouch at an instant.
func MaySeal(v record.View, s *Sealer, pouch record.ID, now record.Time) bool {
	r := Standing(v, s, now)
	return r.State == record.Ready && r.Pouch == pouch
}

// subject is the sealer's chain.
func (s *Sealer) subject() record.Subject { return record.Subject{Type: record.Sealer, ID: s.ID} }

// sealerAt loads what every command about a sealer needs.
func sealerAt(v record.View, id record.ID) (*Sealer, *Department, error) {
	s := GetSealer(v, id)
	if s == nil {
		return nil, nil, fault.New(fault.Unknown, "There is no such sealer here.")
	}
	d := GetDepartment(v, s.Dept)
	if d == nil {
		return nil, nil, fault.New(fault.Internal, "The sealer's department is missing.")
	}
	return s, d, nil
}

// plan returns how sealers of s's type are checked in d.
func (s *Sealer) plan(d *Department) record.Plan { return d.Plan(s.Type) }

// Plan returns how sealers of a type are checked: as the department set it, or
// the default, which asks for a look, a dye test and nothing more.
func (d *Department) Plan(t record.SealerType) record.Plan {
	if p, ok := d.Plans[t]; ok {
		return p
	}
	return DefaultPlan(t)
}

// DefaultPlan is where a department starts from (common practice, no source;
// the IFU of the sealer and of the pouch decide).
func DefaultPlan(t record.SealerType) record.Plan {
	p := record.Plan{
		Places:     []record.Place{record.Left, record.Middle, record.Right},
		Tests:      []record.Test{record.Look, record.Dye},
		ReturnGood: 1, CoolMinutes: 40, WarmMinutes: 15,
	}
	switch t {
	case record.Impulse:
		p.CoolMinutes, p.WarmMinutes = 0, 0 // heats for each seal alone
	case record.Continuous:
		p.Places, p.CoolMinutes, p.AskShown = []record.Place{record.Whole}, 25, true
	case record.BarDisplay:
		p.AskShown = true
	}
	return p
}

// settle is how long a sealer takes before a check makes sense.
func settle(minutes, planned int) time.Duration {
	if minutes > 0 {
		planned = minutes
	}
	return time.Duration(planned) * time.Minute
}
