package desk

import (
	"context"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// CheckIn is a check as a form or a phone tells it. Without places or tests it
// was made as the plan asks.
type CheckIn struct {
	From
	Code     string         `param:"code" json:"-"`
	Pouch    record.ID      `form:"pouch" json:"pouch"`
	Approval record.Seq     `form:"approval" json:"approval"`
	Outcome  record.Outcome `form:"outcome" json:"outcome"`
	Places   []record.Place `form:"places" json:"places,omitempty"`
	Tests    []record.Test  `form:"tests" json:"tests,omitempty"`
	Shown    string         `form:"shown" json:"shown,omitempty"`
	Set      string         `form:"set" json:"set,omitempty"`
	Dwell    string         `form:"dwell" json:"dwell,omitempty"`
	Speed    string         `form:"speed" json:"speed,omitempty"`
	Pressure string         `form:"pressure" json:"pressure,omitempty"`
	Kind     record.Fault   `form:"kind" json:"kind,omitempty"`
	Place    record.Place   `form:"place" json:"place,omitempty"`
	AtCM     string         `form:"at_cm" json:"at_cm,omitempty"`
	Reason   string         `form:"reason" json:"reason,omitempty"`
	Kit      string         `form:"kit" json:"kit,omitempty"`
	Lot      string         `form:"lot" json:"lot,omitempty"`
}

// Check records a check of a sealer.
func (d *Desk) Check(ctx context.Context, who Caller, in CheckIn) (Done, error) {
	s, e, err := d.atSealer(who, "Check", in.Code, in.From)
	if err != nil {
		return Done{}, err
	}
	c := record.Check{Pouch: in.Pouch, Approval: in.Approval, Outcome: in.Outcome, Places: in.Places, Tests: in.Tests,
		Shown: in.Shown, Set: in.Set, Dwell: in.Dwell, Speed: in.Speed, Pressure: in.Pressure, Kind: in.Kind,
		Place: place(in.Place), AtCM: in.AtCM, Reason: in.Reason, Kit: in.Kit, Lot: in.Lot}
	dept := d.department(s.Dept)
	plan := dept.Plan(s.Type)
	if len(c.Places) == 0 {
		c.Places = plan.Places
	}
	if len(c.Tests) == 0 {
		c.Tests = plan.Tests
	}
	inUse(dept, &c)
	return d.write(ctx, who, in.From, e, sealerSubject(s), &c,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Check(v, rules.SaidCheck{Entry: e, Sealer: s.ID, Check: c}, now)
		})
}

// place reads the form's "unknown" as no place.
func place(p record.Place) record.Place {
	if p == "unknown" {
		return record.NoPlace
	}
	return p
}

func sealerSubject(s *rules.Sealer) record.Subject {
	return record.Subject{Type: record.Sealer, ID: s.ID}
}

// ChangeoverIn makes a sealer ready for another pouch.
type ChangeoverIn struct {
	From
	Code    string    `param:"code" json:"-"`
	Pouch   record.ID `form:"pouch" json:"pouch"`
	Minutes int       `form:"minutes" json:"minutes,omitempty"`
}

// Changeover records that a sealer is being set for another pouch.
func (d *Desk) Changeover(ctx context.Context, who Caller, in ChangeoverIn) (Done, error) {
	s, e, err := d.atSealer(who, "Changeover", in.Code, in.From)
	if err != nil {
		return Done{}, err
	}
	c := record.Changeover{Pouch: in.Pouch, Minutes: in.Minutes}
	return d.write(ctx, who, in.From, e, sealerSubject(s), &c,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Changeover(v, rules.SaidChangeover{Entry: e, Sealer: s.ID, Changeover: c}, now)
		})
}

// DisturbIn tells of something after which the last check proves nothing. Codes
// names the sealers; Room means every sealer that stands where that of Code does,
// All every sealer of the department.
type DisturbIn struct {
	From
	Code    string   `param:"code" json:"-"`
	Codes   []string `form:"codes" json:"codes,omitempty"`
	Room    bool     `form:"room" json:"room,omitempty"`
	All     bool     `form:"all" json:"all,omitempty"`
	What    string   `form:"what" json:"what"`
	Minutes int      `form:"minutes" json:"minutes,omitempty"`
}

// Disturb records a disturbance of one or more sealers.
func (d *Desk) Disturb(ctx context.Context, who Caller, in DisturbIn) (Done, error) {
	if _, err := d.may(who, "Disturb"); err != nil {
		return Done{}, err
	}
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	ids, err := d.sealersNamed(who, in)
	if err != nil {
		return Done{}, err
	}
	c := record.Disturbance{What: in.What, Minutes: in.Minutes}
	return d.write(ctx, who, in.From, e, record.Subject{Type: record.Sealer, ID: ids[0]}, &c,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.Disturb(v, rules.SaidDisturbance{Entry: e, Sealers: ids, Disturbance: c}, now)
		})
}

func (d *Desk) sealersNamed(who Caller, in DisturbIn) ([]record.ID, error) {
	if in.All {
		if ids := d.inUse(who.Dept, func(*rules.Sealer) bool { return true }); len(ids) > 0 {
			return ids, nil
		}
	}
	if in.Room {
		s, err := d.sealerOf(who, in.Code)
		if err != nil {
			return nil, err
		}
		if ids := d.inUse(who.Dept, func(o *rules.Sealer) bool { return o.Place == s.Place }); len(ids) > 0 {
			return ids, nil
		}
	}
	codes := in.Codes
	if in.Code != "" {
		codes = append(codes, in.Code)
	}
	ids := []record.ID{}
	for _, code := range codes {
		s, err := d.sealerOf(who, code)
		if err != nil {
			return nil, err
		}
		ids = append(ids, s.ID)
	}
	if len(ids) == 0 {
		_, err := d.sealerOf(who, "")
		return nil, err
	}
	return ids, nil
}

// inUse lists the sealers of a department that are not retired and belong.
func (d *Desk) inUse(dept record.ID, belongs func(*rules.Sealer) bool) (ids []record.ID) {
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetDepartment(v, dept).Sealers {
			if s := rules.GetSealer(v, id); s != nil && s.Readiness.State != record.Retired && belongs(s) {
				ids = append(ids, id)
			}
		}
	})
	return ids
}

// PacksIn is an entry of the pack log.
type PacksIn struct {
	From
	Code  string    `param:"code" json:"-"`
	Pouch record.ID `form:"pouch" json:"pouch"`
	Count int       `form:"count" json:"count"`
	Load  string    `form:"load" json:"load,omitempty"`
	Set   string    `form:"set" json:"set,omitempty"`
}

// LogPacks counts packs sealed on a sealer.
func (d *Desk) LogPacks(ctx context.Context, who Caller, in PacksIn) (Done, error) {
	s, e, err := d.atSealer(who, "LogPacks", in.Code, in.From)
	if err != nil {
		return Done{}, err
	}
	c := record.Packs{Pouch: in.Pouch, Count: in.Count, Load: in.Load, Set: in.Set}
	return d.write(ctx, who, in.From, e, sealerSubject(s), &c,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.PacksSealed(v, rules.SaidPacks{Entry: e, Sealer: s.ID, Packs: c}, now)
		})
}
