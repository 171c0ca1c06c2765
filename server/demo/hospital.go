// Package demo makes an invented hospital: a packing room with six sealers, three
// pouches, twelve people and ninety operating days behind it, with stories to
// find. It is there to be looked at and tried out, and for tests that want a
// department that has lived.
//
// # What it promises
//
// Everything is done by the people of the hospital through the desk's own
// methods, each by a page that was just opened, while a clock is moved; nothing
// is written past the desk. The seed is fixed: two demos that end at the same
// moment tell the same, but for the secrets and label codes that the desk draws.
// The history ends no later than the moment it was asked for, and what is going
// on then fits the hour.
//
// # The stories
//
// Sealer 2 leaves a channel about 31 cm from the left, three times. The display
// of sealer 5 reads 7 degrees low. A repair of sealer 4 does not hold. On two
// working days nobody checked anything. One check was entered late, from paper.
// Beside them: a power cut, a test that was not valid, a crease, packs sealed
// during a changeover, pouch lots with an open maker's seal, a first-line fix.
// Today sealer 2 is out of service, sealer 3 is with clinical engineering, and an
// operating room has left a report of a bad pack.
//
// # What it does not do
//
// It opens no store and listens nowhere: the caller wires the ledger, the
// people's store with a cheap [Argon] and the desk, all on one [Clock]. The
// names, lots, order numbers and readings are made up; the settings are usual
// ones and no advice.
package demo

import (
	"context"
	"time"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// The names of the invented hospital and its department.
const (
	HospitalName = "Lanternfield Hospital"
	Department   = "Sterile Processing, Packing Room"
)

// Hospital is what somebody needs to try a demo out.
type Hospital struct {
	Name        string // of the hospital
	People      []Person
	Sealers     []Sealer
	DeviceToken string // of a device that was let in
}

// Person is one of the staff. Role is the first of theirs.
type Person struct {
	ID   record.ID
	Name string
	Role record.Role
	PIN  string
}

// Sealer is a sealer and the path of its label.
type Sealer struct {
	Number string
	Code   string
	Path   string // "/S/" and the code
}

// Build makes the hospital, with its history up to now, in an installation that
// nobody has set up. The ledger behind the desk and the desk itself must go by
// the clock. Afterwards the clock follows the real one.
func Build(ctx context.Context, d *desk.Desk, c *Clock, now time.Time) (Hospital, error) {
	defer c.Follow()
	h := newHouse(ctx, d, c, now)
	h.script()
	for _, e := range h.told() {
		c.Set(e.at)
		if e.do(); h.err != nil {
			return Hospital{}, h.err
		}
	}
	return h.hospital(), nil
}

// Reopen returns the hospital of a demo that was kept, with a new device let in.
func Reopen(ctx context.Context, d *desk.Desk) (Hospital, error) {
	h := newHouse(ctx, d, &Clock{real: time.Now}, time.Now())
	lead := desk.Caller{Person: castellune.id(), Dept: entryID("begin").Derive("department"),
		Via: record.ViaConsole}
	h.callers[castellune] = lead
	h.findCodes()
	invited, err := d.InviteDevice(ctx, lead)
	h.keep("invite device", err)
	h.token, err = d.Enrol(ctx, desk.EnrolIn{Code: invited.Code, Name: "Another browser"})
	h.keep("enrol device", err)
	return h.hospital(), h.err
}

// script writes down everything that happens.
func (h *house) script() {
	first := h.day(Days)
	h.at(first, opening, h.open)
	h.at(first, "08:05", h.hire)
	h.at(first, "08:10", h.signOff)
	h.at(first, "08:20", h.furnish)
	h.at(first, "08:30", h.papers)
	h.at(first, "08:40", h.tellEngineering)
	h.at(first, "08:42", h.hangPoster)
	h.upkeep()
	h.firstLineFix()
	h.makersSeals()
	h.displayThatLies()
	h.channelAtOnePlace()
	h.powerCut()
	h.repairThatDidNotHold()
	h.sealedDuringChangeover()
	h.lateEntry()
	h.testNotValid()
	h.crease()
	h.withEngineering()
	h.outOfService()
	h.foundElsewhere()
	h.measurements()
	h.ordinaryDays(h.weekday(58), h.weekday(30))
}

func (h *house) hospital() Hospital {
	out := Hospital{Name: HospitalName, DeviceToken: h.token}
	for w, m := range staff {
		p := Person{ID: who(w).id(), Name: m.name, Role: m.roles[0], PIN: m.pin}
		out.People = append(out.People, p)
	}
	for s, code := range h.codes {
		out.Sealers = append(out.Sealers,
			Sealer{Number: sealers[s].Number, Code: code, Path: "/S/" + code})
	}
	return out
}
