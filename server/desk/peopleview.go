package desk

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// PeopleView lists the people and devices of a department.
type PeopleView struct {
	Frame
	People  []PersonRow `json:"people"` // by name, those who left last
	Devices []DeviceRow `json:"devices"`
}

// PersonRow is a person with their names revealed.
type PersonRow struct {
	ID        record.ID     `json:"id"`
	Name      string        `json:"name"`
	Mail      string        `json:"mail,omitempty"`
	Roles     []record.Role `json:"roles"`
	FirstLine bool          `json:"first_line,omitempty"`
	Left      bool          `json:"left,omitempty"`
}

// DeviceRow is a phone, tablet or computer that was let in.
type DeviceRow struct {
	ID      record.ID `json:"id"`
	Name    string    `json:"name,omitempty"`
	Since   time.Time `json:"since"`
	Revoked bool      `json:"revoked,omitempty"`
	Here    bool      `json:"here,omitempty"` // the one that asks
}

// People lists the people and devices of the caller's department.
func (d *Desk) People(who Caller) (*PeopleView, error) {
	if _, err := d.may(who, "ManagePeople"); err != nil {
		return nil, err
	}
	view := &PeopleView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, id := range view.Dept.People {
			if p := rules.GetPerson(v, id); p != nil {
				view.People = append(view.People, d.personRow(p))
			}
		}
		for _, dev := range d.people.Devices(who.Dept) {
			known := view.Dept.Devices[dev.ID]
			view.Devices = append(view.Devices, DeviceRow{ID: dev.ID, Name: d.reveal(known.Name),
				Since: dev.Since, Revoked: !dev.Revoked.IsZero(), Here: dev.ID == who.Device})
		}
	})
	slices.SortStableFunc(view.People, func(a, b PersonRow) int {
		return cmp.Or(last(a.Left)-last(b.Left), strings.Compare(a.Name, b.Name))
	})
	return view, nil
}

// last sorts what is over behind the rest.
func last(over bool) int {
	if over {
		return 1
	}
	return 0
}

func (d *Desk) personRow(p *rules.Person) PersonRow {
	return PersonRow{ID: p.ID, Name: d.reveal(p.Name), Mail: d.reveal(p.Mail), Roles: p.Roles,
		FirstLine: p.FirstLine, Left: p.Left}
}

// PersonView is one person.
type PersonView struct {
	Frame
	Person   PersonRow    `json:"person"`
	SignOffs []SignOffRow `json:"sign_offs"`
	Others   []Ref        `json:"-"` // who could have shown or assessed something
}

// Person draws one person of the caller's department.
func (d *Desk) Person(who Caller, id record.ID) (*PersonView, error) {
	if _, err := d.may(who, "ManagePeople"); err != nil {
		return nil, err
	}
	view := &PersonView{}
	found := false
	var person *rules.Person
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		if p := rules.GetPerson(v, id); p != nil && p.Dept == who.Dept {
			view.Person, person, found = d.personRow(p), p, true
			view.Others = d.othersThan(v, view.Dept, id)
		}
	})
	if !found {
		return nil, fault.New(fault.Unknown, "There is no such person here.")
	}
	var err error
	view.SignOffs, err = d.signOffs(person, view.Day)
	return view, err
}

// othersThan lists the people of a department but one, by name.
func (d *Desk) othersThan(v record.View, dept *rules.Department, id record.ID) (list []Ref) {
	for _, other := range dept.People {
		if p := rules.GetPerson(v, other); p != nil && other != id && !p.Left {
			list = append(list, Ref{ID: other, Text: d.reveal(p.Name)})
		}
	}
	slices.SortFunc(list, func(a, b Ref) int { return strings.Compare(a.Text, b.Text) })
	return list
}
