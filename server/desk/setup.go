package desk

import (
	"context"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// facts records facts about a subject of the caller's department.
func (d *Desk) facts(ctx context.Context, who Caller, what use, in From, s record.Subject, body record.Body, seal map[string]string) (Done, error) {
	if _, err := d.may(who, what); err != nil {
		return Done{}, err
	}
	e, err := d.entry(who, in)
	if err != nil {
		return Done{}, err
	}
	if err := d.seal(&e, seal); err != nil {
		return Done{}, err
	}
	said := rules.SaidSetUp{Dept: who.Dept, Subject: s, Facts: body}
	if _, ok := body.(*record.PouchRevised); ok {
		if said.Curves, err = d.curvesFor(who.Dept, s.ID); err != nil {
			return Done{}, err
		}
	}
	done, err := d.write(ctx, who, in, e, s, body,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			said.Entry = e
			return rules.SetUp(v, said, now)
		})
	done.Subject = s.ID
	return done, err
}

// DepartmentIn are a department's name and settings. Times of day are "05:00".
type DepartmentIn struct {
	From
	Name        string    `form:"name" json:"name"`
	Zone        string    `form:"zone" json:"zone"`
	DayStart    string    `form:"day_start" json:"day_start"`
	Early       *int      `form:"early_minutes" json:"early_minutes,omitempty"` // nil: as it is
	Late        *int      `form:"late_minutes" json:"late_minutes,omitempty"`   // nil: as it is
	Fallback    string    `form:"fallback" json:"fallback,omitempty"`
	Engineering string    `form:"engineering" json:"engineering,omitempty"`
	Fahrenheit  bool      `form:"fahrenheit" json:"fahrenheit,omitempty"`
	PackLog     bool      `form:"pack_log" json:"pack_log,omitempty"`
	MailTo      record.ID `form:"mail_to" json:"mail_to,omitzero"`
	Reason      string    `form:"reason" json:"reason,omitempty"`
}

// newDepartment is where settings start from.
var newDepartment = record.DepartmentSettings{DayStart: 5 * 60, EarlyMinutes: 120, LateMinutes: 15}

// settings reads the form into the settings that there are: what it does not
// carry stays.
func (in *DepartmentIn) settings(s record.DepartmentSettings) (record.DepartmentSettings, error) {
	s.Zone, s.Fallback, s.Engineering = in.Zone, in.Fallback, in.Engineering
	s.Fahrenheit, s.PackLog, s.MailTo = in.Fahrenheit, in.PackLog, in.MailTo
	if in.DayStart != "" {
		minutes, err := minuteOfDay("day_start", in.DayStart)
		if err != nil {
			return s, err
		}
		s.DayStart = minutes
	}
	if in.Early != nil {
		s.EarlyMinutes = *in.Early
	}
	if in.Late != nil {
		s.LateMinutes = *in.Late
	}
	return s, nil
}

func minuteOfDay(field, text string) (int, error) {
	t, err := parseClock(text)
	if err != nil {
		return 0, fault.Field(field, "Give a time of day such as 05:00.")
	}
	return t.Hour()*60 + t.Minute(), nil
}

// ChangeDepartment records a department's name and settings.
func (d *Desk) ChangeDepartment(ctx context.Context, who Caller, in DepartmentIn) (Done, error) {
	if _, err := d.may(who, "ChangeDepartment"); err != nil {
		return Done{}, err
	}
	s, err := in.settings(d.department(who.Dept).DepartmentSettings)
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "ChangeDepartment", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.DepartmentChanged{Name: strings.TrimSpace(in.Name), DepartmentSettings: s, Reason: in.Reason}, nil)
}

// PlanIn says how sealers of a type are checked. PerShift lists further times
// of day, "14:00, 22:00".
type PlanIn struct {
	From
	SealerType record.SealerType `param:"type" json:"-"`
	Places     []record.Place    `form:"places" json:"places"`
	Tests      []record.Test     `form:"tests" json:"tests"`
	ReturnGood int               `form:"return_good" json:"return_good"`
	AskShown   bool              `form:"ask_shown" json:"ask_shown,omitempty"`
	Changeover bool              `form:"changeover" json:"changeover,omitempty"` // a check before each changeover, too
	Closing    bool              `form:"closing" json:"closing,omitempty"`       // and one when sealing ends
	Cool       int               `form:"cool_minutes" json:"cool_minutes"`
	Warm       int               `form:"warm_minutes" json:"warm_minutes"`
	PerShift   string            `form:"per_shift" json:"per_shift,omitempty"`
	Policy     string            `form:"policy" json:"policy,omitempty"`
	Reason     string            `form:"reason" json:"reason,omitempty"`
}

// SetPlan records how sealers of a type are checked.
func (d *Desk) SetPlan(ctx context.Context, who Caller, in PlanIn) (Done, error) {
	if _, err := d.may(who, "SetPlan"); err != nil {
		return Done{}, err
	}
	if !slices.Contains(sealerTypes, in.SealerType) {
		return Done{}, noSuchType()
	}
	p := d.department(who.Dept).Plan(in.SealerType) // what the form does not carry stays
	p.Places, p.Tests, p.ReturnGood, p.AskShown = in.Places, in.Tests, in.ReturnGood, in.AskShown
	p.Changeover, p.Closing = in.Changeover, in.Closing
	p.CoolMinutes, p.WarmMinutes, p.Policy, p.PerShift = in.Cool, in.Warm, in.Policy, nil
	for _, text := range strings.Fields(strings.ReplaceAll(in.PerShift, ",", " ")) {
		minutes, err := minuteOfDay("per_shift", text)
		if err != nil {
			return Done{}, err
		}
		p.PerShift = append(p.PerShift, minutes)
	}
	return d.facts(ctx, who, "SetPlan", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.PlanSet{SealerType: in.SealerType, Reason: in.Reason, Plan: p}, nil)
}

// NotUsedIn says that sealers were not or will not be used.
type NotUsedIn struct {
	From
	Codes   []string    `form:"codes" json:"codes,omitempty"` // none: the department is closed
	FromDay record.Date `form:"from" json:"from"`
	ToDay   record.Date `form:"to" json:"to,omitzero"`
	Why     string      `form:"why" json:"why,omitempty"`
}

// NotUsed records days without use.
func (d *Desk) NotUsed(ctx context.Context, who Caller, in NotUsedIn) (Done, error) {
	b := record.NotUsed{Sealers: []record.ID{}, From: in.FromDay, To: in.ToDay, Why: in.Why}
	if b.To == 0 {
		b.To = b.From
	}
	if b.From == 0 {
		return Done{}, fault.Field("from", "Give the day.")
	}
	for _, code := range in.Codes {
		s, err := d.sealerOf(who, code)
		if err != nil {
			return Done{}, err
		}
		b.Sealers = append(b.Sealers, s.ID)
	}
	return d.facts(ctx, who, "NotUsed", in.From, record.Subject{Type: record.Department, ID: who.Dept}, &b, nil)
}

// PouchIn describes a pouch as its IFU does. Process may come several times.
type PouchIn struct {
	From
	Pouch       record.ID       `param:"pouch" json:"-"`
	Name        string          `form:"name" json:"name"`
	Material    record.Material `form:"material" json:"material"`
	Low         string          `form:"low" json:"low,omitempty"`
	High        string          `form:"high" json:"high,omitempty"`
	Dwell       string          `form:"dwell" json:"dwell,omitempty"`
	Pressure    string          `form:"pressure" json:"pressure,omitempty"`
	SealWidth   string          `form:"seal_width" json:"seal_width,omitempty"`
	MinStrength string          `form:"min_strength" json:"min_strength,omitempty"`
	Processes   []string        `form:"processes" json:"processes,omitempty"`
	IFUIn
	Recheck bool   `form:"recheck" json:"recheck,omitempty"`
	Retired bool   `form:"retired" json:"retired,omitempty"`
	Reason  string `form:"reason" json:"reason,omitempty"`
}

// IFUIn names a document.
type IFUIn struct {
	Title    string      `form:"ifu" json:"ifu,omitempty"`
	Revision string      `form:"ifu_revision" json:"ifu_revision,omitempty"`
	Page     string      `form:"ifu_page" json:"ifu_page,omitempty"`
	Date     record.Date `form:"ifu_date" json:"ifu_date,omitzero"`
}

func (in IFUIn) document() record.Document {
	return record.Document{Title: strings.TrimSpace(in.Title), Revision: in.Revision, Page: in.Page, Date: in.Date}
}

func (in *PouchIn) facts() record.PouchFacts {
	return record.PouchFacts{Name: strings.TrimSpace(in.Name), Material: in.Material, Low: in.Low, High: in.High,
		Dwell: in.Dwell, Pressure: in.Pressure, SealWidth: in.SealWidth, MinStrength: in.MinStrength,
		Processes: in.Processes, IFU: in.document(), Retired: in.Retired}
}

// AddPouch records a new pouch.
func (d *Desk) AddPouch(ctx context.Context, who Caller, in PouchIn) (Done, error) {
	id := d.fresh(&in.From, "pouch")
	return d.facts(ctx, who, "AddPouch", in.From, record.Subject{Type: record.Pouch, ID: id},
		&record.PouchAdded{PouchFacts: in.facts()}, nil)
}

// RevisePouch records what changed about a pouch or its IFU.
func (d *Desk) RevisePouch(ctx context.Context, who Caller, in PouchIn) (Done, error) {
	if p := d.pouch(in.Pouch); p == nil || p.Dept != who.Dept {
		return Done{}, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	return d.facts(ctx, who, "RevisePouch", in.From, record.Subject{Type: record.Pouch, ID: in.Pouch},
		&record.PouchRevised{PouchFacts: in.facts(), Recheck: in.Recheck, Reason: in.Reason}, nil)
}

func (d *Desk) pouch(id record.ID) (p *rules.Pouch) {
	d.ledger.View(func(v record.View) { p = rules.GetPouch(v, id) })
	return p
}

// ReleaseIn ends a hold of a pouch lot.
type ReleaseIn struct {
	From
	Pouch record.ID `param:"pouch" json:"-"`
	Lot   string    `form:"lot" json:"lot"`
	Why   string    `form:"why" json:"why"`
}

// ReleaseLot records that a lot may be used again.
func (d *Desk) ReleaseLot(ctx context.Context, who Caller, in ReleaseIn) (Done, error) {
	if p := d.pouch(in.Pouch); p == nil || p.Dept != who.Dept {
		return Done{}, fault.New(fault.Unknown, "There is no such pouch here.")
	}
	return d.facts(ctx, who, "ReleaseLot", in.From, record.Subject{Type: record.Pouch, ID: in.Pouch},
		&record.LotReleased{Lot: in.Lot, Why: in.Why}, nil)
}

// fresh gives a command its id, if it has none, and derives from it the id of
// what it makes: the same form makes the same thing, however often it is sent.
func (d *Desk) fresh(in *From, what string) record.ID {
	if in.ID.IsZero() {
		in.ID = d.NewID()
	}
	return in.ID.Derive(what)
}

// SealerIn are the facts of a sealer.
type SealerIn struct {
	From
	Code     string            `param:"code" json:"-"`
	Number   string            `form:"number" json:"number"`
	Type     record.SealerType `form:"type" json:"type"`
	Asset    string            `form:"asset" json:"asset,omitempty"`
	Serial   string            `form:"serial" json:"serial,omitempty"`
	Model    string            `form:"model" json:"model,omitempty"`
	Place    string            `form:"place" json:"place,omitempty"`
	WidthCM  int               `form:"width_cm" json:"width_cm,omitempty"`
	Contract string            `form:"contract" json:"contract,omitempty"`
	Loaner   bool              `form:"loaner" json:"loaner,omitempty"`
	IFUIn
	NewLabel bool   `form:"new_label" json:"new_label,omitempty"`
	Reason   string `form:"reason" json:"reason,omitempty"`
}

func (in *SealerIn) facts() record.SealerFacts {
	return record.SealerFacts{Number: strings.ToUpper(strings.TrimSpace(in.Number)), Type: in.Type, Asset: in.Asset,
		Serial: in.Serial, Model: in.Model, Place: in.Place, WidthCM: in.WidthCM, Contract: in.Contract,
		Loaner: in.Loaner, IFU: in.document()}
}

// AddSealer records a new sealer and gives it the code of its label. A form sent
// twice gives the same code.
func (d *Desk) AddSealer(ctx context.Context, who Caller, in SealerIn) (Done, error) {
	id := d.fresh(&in.From, "sealer")
	code, err := d.codeOf(in.From.ID)
	if err != nil {
		return Done{}, err
	}
	done, err := d.facts(ctx, who, "AddSealer", in.From, record.Subject{Type: record.Sealer, ID: id},
		&record.SealerAdded{SealerFacts: in.facts(), Code: code}, nil)
	done.Code = code
	return done, err
}

// codeOf is a new label code; that of an earlier sending, if there was one.
func (d *Desk) codeOf(id record.ID) (string, error) {
	if r, found, err := d.ledger.Find(id); err != nil {
		return "", err
	} else if found {
		switch b, _ := r.Content(); b := b.(type) {
		case *record.SealerAdded:
			return b.Code, nil
		case *record.SealerChanged:
			return b.Code, nil
		}
	}
	return d.newCode()
}

// ChangeSealer records what changed about a sealer, a new label among it.
func (d *Desk) ChangeSealer(ctx context.Context, who Caller, in SealerIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	b := record.SealerChanged{SealerFacts: in.facts(), Reason: in.Reason}
	if in.NewLabel {
		d.fresh(&in.From, "label")
		if b.Code, err = d.codeOf(in.From.ID); err != nil {
			return Done{}, err
		}
	}
	done, err := d.facts(ctx, who, "ChangeSealer", in.From, sealerSubject(s), &b, nil)
	done.Code = b.Code
	return done, err
}

// MoveIn says where a sealer stands now.
type MoveIn struct {
	From
	Code  string `param:"code" json:"-"`
	Place string `form:"place" json:"place"`
}

// MoveSealer records that a sealer stands elsewhere.
func (d *Desk) MoveSealer(ctx context.Context, who Caller, in MoveIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	if strings.TrimSpace(in.Place) == "" {
		return Done{}, fault.Field("place", "Say where it stands now.")
	}
	return d.facts(ctx, who, "MoveSealer", in.From, sealerSubject(s), &record.SealerMoved{Place: in.Place}, nil)
}

// RetireIn ends a sealer's service.
type RetireIn struct {
	From
	Code string `param:"code" json:"-"`
	Why  string `form:"why" json:"why,omitempty"`
}

// RetireSealer records that a sealer is gone for good; its history stays.
func (d *Desk) RetireSealer(ctx context.Context, who Caller, in RetireIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	if strings.TrimSpace(in.Why) == "" {
		return Done{}, fault.Field("why", "Give the reason: it stays with your name.")
	}
	return d.facts(ctx, who, "RetireSealer", in.From, sealerSubject(s), &record.SealerRetired{Why: in.Why}, nil)
}

// ApproveIn is a lead's decision for one pouch on one sealer.
type ApproveIn struct {
	From
	Code  string       `param:"code" json:"-"`
	Pouch record.ID    `form:"pouch" json:"pouch"`
	Value string       `form:"value" json:"value"`
	Unit  string       `form:"unit" json:"unit"`
	Hold  string       `form:"hold" json:"hold,omitempty"`
	Speed string       `form:"speed" json:"speed,omitempty"`
	Basis record.Basis `form:"basis" json:"basis,omitempty"`
	IFUIn
	Provisional record.Date `form:"provisional" json:"provisional,omitzero"`
}

// Approve records the setting a technician will see. Nothing else changes it.
func (d *Desk) Approve(ctx context.Context, who Caller, in ApproveIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	b := record.ApprovalGiven{Pouch: in.Pouch, Value: strings.TrimSpace(in.Value), Unit: in.Unit, Hold: in.Hold,
		Speed: in.Speed, Basis: in.Basis, IFU: in.document(), Provisional: in.Provisional}
	if b.Basis == "" {
		b.Basis = record.FromIFU
	}
	return d.facts(ctx, who, "Approve", in.From, sealerSubject(s), &b, nil)
}

// EndApprovalIn takes an approval back.
type EndApprovalIn struct {
	From
	Code  string    `param:"code" json:"-"`
	Pouch record.ID `form:"pouch" json:"pouch"`
	Why   string    `form:"why" json:"why"`
}

// EndApproval records that a setting is no longer approved.
func (d *Desk) EndApproval(ctx context.Context, who Caller, in EndApprovalIn) (Done, error) {
	s, err := d.sealerOf(who, in.Code)
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "EndApproval", in.From, sealerSubject(s), &record.ApprovalEnded{Pouch: in.Pouch, Why: in.Why}, nil)
}
