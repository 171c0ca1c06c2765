package rules

import (
	"maps"
	"slices"

	"tidemark/server/record"
)

// Evolve applies a stored record to the state. It is total: a record that makes
// no sense leaves the state as it was. Values are replaced, never changed.
func Evolve(st record.Stage, r *record.Record) {
	body, err := r.Content()
	if err != nil || !makesSense(body, r.Subject) {
		return
	}
	evolveSite(st, r, body)
	evolveDepartment(st, r, body)
	evolvePouch(st, r, body)
	evolvePerson(st, r, body)
	evolveSealer(st, r, body)
	evolveUse(st, r, body)
	evolveProblem(st, r, body)
}

func evolveSite(st record.Stage, r *record.Record, body record.Body) {
	site := *GetSite(st)
	switch b := body.(type) {
	case *record.Erased:
		site.erases(r, b)
	case *record.DepartmentOpened:
		site.Departments = with(site.Departments, r.Subject.ID)
	case *record.SealerAdded:
		site.Codes, site.Numbers = clone(site.Codes), clone(site.Numbers)
		site.Codes[b.Code], site.Numbers[b.Number] = r.Subject.ID, r.Subject.ID
	case *record.SealerChanged:
		site.Codes, site.Numbers = clone(site.Codes), clone(site.Numbers)
		if s := GetSealer(st, r.Subject.ID); s != nil && site.Numbers[s.Number] == s.ID {
			delete(site.Numbers, s.Number)
		}
		site.Numbers[b.Number] = r.Subject.ID
		if b.Code != "" {
			site.Codes[b.Code] = r.Subject.ID
		}
	case *record.SealerRetired:
		if s := GetSealer(st, r.Subject.ID); s != nil && site.Numbers[s.Number] == s.ID {
			site.Numbers = clone(site.Numbers)
			delete(site.Numbers, s.Number)
		}
	default:
		if r.Effect.Opens == 0 {
			return
		}
	}
	site.Problems = max(site.Problems, r.Effect.Opens)
	st.Set(record.TheSite, &site)
}

func evolveDepartment(st record.Stage, r *record.Record, body record.Body) {
	old := GetDepartment(st, r.Dept)
	if b, ok := body.(*record.DepartmentOpened); ok {
		old = &Department{ID: r.Subject.ID, Name: b.Name, DepartmentSettings: b.DepartmentSettings}
	}
	if old == nil {
		return
	}
	d := *old
	changed := d.apply(r, body)
	if p := GetProblem(st, r.Effect.Joins); p != nil && p.Closed != 0 {
		d.Open, changed = with(d.Open, p.ID), true
	}
	if day := max(r.Day, r.Effect.Arrived); day > d.LastDay {
		d.LastDay, changed = day, true
	}
	if changed {
		st.Set(record.Subject{Type: record.Department, ID: d.ID}, &d)
	}
}

// apply puts a record's facts into a copy of the department.
func (d *Department) apply(r *record.Record, body record.Body) bool {
	switch b := body.(type) {
	case *record.DepartmentOpened:
	case *record.DepartmentChanged:
		d.Name, d.DepartmentSettings = b.Name, b.DepartmentSettings
	case *record.PlanSet:
		d.Plans = clone(d.Plans)
		d.Plans[b.SealerType] = b.Plan
	case *record.MaintenanceSet:
		d.setTasks(r, b)
	case *record.NotUsed:
		d.NotUsed = last(append(slices.Clone(d.NotUsed), NotUsed{b.Sealers, b.From, b.To, r.Seq}), 64)
	case *record.BoxOpened:
		d.open(b, r)
	case *record.DeviceLetIn:
		d.Devices = clone(d.Devices)
		d.Devices[b.Device] = Device{Name: r.Sealed["name"]}
	case *record.DeviceRevoked:
		d.Devices = clone(d.Devices)
		gone := d.Devices[b.Device]
		gone.Revoked = true
		d.Devices[b.Device] = gone
	case *record.RouteSet:
		d.Route = b
	case *record.HookSet:
		d.Hooks = clone(d.Hooks)
		d.Hooks[b.Hook] = d.Hooks[b.Hook].changed(b, r.Sealed)
	case *record.DocumentFiled, *record.DocumentEnded:
		if r.Subject.Type != record.Department {
			return false
		}
		d.Documents = filed(d.Documents, r, body)
	case *record.TrainingAsked:
		d.AskTraining = b.Ask
	case *record.PacksListed:
		d.Lists = with(d.Lists, PackList{Seq: r.Seq, SHA256: b.SHA256})
	case *record.PacksUnlisted:
		d.Lists = slices.Clone(d.Lists)
		for i := range d.Lists {
			if d.Lists[i].Seq == b.List && d.Lists[i].Gone == 0 {
				d.Lists[i].Gone = r.Seq
			}
		}
	case *record.PersonAdded:
		d.People = with(d.People, r.Subject.ID)
	case *record.PouchAdded:
		d.Pouches = with(d.Pouches, r.Subject.ID)
	case *record.SealerAdded:
		d.Sealers = with(d.Sealers, r.Subject.ID)
	case *record.ProblemClosed:
		d.Open = slices.DeleteFunc(slices.Clone(d.Open), func(id record.ID) bool { return id == r.Subject.ID })
	default:
		if r.Effect.Opens == 0 {
			return false
		}
		d.Open = with(d.Open, r.ID)
	}
	return true
}

// changed replaces what was said anew of a webhook.
func (k Hook) changed(b *record.HookSet, sealed record.Sealed) Hook {
	k.Off = b.Off
	if c, ok := sealed["name"]; ok {
		k.Name = c
	}
	if c, ok := sealed["url"]; ok {
		k.URL = c
	}
	return k
}

func evolvePouch(st record.Stage, r *record.Record, body record.Body) {
	p := Pouch{ID: r.Subject.ID, Dept: r.Dept, Recheck: record.None}
	if old := GetPouch(st, r.Subject.ID); old != nil {
		p = *old
	}
	switch b := body.(type) {
	case *record.PouchAdded:
		p.PouchFacts, p.Facts = b.PouchFacts, r.Seq
	case *record.PouchRevised:
		p.PouchFacts, p.Facts = b.PouchFacts, r.Seq
		if b.Recheck {
			p.Recheck = r.Seq
		}
	case *record.LotHeld:
		p.Held = clone(p.Held)
		p.Held[b.Lot] = r.Seq
	case *record.LotReleased:
		p.Held = clone(p.Held)
		delete(p.Held, b.Lot)
	default:
		return
	}
	st.Set(r.Subject, &p)
}

func evolvePerson(st record.Stage, r *record.Record, body record.Body) {
	p := Person{ID: r.Subject.ID, Dept: r.Dept}
	if old := GetPerson(st, r.Subject.ID); old != nil {
		p = *old
	}
	switch b := body.(type) {
	case *record.PersonAdded:
		p.Roles, p.FirstLine = b.Roles, b.FirstLine
	case *record.PersonChanged:
		p.Roles, p.FirstLine, p.Left = b.Roles, b.FirstLine, b.Left
	case *record.Trained:
		p.train(r, b)
	case *record.TrainingEnded:
		p.Trained = p.untrained(b.Types, b.For)
	default:
		return
	}
	if c, ok := r.Sealed["name"]; ok {
		p.Name = c
	}
	if c, ok := r.Sealed["mail"]; ok {
		p.Mail = c
	}
	st.Set(r.Subject, &p)
}

func evolveSealer(st record.Stage, r *record.Record, body record.Body) {
	id := r.Effect.Sealer
	if r.Subject.Type == record.Sealer {
		id = r.Subject.ID
	}
	if b, ok := body.(*record.SealerAdded); ok {
		s := newSealer(r, b)
		s.closures(GetDepartment(st, r.Dept))
		st.Set(r.Subject, s)
		return
	}
	old := GetSealer(st, id)
	if old == nil {
		return
	}
	s := *old
	if s.apply(r, body) {
		st.Set(s.subject(), &s)
	}
}

func newSealer(r *record.Record, b *record.SealerAdded) *Sealer {
	return &Sealer{ID: r.Subject.ID, Dept: r.Dept, SealerFacts: b.SealerFacts, Code: b.Code, Since: r.Day, Begins: r.At,
		Forgotten: record.None, Readiness: record.Readiness{State: record.CheckDue, Need: record.NeedCheck,
			From: r.At, Why: WhyNew, Approval: record.None, Check: record.None, Day: r.Day},
		Numbers: []Numbered{{Number: b.Number}}}
}

// apply puts a record's facts into a copy of the sealer.
func (s *Sealer) apply(r *record.Record, body record.Body) bool {
	changed := true
	if s.outdates(body) {
		s.OldCard = r.Seq
	}
	switch b := body.(type) {
	case *record.SealerChanged:
		if b.Number != s.Number {
			s.Numbers = with(s.Numbers, Numbered{b.Number, r.Happened.From})
		}
		s.SealerFacts = b.SealerFacts
		if b.Code != "" {
			s.Code = b.Code
		}
	case *record.SealerMoved:
		s.Place = b.Place
	case *record.SealerBack:
		s.Place = b.Place
	case *record.ApprovalGiven:
		s.Approvals = append(s.without(b.Pouch), Approval{ApprovalGiven: *b, Seq: r.Seq, By: r.By, On: r.Day})
		s.Doubts = s.certain(b.Pouch)
	case *record.ApprovalEnded:
		s.Approvals = s.without(b.Pouch)
		s.Doubts = s.certain(b.Pouch)
	case *record.ApprovalQuestioned:
		s.Doubts = append(s.certain(b.Pouch), Doubt{b.Pouch, b.Approval, b.Why, r.Seq})
	case *record.Corrected, *record.Voided, *record.VoidConfirmed:
		if changed = r.Subject.Type == record.Sealer; changed {
			s.applyAmended(r, body)
		}
	case *record.FirstLineFix:
		s.Fixes = last(append(slices.Clone(s.Fixes), Fix{b.Cause, r.Happened.To, r.Subject.ID}), 16)
	case *record.CheckAccepted:
		s.Waiting = slices.DeleteFunc(slices.Clone(s.Waiting), func(seq record.Seq) bool { return seq == b.Check })
	case *record.Check:
		if r.Effect.Nothing == NothingUntrained {
			s.Waiting = last(with(s.Waiting, r.Seq), 8)
		}
		if before := s.lastGood(b.Pouch); witnessed(r, b) && (before == nil || before.Began <= r.Happened.From) {
			s.Good = append(slices.DeleteFunc(slices.Clone(s.Good), func(g Good) bool { return g.Pouch == b.Pouch }),
				Good{b.Pouch, r.Seq, r.Happened.From, r.By})
		}
	default:
		changed = false
	}
	if s.identify(r, body) {
		changed = true
	}
	if s.Filed.add(r.Seq, body) {
		changed = true
	}
	if s.Tally.count(r, body) {
		changed = true
	}
	if s.applyMaintenance(r, body) {
		changed = true
	}
	if r.Effect.Opens > 0 && r.Subject.Type == record.Sealer {
		s.Problems, changed = with(s.Problems, r.ID), true
	}
	return s.touch(r, body) || changed
}

// witnessed reports whether a check is good and was told in time by somebody who
// is known and signed off: only such a one bounds a hold.
func witnessed(r *record.Record, c *record.Check) bool {
	return c.Outcome == record.Pass && !r.Late && r.Via != record.ViaImport && r.Via != record.ViaNone &&
		r.Effect.Nothing != NothingUntrained
}

func (s *Sealer) without(pouch record.ID) []Approval {
	return slices.DeleteFunc(slices.Clone(s.Approvals), func(a Approval) bool { return a.Pouch == pouch })
}

// certain are the doubts about other pouches.
func (s *Sealer) certain(pouch record.ID) []Doubt {
	return slices.DeleteFunc(slices.Clone(s.Doubts), func(d Doubt) bool { return d.Pouch == pouch })
}

// add files a record where it belongs, and reports whether it belongs anywhere.
func (f *Filed) add(seq record.Seq, body record.Body) bool {
	var list *[]record.Seq
	switch body.(type) {
	case *record.ApprovalGiven, *record.ApprovalEnded, *record.ApprovalQuestioned:
		list = &f.Decisions
	case *record.TemperatureTable:
		list = &f.Tables
	case *record.LadderTrial:
		list = &f.Ladders
	case *record.Reading:
		list = &f.Readings
	case *record.StrengthTested, *record.WidthMeasured, *record.AfterSterilizing:
		list = &f.Validations
	default:
		return false
	}
	*list = last(with(*list, seq), keptFiled)
	return true
}

// touch puts the written readiness in place and remembers the record among those
// that take, decide or check.
func (s *Sealer) touch(r *record.Record, body record.Body) bool {
	_, check := body.(*record.Check)
	if !r.Effect.Takes && r.Effect.Readiness == nil && !check {
		return false
	}
	t := Touch{Seq: r.Seq, Dev: r.Dev, DevN: r.DevN,
		From: r.Happened.From, To: r.Happened.To, Takes: r.Effect.Takes}
	if next := r.Effect.Readiness; next != nil {
		s.Readiness = *next
		if next.State == record.Ready {
			s.Readiness.Check, s.Waiting = r.Seq, nil
			if b, ok := body.(*record.CheckAccepted); ok {
				s.Readiness.Check = b.Check
			}
			t.Gives, t.Day, t.Until = next.Pouch, next.Day, next.Until
		}
	}
	s.Touches = with(s.Touches, t)
	for len(s.Touches) > keptTouches {
		if gone := s.Touches[0]; gone.Takes {
			s.TakenTo = max(s.TakenTo, gone.To)
		}
		s.Forgotten = s.Touches[0].Seq
		s.Touches = s.Touches[1:]
	}
	return true
}

func clone[K comparable, V any](m map[K]V) map[K]V {
	if m == nil {
		return map[K]V{}
	}
	return maps.Clone(m)
}

// with appends to a copy: a shared slice must never be written behind its end.
func with[T any](list []T, v T) []T {
	return append(append(make([]T, 0, len(list)+1), list...), v)
}

func last[T any](list []T, n int) []T { return list[max(0, len(list)-n):] }

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}
