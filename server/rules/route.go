package rules

import (
	"fmt"
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// TakenError is the cause of a fault: somebody else was first.
type TakenError struct{ Taken }

// Error tells when, for the log.
func (e *TakenError) Error() string {
	return fmt.Sprintf("taken by %s at %s", e.By, e.At)
}

// takes keeps two people from taking a problem in hand at once: of the second,
// who had not seen the first, it is refused. Who has seen it takes it over.
func (c *SaidOfProblem) takes(p *Problem) error {
	t := p.Taken
	if t == nil || t.By == orID(c.OnBehalfOf, c.By) || int64(t.Seq) < c.Seen || c.fact() {
		return nil
	}
	return fault.Wrap(&TakenError{*t}, fault.Stale, "Somebody else has taken this problem in hand.")
}

// Unseen reports whether a problem waits for somebody of clinical engineering to
// say that they know: only then the route is gone on.
func Unseen(v record.View, p *Problem, now record.Time) bool {
	s := GetSealer(v, p.Sealer)
	if s == nil || !p.NeedsEngineering() || p.Closed != 0 || len(p.Seen) > 0 || p.Stage != "" {
		return false
	}
	st := Standing(v, s, now)
	return st.Problem == p.ID && st.State == record.OutOfService
}

// Urgent reports whether a pouch that a sealer is approved for has no sealer left
// that sterile processing can make ready: all others are out of service, away or
// not approved.
func Urgent(v record.View, s *Sealer, now record.Time) bool {
	d := GetDepartment(v, s.Dept)
	if d == nil {
		return false
	}
	return slices.ContainsFunc(s.Approvals, func(a Approval) bool {
		p := GetPouch(v, a.Pouch)
		return p != nil && !p.Retired && !slices.ContainsFunc(d.Sealers, func(id record.ID) bool {
			o := GetSealer(v, id)
			return o != nil && o.ID != s.ID && canSeal(v, d, o, a.Pouch, now)
		})
	})
}

// canSeal reports whether a sealer seals a pouch, now or after a check or a
// changeover.
func canSeal(v record.View, d *Department, s *Sealer, pouch record.ID, now record.Time) bool {
	switch Standing(v, s, now).State {
	case record.OutOfService, record.WithEngineering, record.Retired:
		return false
	}
	a, _ := s.Approval(v, pouch, d.Day(now))
	return a != nil
}

// SaidCall is a step of a route that is due.
type SaidCall struct {
	Entry
	Problem record.ID
	Call    record.Called
}

// TellNext decides on a step of a route: it is refused when somebody has seen the
// problem meanwhile, or the step was made.
func TellNext(v record.View, c SaidCall, now record.Time) ([]Draft, error) {
	p := GetProblem(v, c.Problem)
	if p == nil || !Unseen(v, p, now) || p.Round.Cause != c.Call.Cause || c.Call.N < p.Round.Next {
		return nil, fault.New(fault.Stale, "Nobody is to be told any more.")
	}
	dr, err := c.draft(GetDepartment(v, p.Dept), record.Subject{Type: record.Problem, ID: p.ID}, &c.Call, now)
	if c.Call.Mail {
		dr.Tell = append(dr.Tell, Tell{Route: ToStep, To: c.Call.To})
	}
	if !c.Call.Hook.IsZero() {
		dr.Tell = append(dr.Tell, Tell{Route: ToStep, To: c.Call.Hook})
	}
	return []Draft{dr}, err
}

// routeIsSound refuses a route that nobody could go.
func routeIsSound(v record.View, d *Department, r *record.RouteSet) error {
	if r.Minutes < 1 || r.Minutes > 24*60 {
		return fault.Field("minutes", "Give minutes from 1 to 1440.")
	}
	if r.WatchDays < 0 || r.WatchDays > 365 {
		return fault.Field("watch_days", "Give days from 0 to 365.")
	}
	var ended [7]int
	for _, o := range r.Hours {
		if o.Day < 0 || o.Day > 6 || o.From < 0 || o.From >= 24*60 || o.To <= o.From || o.To > 48*60 {
			return fault.Field("hours", "Each day begins before it ends.")
		}
		if o.From < ended[o.Day] {
			return fault.Field("hours", "On one day the hours follow each other.")
		}
		ended[o.Day] = o.To
	}
	for _, on := range r.People {
		p := GetPerson(v, on.Person)
		if p == nil || p.Dept != d.ID || !p.Has(record.Engineering, record.Lead) {
			return fault.Field("people", "Choose people of clinical engineering, or leads.")
		}
		if hook, ok := d.Hooks[on.Hook]; !on.Hook.IsZero() && (!ok || hook.Off) {
			return fault.Field("people", "That webhook is not in use.")
		}
		if !on.Mail && on.Hook.IsZero() {
			return fault.Field("people", "Say how each of them is told.")
		}
		if err := daysAreSound("people", on.Away); err != nil {
			return err
		}
	}
	return daysAreSound("closed", r.Closed)
}

func daysAreSound(field string, list []record.Days) error {
	for _, d := range list {
		if d.To < d.From {
			return fault.Field(field, "The last day is before the first.")
		}
	}
	return nil
}
