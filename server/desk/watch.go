package desk

import "tidemark/server/record"

// Watch returns a channel that gets a signal after something was recorded or came
// into the inbox. Stop ends it.
func (d *Desk) Watch(who Caller) (changed <-chan struct{}, stop func(), err error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, nil, err
	}
	changed, stop = d.bell.listen(d.ledger.Watch())
	return changed, stop, nil
}

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
