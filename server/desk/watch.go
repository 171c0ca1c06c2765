package desk

import "tidemark/server/record"

// Changes returns a channel that gets a signal after something was recorded or
// came into the inbox. Stop ends it.
func (d *Desk) Changes() (changed <-chan struct{}, stop func()) {
	return d.bell.listen(d.ledger.Watch())
}

// Moment is what the board of a department depends on besides the department.
type Moment struct {
	Size  int64 // of the ledger
	Rings int64 // how often something came into an inbox
	Now   record.Time
}

// Glance looks whether the caller may see the board, and tells the moment.
func (d *Desk) Glance(who Caller) (Moment, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return Moment{}, err
	}
	return d.Moment(), nil
}

// Moment is the moment.
func (d *Desk) Moment() Moment {
	return Moment{Size: d.ledger.Size(), Rings: d.bell.rings(), Now: d.now()}
}

// Session tells sign-ins of one person apart.
func (c Caller) Session() string { return c.session }

// StillIn reports whether the caller's session still holds; an open page asks
// now and then.
func (d *Desk) StillIn(who Caller) bool {
	s, err := d.people.Session(who.session, d.clock())
	if err != nil || record.ID(s.Person) != who.Person {
		return false
	}
	p := d.person(who.Person)
	return p != nil && !p.Left
}

// Size is the number of records.
func (d *Desk) Size() int64 { return d.ledger.Size() }
