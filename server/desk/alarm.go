package desk

import (
	"context"
	"fmt"
	"time"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// Sight is what an answer shows of the ledger: its size, its root and a token of
// both, which the next request brings back.
type Sight struct {
	Size  int64
	Root  [32]byte
	Token string
}

// Sight returns what is to be seen of the ledger now.
func (d *Desk) Sight() (Sight, error) {
	s, err := d.ledger.Sight()
	return Sight{s.Size, s.Root, s.Token}, err
}

// Witness takes the token of an earlier Sight. If it shows more than is here, or
// something else, nothing is stored any more; see Alarms.
func (d *Desk) Witness(token string) {
	_ = d.ledger.Witness(token) // stands in Alarms from now on
}

// ClockBehind is how far the clock of the machine may be behind the newest record.
const ClockBehind = 2 * time.Minute

// Alarms are the sentences that stand on every page, and make a server not ready,
// until somebody has seen to what they say.
func (d *Desk) Alarms() (list []string) {
	st := d.ledger.Status()
	if st.Stopped != nil {
		list = append(list, "Nothing is stored at the moment: the server starts again. Tell IT if this stays.")
	}
	if st.Back != nil {
		list = append(list, "Nothing is stored at the moment: the records here are older than what was seen of them. Tell IT. "+
			"Write on paper what happens meanwhile.")
	}
	if gap := st.Latest.Time().Sub(d.clock()); gap > ClockBehind {
		list = append(list, fmt.Sprintf("The server's clock is %s behind its newest record. Tell IT; times written down now may be wrong.",
			inMinutes(gap)))
	}
	return list
}

func inMinutes(d time.Duration) string {
	switch d = d.Round(time.Minute); {
	case d < 2*time.Hour:
		return fmt.Sprintf("%d minutes", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d hours", int(d.Hours()))
	}
	return fmt.Sprintf("%d days", int(d.Hours()/24))
}

// WayIn is what lets the people who see to accounts in again.
type WayIn struct {
	Person string // name
	PIN    string // to be changed at the first sign-in
	Code   string // lets one new device in
}

// MakeWaysIn makes a new PIN and a device code for each lead and administrator,
// for whoever owns the machine: after a restore without the keys nobody's PIN is
// known any more. It is not for callers.
func (d *Desk) MakeWaysIn() (list []WayIn, err error) {
	var all []*rules.Person
	d.ledger.View(func(v record.View) {
		for _, dept := range rules.GetSite(v).Departments {
			for _, id := range rules.GetDepartment(v, dept).People {
				if p := rules.GetPerson(v, id); p != nil && p.Has(record.Lead, record.Administrator) {
					all = append(all, p)
				}
			}
		}
	})
	for _, p := range all {
		w := WayIn{Person: d.reveal(p.Name)}
		if w.PIN, err = d.people.ResetPIN(p.ID, d.clock()); err != nil {
			return nil, err
		}
		if w.Code, _, err = d.people.MakeEnrolment(p.Dept, p.ID, d.clock()); err != nil {
			return nil, err
		}
		d.log.Warn("a new PIN was made at the console", "person", p.ID)
		list = append(list, w)
	}
	return list, nil
}

// ClockIn says that the server's clock had run ahead and is right now.
type ClockIn struct {
	From
	Was record.Time `form:"was" json:"was"` // the latest time of a record, as the page showed it
}

// CorrectClock takes the clock for right as it reads now: from here on records are
// given its time again, though the newest carry a later one.
func (d *Desk) CorrectClock(ctx context.Context, who Caller, in ClockIn) (Done, error) {
	if _, err := d.may(who, "CorrectClock"); err != nil {
		return Done{}, err
	}
	in.From.Happened = "" // it is said now
	e, err := d.entry(who, in.From)
	if err != nil {
		return Done{}, err
	}
	return d.write(ctx, who, From{}, e, record.TheSite, &record.ClockCorrected{Was: in.Was},
		func(v record.View, e rules.Entry, now record.Time) ([]rules.Draft, error) {
			return rules.CorrectClock(v, rules.SaidClock{Entry: e, Dept: who.Dept, Was: in.Was, Clock: d.now()}, now)
		})
}
