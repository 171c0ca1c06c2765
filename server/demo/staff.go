package demo

import (
	"fmt"

	"tidemark/server/desk"
	"tidemark/server/people"
	"tidemark/server/record"
)

// Argon is a cost for the PINs of a demo. They are printed where it starts: a
// dear hash would protect nothing and cost seconds.
var Argon = people.Argon{Memory: 64, Time: 1, Threads: 1}

// who is one of the staff.
type who int

const (
	castellune who = iota
	ollerby
	pellamy
	fennimark
	iyenath
	valdorro
	ostrowin
	adekembe
	brannock
	nakashiro
	wexcombe
	thackerel
)

// member is an invented person: initials and surnames that nobody carries.
type member struct {
	name      string
	pin       string
	firstLine bool
	roles     []record.Role
}

var staff = [...]member{
	castellune: {"V. Castellune", "402917", true, []record.Role{record.Lead, record.Administrator}},
	ollerby:    {"R. Ollerby", "583016", true, []record.Role{record.Lead}},
	pellamy:    {"L. Pellamy", "716204", false, []record.Role{record.Technician}},
	fennimark:  {"J. Fennimark", "239586", false, []record.Role{record.Technician}},
	iyenath:    {"B. Iyenath", "861037", true, []record.Role{record.Technician}},
	valdorro:   {"M. Valdorro", "947150", false, []record.Role{record.Technician}},
	ostrowin:   {"K. Ostrowin", "305728", false, []record.Role{record.Technician}},
	adekembe:   {"T. Adekembe", "628493", false, []record.Role{record.Technician}},
	brannock:   {"H. Brannock", "174860", false, []record.Role{record.Engineering}},
	nakashiro:  {"E. Nakashiro", "590382", false, []record.Role{record.Engineering}},
	wexcombe:   {"S. Wexcombe", "413695", false, []record.Role{record.Surveyor}},
	thackerel:  {"D. Thackerel", "762019", false, []record.Role{record.Administrator}},
}

// mail is where clinical engineering is written to; .example goes nowhere
// (RFC 2606).
const mail = "clinical.engineering@lanternfield.example"

// id is the same in every demo, so that a kept folder is found again.
func (w who) id() record.ID {
	if w == castellune {
		return entryID("begin").Derive("person")
	}
	return w.entry().Derive("person")
}

func (w who) entry() record.ID { return entryID("add " + staff[w].name) }

// onDuty tells who is there by the hour: three early, two late, one at night.
func onDuty(hour int) []who {
	switch {
	case hour >= 5 && hour < 14:
		return []who{pellamy, fennimark, iyenath}
	case hour >= 14 && hour < 23:
		return []who{valdorro, ostrowin}
	}
	return []who{adekembe}
}

// hire adds everybody but the first, who was there from the beginning. They
// choose their own PIN at their first sign-in, as anybody would.
func (h *house) hire() {
	lead := h.as(castellune)
	for w := range who(len(staff)) {
		if w == castellune {
			continue
		}
		m := staff[w]
		in := desk.PersonIn{From: desk.From{ID: w.entry()}, Name: m.name, Roles: m.roles,
			FirstLine: m.firstLine}
		if w == brannock {
			in.Mail = mail
		}
		added, err := h.desk.AddPerson(h.ctx, lead.caller, in)
		if !h.keep("add "+m.name, err) {
			return
		}
		h.keep("sign in "+m.name, h.firstSignIn(w, added.PIN))
	}
}

func (h *house) firstSignIn(w who, given string) error {
	_, device := h.desk.Who("", h.token)
	signed, err := h.desk.SignIn(h.ctx, device, desk.SignInIn{Person: w.id(), PIN: given})
	if err != nil {
		return fmt.Errorf("sign in: %w", err)
	}
	h.callers[w], _ = h.desk.Who(signed.Token, h.token)
	_, err = h.desk.ChoosePIN(h.ctx, h.callers[w], desk.NewPINIn{PIN: staff[w].pin})
	return err
}
