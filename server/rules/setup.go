package rules

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// SaidSetUp is a statement of facts about a department, a person, a pouch or a
// sealer: a body of one of package record's kinds and whose it is.
type SaidSetUp struct {
	Entry
	Dept    record.ID
	Subject record.Subject
	Facts   record.Body
	Curves  Curves // with a revised pouch: of every sealer that has a table
}

// SetUp decides on such a statement.
func SetUp(v record.View, c SaidSetUp, now record.Time) ([]Draft, error) {
	d := GetDepartment(v, c.Dept)
	opening, isOpening := c.Facts.(*record.DepartmentOpened)
	switch {
	case isOpening && d != nil:
		return nil, fault.New(fault.Conflict, "This department exists already.")
	case isOpening:
		d = &Department{ID: c.Dept, Name: opening.Name, DepartmentSettings: opening.DepartmentSettings}
	case d == nil:
		return nil, fault.New(fault.Unknown, "There is no such department here.")
	}
	if err := subjectIsSound(v, d, c.Subject, c.Facts); err != nil {
		return nil, err
	}
	if err := factsAreSound(v, d, c.Subject, c.Facts); err != nil {
		return nil, err
	}
	if err := identityIsSound(v, d, c.Subject, now, c.Facts); err != nil {
		return nil, err
	}
	dr, err := c.draft(d, c.Subject, c.Facts, now)
	if err != nil {
		return nil, err
	}
	dr.Record.Dept = d.ID
	if b, ok := c.Facts.(*record.BoxOpened); ok {
		if err := boxIsGood(b, dr.Record.Day); err != nil {
			return nil, err
		}
	}
	if s := GetSealer(v, c.Subject.ID); s != nil && c.Subject.Type == record.Sealer {
		changeSealer(v, s, c.Facts, &dr.Record, now)
	}
	doubts, err := c.doubts(v, d, now)
	if err != nil {
		return nil, err
	}
	return append([]Draft{dr}, doubts...), nil
}

// doubts questions approvals that the revised window of a pouch leaves outside.
// If the lead wants all of them looked at anew, none stands anyway.
func (c *SaidSetUp) doubts(v record.View, d *Department, now record.Time) ([]Draft, error) {
	b, ok := c.Facts.(*record.PouchRevised)
	if !ok || b.Recheck {
		return nil, nil
	}
	w, ok := WindowOf(&b.PouchFacts)
	if old, had := WindowOf(&GetPouch(v, c.Subject.ID).PouchFacts); !ok || had && w.Same(old) {
		return nil, nil
	}
	q := newDoubter(v, d, c.Entry, now)
	err := q.byWindow(c.Subject.ID, w, c.Curves)
	return q.drafts, err
}

func factsAreSound(v record.View, d *Department, s record.Subject, facts record.Body) error {
	switch b := facts.(type) {
	case *record.DepartmentOpened:
		return departmentIsSound(b.Name, &b.DepartmentSettings)
	case *record.DepartmentChanged:
		return departmentIsSound(b.Name, &b.DepartmentSettings)
	case *record.PlanSet:
		return planIsSound(&b.Plan)
	case *record.MaintenanceSet:
		return tasksAreSound(b)
	case *record.NotUsed:
		if b.To < b.From {
			return fault.Field("to", "The last day is before the first.")
		}
	case *record.RouteSet:
		return routeIsSound(v, d, b)
	case *record.NotOurs:
		if strings.TrimSpace(b.Why) == "" {
			return fault.Field("why", "Give the reason: it stays with your name.")
		}
	case *record.BoxOpened:
		return boxIsSound(v, d, b)
	case *record.PersonAdded:
		return rolesAreSound(b.Roles)
	case *record.PersonChanged:
		return rolesAreSound(b.Roles)
	case *record.Imported:
		return importedIsSound(b)
	case *record.Trained:
		return trainingIsSound(v, d, s.ID, b)
	case *record.TrainingEnded:
		return trainingEnds(GetPerson(v, s.ID), b)
	case *record.PouchAdded:
		return pouchIsSound(v, d, s.ID, &b.PouchFacts)
	case *record.PouchRevised:
		return pouchIsSound(v, d, s.ID, &b.PouchFacts)
	case *record.SealerAdded:
		return sealerIsSound(v, s.ID, &b.SealerFacts, b.Code)
	case *record.SealerChanged:
		return sealerIsSound(v, s.ID, &b.SealerFacts, b.Code)
	case *record.ApprovalGiven:
		return approvalIsSound(v, d, s.ID, b)
	case *record.ApprovalEnded:
		if b.Why == "" {
			return fault.Field("why", "Give the reason.")
		}
	case *record.LotReleased:
		if b.Why == "" {
			return fault.Field("why", "Give the reason: it stays with your name.")
		}
		if _, held := GetPouch(v, s.ID).Held[b.Lot]; !held {
			return fault.Field("lot", "Choose a lot that is on hold.")
		}
	}
	return nil
}

func departmentIsSound(name string, s *record.DepartmentSettings) error {
	if strings.TrimSpace(name) == "" {
		return fault.Field("name", "Give the department a name.")
	}
	if _, err := time.LoadLocation(s.Zone); err != nil || s.Zone == "" || s.Zone == "Local" {
		return fault.Field("zone", "Choose a time zone such as America/New_York.")
	}
	if s.DayStart < 0 || s.DayStart >= 24*60 {
		return fault.Field("day_start", "Give a time of day such as 05:00.")
	}
	if s.EarlyMinutes < 0 || s.EarlyMinutes > 12*60 {
		return fault.Field("early_minutes", "Give minutes from 0 to 720.")
	}
	if s.LateMinutes < 1 || s.LateMinutes > 24*60 {
		return fault.Field("late_minutes", "Give minutes from 1 to 1440.")
	}
	return nil
}

func planIsSound(p *record.Plan) error {
	switch {
	case len(p.Places) == 0:
		return fault.Field("places", "Choose at least one place.")
	case len(p.Tests) == 0:
		return fault.Field("tests", "Choose at least one test.")
	case p.ReturnGood < 1 || p.ReturnGood > 9:
		return fault.Field("return_good", "Ask for 1 to 9 good return checks.")
	case p.CoolMinutes < 0 || p.WarmMinutes < 0 || p.CoolMinutes > 24*60 || p.WarmMinutes > 24*60:
		return fault.Field("cool_minutes", "Give minutes from 0 to 1440.")
	case slices.ContainsFunc(p.PerShift, func(m int) bool { return m < 0 || m >= 24*60 }):
		return fault.Field("per_shift", "Give times of day such as 14:00.")
	}
	return nil
}

func rolesAreSound(roles []record.Role) error {
	all := []record.Role{record.Technician, record.Lead, record.Engineering, record.Surveyor, record.Administrator}
	if len(roles) == 0 || slices.ContainsFunc(roles, func(r record.Role) bool { return !slices.Contains(all, r) }) {
		return fault.Field("roles", "Choose what this person does.")
	}
	return nil
}

func pouchIsSound(v record.View, d *Department, id record.ID, p *record.PouchFacts) error {
	if strings.TrimSpace(p.Name) == "" {
		return fault.Field("name", "Give the pouch the name people know it by.")
	}
	if !slices.Contains([]record.Material{record.PaperFilm, record.Nonwoven, record.Gusseted}, p.Material) {
		return fault.Field("material", "Choose what the pouch is made of.")
	}
	for _, other := range d.Pouches {
		if o := GetPouch(v, other); o != nil && o.ID != id && !o.Retired && strings.EqualFold(o.Name, p.Name) {
			return fault.Field("name", "There is a pouch of this name already.")
		}
	}
	for _, q := range []struct {
		field, text string
		unit        sealing.Unit
	}{{"low", p.Low, sealing.Celsius}, {"high", p.High, sealing.Celsius}, {"dwell", p.Dwell, sealing.Seconds},
		{"seal_width", p.SealWidth, sealing.Millimetres}, {"min_strength", p.MinStrength, sealing.NewtonsPer15mm}} {
		if q.text == "" {
			continue
		}
		if _, err := sealing.ParseQuantity(q.text, q.unit); err != nil {
			return fault.Field(q.field, "Type a number with its unit, for example 165 °C.")
		}
	}
	if (p.Low == "") != (p.High == "") {
		return fault.Field("high", "Give both ends of the temperature window, or neither.")
	}
	return nil
}

var numberForm = regexp.MustCompile(`^[0-9A-Z]{1,4}$`)

func sealerIsSound(v record.View, id record.ID, s *record.SealerFacts, code string) error {
	if !numberForm.MatchString(s.Number) {
		return fault.Field("number", "Use one to four digits or capital letters: it stands on every pack.")
	}
	if other, taken := GetSite(v).Numbers[s.Number]; taken && other != id {
		return fault.Field("number", "Another sealer has this number. It must be the only one in the hospital.")
	}
	if other, taken := GetSite(v).Codes[code]; taken && other != id {
		return fault.New(fault.Conflict, "Another sealer has this label, or had it once.")
	}
	if !slices.Contains(record.SealerTypes(), s.Type) {
		return fault.Field("type", "Choose how the sealer is set.")
	}
	if s.WidthCM < 0 || s.WidthCM > 300 {
		return fault.Field("width_cm", "Give the sealing width in cm, or leave it empty.")
	}
	return nil
}

// settingUnits are what the controls of each type can show.
var settingUnits = map[record.SealerType][]sealing.Unit{
	record.BarDial:    {sealing.Mark},
	record.Impulse:    {sealing.Mark, sealing.Seconds},
	record.BarDisplay: {sealing.Celsius, sealing.Fahrenheit},
	record.Continuous: {sealing.Celsius, sealing.Fahrenheit, sealing.Mark},
}

func approvalIsSound(v record.View, d *Department, sealer record.ID, a *record.ApprovalGiven) error {
	s := GetSealer(v, sealer)
	if s == nil || s.Dept != d.ID {
		return fault.New(fault.Unknown, "There is no such sealer here.")
	}
	if p := GetPouch(v, a.Pouch); p == nil || p.Dept != d.ID || p.Retired {
		return fault.Field("pouch", "Choose the pouch.")
	}
	if _, err := sealing.Q(a.Value, sealing.Unit(a.Unit)); err != nil {
		return fault.Field("value", "Type the setting as the control shows it, for example 6, 7 1/2 or 180.")
	}
	if !slices.Contains(settingUnits[s.Type], sealing.Unit(a.Unit)) {
		return fault.Field("unit", "This sealer is not set in that unit.")
	}
	if a.Basis == record.FromIFU && strings.TrimSpace(a.IFU.Title) == "" {
		return fault.Field("ifu", "Name the IFU that the setting comes from.")
	}
	if !slices.Contains([]record.Basis{record.FromIFU, record.FromTable, record.FromLadder}, a.Basis) {
		return fault.Field("basis", "Say what the setting rests on.")
	}
	return s.restsOn(a)
}

// restsOn refuses an approval on a table that was replaced meanwhile, or on a
// trial of another sealer.
func (s *Sealer) restsOn(a *record.ApprovalGiven) error {
	switch {
	case a.Table == nil:
	case a.Basis == record.FromTable && *a.Table != s.Filed.Table():
		return fault.New(fault.Stale, "A newer temperature table was entered meanwhile. Look at it first.")
	case a.Basis == record.FromLadder && !slices.Contains(s.Filed.Ladders, *a.Table):
		return fault.New(fault.Unknown, "There is no such ladder trial of this sealer.")
	}
	return nil
}

// changeSealer takes Ready away where facts about the sealer change what its
// last check proved.
func changeSealer(v record.View, s *Sealer, facts record.Body, r *record.Record, now record.Time) {
	st := Standing(v, s, now)
	switch b := facts.(type) {
	case *record.ApprovalGiven:
		s.unprove(st, b.Pouch, r, WhyApproval)
	case *record.ApprovalEnded:
		s.unprove(st, b.Pouch, r, WhyApproval)
	case *record.SealerMoved:
		s.disturb(st, r, WhyMoved, 0)
	case *record.SealerAway, *record.SealerBack:
		s.leave(st, facts, r)
	case *record.SealerRetired:
		next := st
		next.State, next.Why, next.From, next.Need = record.Retired, WhyRetired, r.Happened.From, record.NeedNothing
		next.Good, next.Of, next.NotValid = 0, 0, 0
		r.Effect.Takes, r.Effect.Readiness = true, &next
	}
}

// unprove ends a Ready that rests on an approval that is no longer the one.
func (s *Sealer) unprove(st record.Readiness, pouch record.ID, r *record.Record, why string) {
	if st.Pouch != pouch || st.State == record.OutOfService || st.State == record.WithEngineering || st.State == record.Retired {
		return
	}
	s.disturb(st, r, why, 0)
}

// OpenSite decides on the very first command: a department and the person who
// leads and administers it.
func OpenSite(v record.View, c SaidSetUp, person record.ID, sealed record.Sealed, now record.Time) ([]Draft, error) {
	if len(GetSite(v).Departments) > 0 {
		return nil, fault.New(fault.Gone, "This installation is set up already. Ask a lead to add you.")
	}
	drafts, err := SetUp(v, c, now)
	if err != nil {
		return nil, err
	}
	opened := c.Facts.(*record.DepartmentOpened)
	d := &Department{ID: c.Dept, DepartmentSettings: opened.DepartmentSettings}
	first, err := c.draft(d, record.Subject{Type: record.Person, ID: person},
		&record.PersonAdded{Roles: []record.Role{record.Lead, record.Administrator}, FirstLine: true}, now)
	first.Record.Sealed = sealed
	return append(drafts, first), err
}
