package desk

import (
	"context"
	"slices"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PersonIn is a person of the department. PIN is for a new person or a new PIN;
// empty makes a random one, to be told once.
type PersonIn struct {
	From
	Person    record.ID     `param:"person" json:"-"`
	Name      string        `form:"name" json:"name"`
	Mail      string        `form:"mail" json:"mail,omitempty"`
	Roles     []record.Role `form:"roles" json:"roles"`
	FirstLine bool          `form:"first_line" json:"first_line,omitempty"`
	Left      bool          `form:"left" json:"left,omitempty"`
	Why       string        `form:"why" json:"why,omitempty"`
}

// PersonDone tells who was added and the PIN that was made, to be told once.
type PersonDone struct {
	Done
	PIN string `json:"pin,omitempty"`
}

// AddPerson records a new person and makes their first PIN.
func (d *Desk) AddPerson(ctx context.Context, who Caller, in PersonIn) (PersonDone, error) {
	if in.Name == "" {
		return PersonDone{}, fault.Field("name", "Type the name, as colleagues write it.")
	}
	id := d.fresh(&in.From, "person")
	done, err := d.facts(ctx, who, "ManagePeople", in.From, record.Subject{Type: record.Person, ID: id},
		&record.PersonAdded{Roles: in.Roles, FirstLine: in.FirstLine}, map[string]string{"name": in.Name, "mail": in.Mail})
	if err != nil || done.Repeat {
		return PersonDone{Done: done}, err
	}
	pin, err := d.people.ResetPIN(id, d.clock())
	return PersonDone{Done: done, PIN: pin}, err
}

// ChangePerson records what a person may do from now on. Who left is signed out
// everywhere.
func (d *Desk) ChangePerson(ctx context.Context, who Caller, in PersonIn) (Done, error) {
	p := d.person(in.Person)
	if p == nil || p.Dept != who.Dept {
		return Done{}, fault.New(fault.Unknown, "There is no such person here.")
	}
	if !d.keepsALead(p, in) {
		return Done{}, fault.Field("roles", "Somebody has to lead the department: make another person a lead first.")
	}
	done, err := d.facts(ctx, who, "ManagePeople", in.From, record.Subject{Type: record.Person, ID: in.Person},
		&record.PersonChanged{Roles: in.Roles, FirstLine: in.FirstLine, Left: in.Left, Why: in.Why},
		map[string]string{"name": in.Name, "mail": in.Mail})
	if err == nil && in.Left {
		if err = d.people.EndAllOf(in.Person); err == nil {
			err = d.people.RemovePIN(in.Person)
		}
	}
	return done, err
}

// keepsALead reports whether the department has a lead after a change: without
// one nobody could approve a setting or let anybody in any more.
func (d *Desk) keepsALead(p *rules.Person, in PersonIn) (kept bool) {
	if !p.Has(record.Lead) || !in.Left && slices.Contains(in.Roles, record.Lead) {
		return true
	}
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetDepartment(v, p.Dept).People {
			o := rules.GetPerson(v, id)
			kept = kept || id != p.ID && o != nil && o.Has(record.Lead)
		}
	})
	return kept
}

// ResetIn asks for a new PIN.
type ResetIn struct {
	Person record.ID `param:"person" json:"-"`
}

// ResetPIN makes a random PIN for a person who forgot theirs, to be told once.
func (d *Desk) ResetPIN(_ context.Context, who Caller, in ResetIn) (PersonDone, error) {
	if _, err := d.may(who, "ManagePeople"); err != nil {
		return PersonDone{}, err
	}
	p := d.person(in.Person)
	if p == nil || p.Dept != who.Dept {
		return PersonDone{}, fault.New(fault.Unknown, "There is no such person here.")
	}
	pin, err := d.people.ResetPIN(in.Person, d.clock())
	return PersonDone{Done: Done{Subject: in.Person}, PIN: pin}, err
}

// NewPINIn is a PIN that a person chooses.
type NewPINIn struct {
	PIN string `form:"pin" json:"pin"`
}

// ChoosePIN stores the PIN that the person who is signed in has chosen.
func (d *Desk) ChoosePIN(_ context.Context, who Caller, in NewPINIn) (Done, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return Done{}, err
	}
	return Done{Subject: who.Person}, d.people.SetPIN(who.Person, in.PIN, d.clock())
}

// SignInIn is a person's PIN on an enrolled device.
type SignInIn struct {
	Person record.ID `form:"person" json:"person"`
	PIN    string    `form:"pin" json:"pin"`
}

// Signed is a session that was begun.
type Signed struct {
	Token      string        `json:"token"`
	Until      time.Time     `json:"until"`
	MustChoose bool          `json:"must_choose_pin"`
	Roles      []record.Role `json:"roles"`
}

// Shift is how long a sign-in lasts.
const Shift = 12 * time.Hour

// SignIn begins a session on an enrolled device.
func (d *Desk) SignIn(_ context.Context, device people.Device, in SignInIn) (Signed, error) {
	now := d.clock()
	must, err := d.people.CheckPIN(in.Person, device.ID, in.PIN, now)
	if err != nil {
		if fault.Is(err, fault.SignIn) {
			d.refused(Caller{Person: in.Person, Device: device.ID}, "sign-in")
		}
		return Signed{}, err
	}
	p := d.person(in.Person)
	if p == nil || p.Left || p.Dept != record.ID(device.Dept) {
		return Signed{}, fault.Field("pin", "That is not the PIN. Try again.")
	}
	until := now.Add(Shift)
	token, err := d.people.StartSession(in.Person, device.ID, now, until)
	return Signed{Token: token, Until: until, MustChoose: must, Roles: p.Roles}, err
}

// SignOut ends a session.
func (d *Desk) SignOut(_ context.Context, who Caller) error { return d.people.EndSession(who.session) }

// Who returns the caller of a session token on a device token; either may be
// empty. A revoked device has no callers.
func (d *Desk) Who(session, device string) (Caller, people.Device) {
	dev, err := d.people.Device(device)
	if err != nil || !dev.Revoked.IsZero() {
		return Caller{}, people.Device{}
	}
	s, err := d.people.Session(session, d.clock())
	if err != nil || s.Device != dev.ID {
		return Caller{}, dev
	}
	return Caller{Person: s.Person, Dept: dev.Dept, Device: dev.ID, Via: record.ViaPIN, session: session}, dev
}

// ByLink returns the caller of a one-time link.
func (d *Desk) ByLink(token string) (Caller, error) {
	l, err := d.people.Link(token, d.clock())
	if err != nil {
		return Caller{}, err
	}
	var dept record.ID
	d.ledger.View(func(v record.View) {
		if p := rules.GetProblem(v, l.Problem); p != nil {
			dept = p.Dept
		}
	})
	return Caller{Person: l.Addressee, Dept: dept, Link: l.Problem, Via: record.ViaLink}, nil
}

// Invitation lets one new device in.
type Invitation struct {
	Code  string    `json:"code"`
	Until time.Time `json:"until"`
}

// InviteDevice makes a code that a new device types or scans.
func (d *Desk) InviteDevice(_ context.Context, who Caller) (Invitation, error) {
	if _, err := d.may(who, "ManageDevices"); err != nil {
		return Invitation{}, err
	}
	code, e, err := d.people.MakeEnrolment(who.Dept, who.Person, d.clock())
	return Invitation{Code: code, Until: e.Until}, err
}

// EnrolIn is a code typed on a new device, and what the device is called.
type EnrolIn struct {
	Code string `form:"code" json:"code"`
	Name string `form:"name" json:"name,omitempty"`
}

// Enrol lets a device in and returns the token it keeps.
func (d *Desk) Enrol(ctx context.Context, in EnrolIn) (string, error) {
	e, err := d.people.UseEnrolment(in.Code, d.clock())
	if err != nil {
		return "", err
	}
	return d.letIn(ctx, Caller{Person: e.By, Dept: e.Dept, Via: record.ViaPIN}, in.Name)
}

func (d *Desk) letIn(ctx context.Context, who Caller, name string) (string, error) {
	token, dev, err := d.people.LetIn(who.Dept, d.clock())
	if err != nil {
		return "", err
	}
	_, err = d.facts(ctx, who, "ManageDevices", From{ID: d.NewID()}, record.Subject{Type: record.Department, ID: who.Dept},
		&record.DeviceLetIn{Device: dev.ID}, map[string]string{"name": name})
	return token, err
}

// RevokeIn shuts a device out.
type RevokeIn struct {
	From
	Device record.ID `param:"device" json:"-"`
	Why    string    `form:"why" json:"why,omitempty"`
}

// RevokeDevice shuts a device out, at once and for good.
func (d *Desk) RevokeDevice(ctx context.Context, who Caller, in RevokeIn) (Done, error) {
	if _, err := d.may(who, "ManageDevices"); err != nil {
		return Done{}, err
	}
	if _, here := d.department(who.Dept).Devices[in.Device]; !here {
		return Done{}, fault.New(fault.Unknown, "There is no such device here.")
	}
	done, err := d.facts(ctx, who, "ManageDevices", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.DeviceRevoked{Device: in.Device, Why: in.Why}, nil)
	if err != nil {
		return done, err
	}
	return done, d.people.RevokeDevice(in.Device, d.clock())
}

// FirstIn is the very first form: the department and its first lead.
type FirstIn struct {
	DepartmentIn
	Token  string `form:"token" json:"token"`
	Person string `form:"person" json:"person"`
	PIN    string `form:"pin" json:"pin"`
	Device string `form:"device" json:"device,omitempty"`
}

// First is what the first form gave: tokens of the device and the session.
type First struct {
	Device  string    `json:"device"`
	Session Signed    `json:"session"`
	Dept    record.ID `json:"department"`
	Person  record.ID `json:"person"`
}

// NeedsSetUp reports whether nobody has set this installation up yet.
func (d *Desk) NeedsSetUp() (yes bool) {
	d.ledger.View(func(v record.View) { yes = len(rules.GetSite(v).Departments) == 0 })
	return yes
}

// MakeSetUp makes the one-time set-up link's token.
func (d *Desk) MakeSetUp() (string, error) { return d.people.MakeSetup(d.clock()) }

// CheckSetUp reports whether a token opens the set-up page.
func (d *Desk) CheckSetUp(token string) error { return d.people.CheckSetup(token, d.clock()) }

// Begin opens the first department with its first person, who leads and
// administers it, and lets the device in on which this is done.
func (d *Desk) Begin(ctx context.Context, in FirstIn) (First, error) {
	if !d.NeedsSetUp() {
		return First{}, fault.New(fault.Gone, "This installation is set up already. Ask a lead to add you.")
	}
	if err := d.CheckSetUp(in.Token); err != nil {
		return First{}, err
	}
	if in.Person == "" {
		return First{}, fault.Field("person", "Type your name, as colleagues write it.")
	}
	settings, err := in.settings(newDepartment)
	if err != nil {
		return First{}, err
	}
	f := First{Dept: d.fresh(&in.From, "department"), Person: in.ID.Derive("person")}
	if err := d.people.SetPIN(f.Person, in.PIN, d.clock()); err != nil {
		return First{}, err
	}
	if err := d.openDepartment(ctx, f, in, settings); err != nil {
		return First{}, err
	}
	if err := d.people.UseSetup(in.Token, d.clock()); err != nil {
		return First{}, err
	}
	who := Caller{Person: f.Person, Dept: f.Dept, Via: record.ViaPIN}
	if f.Device, err = d.letIn(ctx, who, in.Device); err != nil {
		return First{}, err
	}
	dev, err := d.people.Device(f.Device)
	if err != nil {
		return First{}, err
	}
	until := d.clock().Add(Shift)
	token, err := d.people.StartSession(f.Person, dev.ID, d.clock(), until)
	f.Session = Signed{Token: token, Until: until, Roles: d.person(f.Person).Roles}
	return f, err
}

// openDepartment writes the department and its first person in one command.
func (d *Desk) openDepartment(ctx context.Context, f First, in FirstIn, settings record.DepartmentSettings) error {
	e := rules.Entry{ID: in.ID, By: f.Person, Via: record.ViaConsole}
	if err := d.seal(&e, map[string]string{"name": in.Person}); err != nil {
		return err
	}
	sealed := e.Sealed
	e.Sealed = nil
	opened := &record.DepartmentOpened{Name: in.Name, DepartmentSettings: settings}
	subject := record.Subject{Type: record.Department, ID: f.Dept}
	_, err := d.write(ctx, Caller{Dept: f.Dept}, From{}, e, subject, opened,
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.OpenSite(v, rules.SaidSetUp{Entry: e, Dept: f.Dept, Subject: subject, Facts: opened}, f.Person, sealed, now)
		})
	return err
}

// Device is a phone, tablet or computer that asks.
type Device = people.Device

// Colleagues lists who can sign in on a device, and its department's name; a
// device that nobody let in sees nobody.
func (d *Desk) Colleagues(dev Device) (list []Ref, place string, known bool) {
	if dev.ID == (people.ID{}) {
		return nil, "", false
	}
	d.ledger.View(func(v record.View) {
		dept := rules.GetDepartment(v, dev.Dept)
		if dept == nil {
			return
		}
		place = dept.Name
		for _, id := range dept.People {
			if p := rules.GetPerson(v, id); p != nil && !p.Left {
				list = append(list, Ref{ID: id, Text: d.reveal(p.Name)})
			}
		}
	})
	slices.SortFunc(list, func(a, b Ref) int { return strings.Compare(a.Text, b.Text) })
	return list, place, true
}
