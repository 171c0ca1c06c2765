package desk

import (
	"context"
	"encoding/json"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
)

// Kept is an entry that a phone wrote down when it was made, and sends when it
// can. Form holds the fields of the form that it was made with, as a browser
// encodes them; what stands beside it counts before fields of the same name.
type Kept struct {
	V      int         `json:"v"` // of this shape: 1
	ID     record.ID   `json:"id"`
	Ticket string      `json:"ticket,omitempty"` // who was signed in when it was made
	Says   string      `json:"says,omitempty"`   // the name typed where nobody could sign in
	To     string      `json:"to"`               // address of the form
	Form   string      `json:"form"`
	Dev    record.ID   `json:"dev"`
	DevN   int64       `json:"dev_n"`
	Made   record.Time `json:"made"`
	Sent   record.Time `json:"sent"`
	Live   bool        `json:"live,omitempty"` // just made, its page still open
	Hand   bool        `json:"hand,omitempty"` // to be given to a lead
	Gives  bool        `json:"-"`              // a good word: to be believed only of somebody known
}

// KeptVersion is the newest shape of Kept. Those before it stay readable.
const KeptVersion = 1

// sender is what came out about who made an entry.
type sender struct {
	issued     record.Time // of the ticket, 0 without one
	size       int64       // of the ledger then
	arrived    record.Time // if that was not just now
	says       string
	by         record.ID // whose session carried it, if somebody else's
	onBehalfOf record.ID // who is said to have made what a lead accepts
}

// TakeKept takes an entry that a phone kept. The device is told by its token, a
// revoked one too. do carries the entry out as the Caller it is given; it may be
// called once.
//
// A fact is never refused for being late. Whose it is decides what it is worth:
// with a ticket that covers it, or once its person has signed in again on the
// device, it is that person's. Else a bad word is taken as nobody's, so that a
// fail stops, and a good one waits for a lead; and everything waits that comes
// from a device shut out or a person who left, at the time it arrives.
//
// A live entry is the command of the person whose page it comes from, with the
// refusals of one.
func (d *Desk) TakeKept(ctx context.Context, who Caller, device string, k Kept, do func(context.Context, Caller) (Done, error)) (Done, error) {
	if k.ID.IsZero() || k.V < 1 || k.V > KeptVersion {
		return Done{}, fault.New(fault.Invalid, "This entry cannot be read here. Copy it as text and show it to a lead.")
	}
	dev, err := d.people.Device(device)
	if err != nil {
		return Done{}, fault.Wrap(err, fault.SignIn, "This device is not known here. Let it in, then what it kept is sent.")
	}
	done, err := d.takeFrom(ctx, who, dev, k, do)
	if err != nil {
		return done, err
	}
	return done, d.people.Came(dev.Dept, dev.ID, k.Dev, k.DevN, d.clock())
}

func (d *Desk) takeFrom(ctx context.Context, who Caller, dev people.Device, k Kept, do func(context.Context, Caller) (Done, error)) (Done, error) {
	made := d.makerOf(who, dev, k)
	if made.Via == record.ViaPIN && k.Live && who.Person == made.Person {
		return do(ctx, who)
	}
	why := d.waits(made, dev, k)
	switch {
	case why == "":
		done, err := do(ctx, made)
		if !fault.Is(err, fault.Forbidden) {
			return done, err
		}
		why = WaitsForbidden
	case why == WaitsUnconfirmed && who.Person.IsZero() && !made.Person.IsZero():
		return Done{}, fault.New(fault.SignIn, "Sign in on this phone again to confirm what it kept; or give it to a lead.")
	}
	return d.keepWaiting(dev, waiting{Kept: k, Person: made.Person, Why: why})
}

// makerOf finds out who made an entry; Via is ViaNone if that is not sure.
func (d *Desk) makerOf(who Caller, dev people.Device, k Kept) Caller {
	t, ours := d.openTicket(k.Ticket)
	from := &sender{issued: t.issued, size: t.size, says: k.Says}
	made := Caller{Person: t.person, Dept: dev.Dept, Device: dev.ID, Via: record.ViaNone, Queued: true, sender: from}
	if who.Person != t.person {
		from.by = who.Person
	}
	if !ours || k.Says != "" {
		made.Person = record.ID{}
		return made
	}
	now := d.now()
	span := queuedSpan(From{Made: k.Made, Sent: k.Sent}, now, from)
	if t.device == dev.ID && t.covers(span.To, now) || t.person == who.Person {
		made.Via = record.ViaPIN
	}
	return made
}

// waits tells why an entry is for a lead to take, "" if it is taken now.
func (d *Desk) waits(made Caller, dev people.Device, k Kept) string {
	p := d.person(made.Person)
	switch {
	case !dev.Revoked.IsZero():
		return WaitsDevice
	case p != nil && (p.Left || p.Dept != dev.Dept):
		return WaitsLeft
	case k.Hand:
		return WaitsHanded
	case k.Gives && made.Via == record.ViaNone:
		return WaitsUnconfirmed
	}
	return ""
}

// waiting is an entry in the inbox. Its JSON is the body of a report there.
type waiting struct {
	Kept   Kept      `json:"kept"`
	Person record.ID `json:"person,omitzero"` // who its ticket says
	Why    string    `json:"why"`
}

// keepWaiting lays an entry into the department's inbox, once.
func (d *Desk) keepWaiting(dev people.Device, w waiting) (Done, error) {
	d.inbox.Lock()
	defer d.inbox.Unlock()
	id := w.Kept.ID
	for _, known := range []record.ID{id, id.Derive(leftOut)} {
		if r, found, err := d.ledger.Find(known); err != nil || found {
			return Done{ID: id, Seq: r.Seq, Count: 1, At: r.At.String(), Repeat: true, Size: d.ledger.Size()}, err
		}
	}
	done := Done{ID: id, Seq: record.None, At: d.now().String(), Size: d.ledger.Size(), Waits: w.Why}
	reports, err := d.waitingIn(dev.Dept)
	if err != nil {
		return Done{}, err
	}
	for _, r := range reports {
		if r.Kept.ID == id {
			done.Repeat = true
			return done, nil
		}
	}
	body, err := json.Marshal(w)
	if err != nil {
		return Done{}, fault.Wrap(err, fault.Internal, "This could not be written down.")
	}
	_, err = d.people.AddReport(dev.Dept, record.ID(dev.ID).String(), body, d.clock())
	return done, err
}
