package rules

import (
	"slices"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// SaidCheck is what somebody says of a check.
type SaidCheck struct {
	Entry
	Sealer record.ID
	Check  record.Check
}

// shownTolerance is how far a display may read from the approved setting before
// the check is not one at that setting (common practice, no source; the IFU
// decides).
var shownTolerance = sealing.Quantity{Value: sealing.Whole(5), Unit: sealing.Celsius}

// Check decides on a check. A good one gives Ready if everything that it must
// answer came before it; a bad one takes the sealer out of service; one before
// the settle time is no check at all.
func Check(v record.View, c SaidCheck, now record.Time) ([]Draft, error) {
	s, d, err := sealerAt(v, c.Sealer)
	if err != nil {
		return nil, err
	}
	dr, err := c.draft(d, s.subject(), &c.Check, now)
	if err != nil {
		return nil, err
	}
	st := Standing(v, s, now)
	if err := c.refuse(v, s, d, st, dr.Record.Happened, now); err != nil {
		return nil, err
	}
	r := &dr.Record
	if c.Check.Outcome == record.Pass {
		if next := dr.Record.Day + 1; d.covers(r.Day, r.Happened.From) == next {
			r.Covers = next
		}
		if !d.SignedOff(GetPerson(v, c.maker()), record.ToCheck, s.Type, r.Day) {
			r.Effect.Nothing = NothingUntrained
			return []Draft{dr}, nil
		}
		pass(v, s, d, st, &c, r, now)
		return []Draft{dr}, nil
	}
	r.Effect.Takes = true
	switch c.Check.Outcome {
	case record.NotYet:
		notYet(s, st, r)
	case record.NotValid:
		notValid(v, s, d, st, &c, &dr, now)
	case record.Fail:
		failed(v, s, st, &c.Entry, &dr, WhyFail)
	}
	return []Draft{dr}, nil
}

// refuse tells why a check cannot be taken as it is. What is told from a queue
// or as something that did happen is refused only for what is wrong in itself.
func (c *SaidCheck) refuse(v record.View, s *Sealer, d *Department, st record.Readiness, h record.Span, now record.Time) error {
	k := &c.Check
	a, why := s.Approval(v, k.Pouch, d.Day(now))
	if !slices.Contains([]record.Outcome{record.Pass, record.Fail, record.NotYet, record.NotValid}, k.Outcome) {
		return fault.Field("outcome", "Say how the check ended: pass, fail, not ready or not valid.")
	}
	if k.Outcome == record.NotValid && k.Reason == "" {
		return fault.Field("reason", "Say why the test is not valid.")
	}
	if k.Outcome == record.Pass && a != nil && a.Seq == k.Approval {
		if err := shownAsApproved(k.Shown, a); err != nil {
			return err
		}
	}
	if c.fact() {
		return nil
	}
	switch {
	case st.State == record.Retired:
		return s.notHere()
	case st.State == record.OutOfService || st.State == record.WithEngineering:
		return fault.New(fault.Stale, "Sealer %s was taken out of service. Do not seal with it; look at the problem.", s.Number)
	case a == nil:
		return fault.New(fault.Stale, "%s", noApproval(why))
	case a.Seq != k.Approval:
		return fault.New(fault.Stale, "The approved setting was changed meanwhile. Look at the new one, then test again.")
	case st.State == record.NotReady && k.Outcome != record.NotYet:
		return notYetReady(d, st, now)
	case Awaited(st) && !st.Pouch.IsZero() && st.Pouch != k.Pouch:
		return fault.New(fault.Stale, "This sealer is set up for another pouch. Record the changeover first.")
	case k.Outcome == record.Pass && !d.SignedOff(GetPerson(v, c.maker()), record.ToCheck, s.Type, d.Day(now)):
		return notSignedOff()
	case k.Outcome == record.Pass && !s.current(&c.Entry, st):
		return fault.New(fault.Stale, "Something happened to sealer %s since this page was opened. Look at it again.", s.Number)
	}
	if k.Outcome == record.Pass {
		if kit := d.Kit(k); kit.Expired(d.Day(now)) {
			return fault.Field("kit", "The test box of lot %s expired on %s. Open a new one, then test again.", kit.Lot, kit.Expires)
		}
		return wanting(s.plan(d), st, k)
	}
	return nil
}

// wanting refuses a good check that leaves out what the plan asks for.
func wanting(p record.Plan, st record.Readiness, k *record.Check) error {
	if missing := missingPlaces(p, st, k.Places); len(missing) > 0 {
		return fault.Field("places", "Test pouches are wanted at these places, too: %s.", listed(missing))
	}
	if missing := missingTests(p, st, k.Tests); len(missing) > 0 {
		return fault.Field("tests", "These tests are wanted, too: %s.", listed(missing))
	}
	return nil
}

// current reports whether the page behind a good check knew of everything that
// took Ready away or counts towards it.
func (s *Sealer) current(e *Entry, st record.Readiness) bool {
	counting := st.Of > 0
	for _, t := range s.Touches {
		if int64(t.Seq) >= e.Seen && (t.Takes || counting) && !t.before(e) {
			return false
		}
	}
	return s.Forgotten == record.None || int64(s.Forgotten) < e.Seen
}

func noApproval(why string) string {
	switch why {
	case WhyExpired:
		return "The provisional approval for this pouch has ended. A lead has to approve the setting again."
	case WhyQuestioned:
		return "The approved setting is in doubt. Do not use it here until a lead decides."
	case WhyOverdue:
		return "Calibration is overdue. Do not use this sealer until it is calibrated or a lead extends it."
	case WhyIFU:
		return "The IFU of this pouch was revised. Do not use it here until a lead decides."
	}
	return "There is no approved setting for this pouch on this sealer. A lead can add one."
}

func notYetReady(d *Department, st record.Readiness, now record.Time) error {
	wait := (st.Until.Sub(now) + time.Minute - 1).Truncate(time.Minute)
	return fault.New(fault.Busy, "Not ready yet, %d min. A check is possible from %s; nothing was recorded.",
		int(wait.Minutes()), st.Until.In(Zone(d.Zone)).Format("15:04"))
}

// shownAsApproved refuses a good check at a display that reads otherwise.
func shownAsApproved(shown string, a *Approval) error {
	if shown == "" {
		return nil
	}
	unit := sealing.Unit(a.Unit)
	got, err := sealing.ParseQuantity(shown, unit)
	if err != nil {
		return fault.Field("shown", "Type what the display shows, for example %s.", a.Value)
	}
	want, err := sealing.Q(a.Value, unit)
	if err != nil || unit != sealing.Celsius && unit != sealing.Fahrenheit {
		return nil
	}
	if differs, err := sealing.Differs(want, got, shownTolerance); err == nil && differs {
		return fault.Field("shown", "It shows %s, approved is %s. Set it, wait until it shows that, and test again; "+
			"or record Not ready.", got, want)
	}
	return nil
}

// missingPlaces lists where test pouches are still wanted.
func missingPlaces(p record.Plan, st record.Readiness, tested []record.Place) []record.Place {
	want := p.Places
	switch st.Need {
	case record.NeedTestSeal, record.NeedFresh:
		return nil // one pouch, wherever the doubt is
	case record.NeedPlaces:
		want = []record.Place{record.Left, record.Middle, record.Right}
	}
	if slices.Contains(tested, record.Whole) {
		return nil
	}
	return lacking(want, tested)
}

// missingTests lists the plan's tests that were not made. After a fault of
// packing the sealer is not in doubt: a look at one test seal is enough.
func missingTests(p record.Plan, st record.Readiness, made []record.Test) []record.Test {
	if st.Need == record.NeedTestSeal {
		return nil
	}
	return lacking(p.Tests, made)
}

func lacking[T comparable](want, have []T) (missing []T) {
	for _, w := range want {
		if !slices.Contains(have, w) {
			missing = append(missing, w)
		}
	}
	return missing
}

func listed[T ~string](list []T) string {
	text := make([]string, len(list))
	for i, v := range list {
		text[i] = string(v)
	}
	return strings.Join(text, ", ")
}

// pass gives Ready, counts towards it, or says why it gives nothing.
func pass(v record.View, s *Sealer, d *Department, st record.Readiness, c *SaidCheck, r *record.Record, now record.Time) {
	if r.Effect.Nothing = nothing(v, s, d, st, c, r, now); r.Effect.Nothing != "" {
		return
	}
	next := st
	next.Pouch, next.Approval, next.Day = c.Check.Pouch, c.Check.Approval, max(r.Day, r.Covers)
	if !partial(st) {
		next.CheckAt = r.Happened.From
	}
	r.Effect.Joins, r.Effect.Readiness = st.Problem, &next
	if next.Good++; next.Good < st.Of {
		return
	}
	next.State, next.Need, next.From, next.Why = record.Ready, record.NeedNothing, r.Happened.From, WhyGood
	if st.Need == record.NeedReturn {
		next.Why = WhyReturned
	}
	next.Good, next.Of, next.NotValid, next.Problem = 0, 0, 0, record.ID{}
	next.Until = shiftEnd(s.plan(d), d, r.Happened.From, next.Day)
}

// partial reports whether a good check rests on one before it, so that it answers
// nothing that came in between: CheckAt stays when the first of them began.
func partial(st record.Readiness) bool {
	return st.Need == record.NeedTestSeal || st.Need == record.NeedFresh || st.Good > 0
}

// nothing tells why a good check gives nothing; "" if it does.
func nothing(v record.View, s *Sealer, d *Department, st record.Readiness, c *SaidCheck, r *record.Record, now record.Time) string {
	a, _ := s.Approval(v, c.Check.Pouch, d.Day(now))
	switch {
	case st.State != record.CheckDue && st.State != record.NotReady && st.State != record.Ready:
		return NothingNotDue
	case st.State != record.Ready && r.Happened.From < st.Until:
		return NothingSettling
	case a == nil || a.Seq != c.Check.Approval:
		return NothingApproval
	case !st.Pouch.IsZero() && st.Pouch != c.Check.Pouch && Awaited(st):
		return NothingOtherBag
	case max(r.Day, r.Covers) < d.Day(now):
		return NothingOldDay
	case len(missingPlaces(s.plan(d), st, c.Check.Places)) > 0:
		return NothingPlaces
	case len(missingTests(s.plan(d), st, c.Check.Tests)) > 0:
		return NothingTests
	case d.Kit(&c.Check).Expired(r.Day):
		return NothingExpired
	case st.State == record.Ready && st.CheckAt > r.Happened.From:
		return NothingNotDue
	}
	return s.gives(&c.Entry, r.Happened)
}

// Awaited reports whether a particular pouch is awaited: after a changeover, and
// whenever something is to be answered at the pouch it happened with.
func Awaited(st record.Readiness) bool {
	return st.State == record.Ready || st.Why == WhyChangeover || st.Good > 0 ||
		st.Need == record.NeedFresh || st.Need == record.NeedTestSeal
}

// shiftEnd is the next check time of a plan that asks for a check per shift; 0
// if the day's check lasts to the end of the operating day.
func shiftEnd(p record.Plan, d *Department, from record.Time, last record.Date) (end record.Time) {
	early := time.Duration(d.EarlyMinutes) * time.Minute
	for day := last - 1; day <= last; day++ {
		for _, minute := range p.PerShift {
			t := Begin(Zone(d.Zone), minute, day)
			if minute < d.DayStart {
				t = Begin(Zone(d.Zone), minute, day+1)
			}
			if t > from.Add(early) && (end == 0 || t < end) {
				end = t
			}
		}
	}
	return end
}

func notYet(s *Sealer, st record.Readiness, r *record.Record) {
	if st.State != record.CheckDue && st.State != record.Ready || s.answered(r.Happened) {
		return // while settling it changes nothing either
	}
	next := due(st, r, WhyNotYet)
	next.Good = 0 // good ones count in a row
	r.Effect.Readiness = &next
}

// notValid asks for two fresh pouches the first time; a second one in a row
// counts as a fail. One check after it is no answer to it, unless on another day.
func notValid(v record.View, s *Sealer, d *Department, st record.Readiness, c *SaidCheck, dr *Draft, now record.Time) {
	r := &dr.Record
	if st.State == record.OutOfService || st.State == record.WithEngineering || st.State == record.Retired {
		r.Effect.Joins = st.Problem
		return
	}
	if s.answered(r.Happened) && r.Day < d.dayOf(s.Readiness.CheckAt, now) {
		return
	}
	if st.NotValid > 0 {
		failed(v, s, st, &c.Entry, dr, WhyNotValid)
		return
	}
	next := due(st, r, WhyNotValid)
	next.Pouch, next.NotValid, next.Good = c.Check.Pouch, 1, 0
	switch st.Need {
	case record.NeedReturn:
		next.Of = max(2, st.Of)
	case record.NeedPlaces: // asks for more than two pouches anyway
	default:
		next.Need, next.Of, next.CheckAt = record.NeedFresh, 2, r.Happened.From
	}
	r.Effect.Readiness = &next
}

// failed takes the sealer out of service and opens a problem, or joins the open
// one; a failed return check leaves clinical engineering as the only way back.
func failed(v record.View, s *Sealer, st record.Readiness, e *Entry, dr *Draft, why string) {
	r := &dr.Record
	if p := s.returnedAfter(v, r.Happened); p != nil {
		r.Effect.Joins = p.ID
		return
	}
	if st.State == record.Retired {
		atRetired(v, st, dr)
		return
	}
	next := outOfService(st, r, why)
	if st.Problem.IsZero() {
		next.Problem = e.ID
		opens(v, dr)
	} else {
		r.Effect.Joins = st.Problem
		if st.Need == record.NeedReturn || st.Need == record.NeedPlaces {
			dr.Tell = append(dr.Tell, Tell{Route: ToEngineering, To: st.Problem})
		}
	}
	if st.State == record.WithEngineering {
		next.State = record.WithEngineering
	}
	r.Effect.Readiness = &next
}

// returnedAfter is the problem whose fix and return came after a fault that is
// told late: the fault belongs to it and the sealer stays as it is.
func (s *Sealer) returnedAfter(v record.View, h record.Span) *Problem {
	for _, id := range s.Problems {
		p := GetProblem(v, id)
		if p != nil && p.Returned != 0 && p.Fixed > h.To.Add(skew) && h.Said != record.Doubtful {
			return p
		}
	}
	return nil
}

// atRetired finds a problem for a fault of a sealer that seals no more: its packs
// are still about.
func atRetired(v record.View, st record.Readiness, dr *Draft) {
	if p := GetProblem(v, st.Problem); p != nil && p.Closed == 0 {
		dr.Record.Effect.Joins = p.ID
		return
	}
	opens(v, dr)
}

// due asks for a check, if nothing more than that is asked for already. What is
// settling goes on settling.
func due(st record.Readiness, r *record.Record, why string) record.Readiness {
	next := st
	next.Why, next.From = why, r.Happened.From
	if st.State == record.Ready {
		next.Until = 0
	}
	if st.State != record.NotReady {
		next.State = record.CheckDue
	}
	next.Day = max(r.Day, r.Effect.Arrived)
	if next.Need == record.NeedNothing {
		next.Need = record.NeedCheck
	}
	return next
}

func outOfService(st record.Readiness, r *record.Record, why string) record.Readiness {
	next := st
	next.State, next.Why, next.From, next.Until = record.OutOfService, why, r.Happened.From, 0
	next.Need, next.Good, next.Of, next.NotValid = record.NeedNothing, 0, 0, 0
	next.Day = max(r.Day, r.Effect.Arrived)
	return next
}

// opens gives the record's problem its number and tells clinical engineering.
func opens(v record.View, dr *Draft) {
	dr.Record.Effect.Opens = GetSite(v).Problems + 1
	dr.Tell = append(dr.Tell, Tell{Route: ToEngineering, To: dr.Record.ID})
}
