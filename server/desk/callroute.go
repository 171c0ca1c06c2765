package desk

import (
	"context"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// RouteView is whom a department tells when a sealer goes out of service, and how
// long it watches one in which no fault was found.
type RouteView struct {
	Frame
	Set       bool             `json:"set"` // false: everybody with a mail address at once
	People    []RouteRow       `json:"people"`
	Hours     []record.Opening `json:"hours"`
	Closed    []record.Days    `json:"closed"`
	Minutes   int              `json:"minutes"`
	WatchDays int              `json:"watch_days"`
	Everybody []string         `json:"everybody"` // who is mailed at once without a route
	Who       []Ref            `json:"who_can"`   // who can be on it
	Hooks     []Ref            `json:"hooks"`     // webhooks in use
}

// RouteRow is somebody on the route.
type RouteRow struct {
	Person Ref           `json:"person"`
	Mail   bool          `json:"mail"`
	Hook   record.ID     `json:"hook,omitzero"`
	Away   []record.Days `json:"away,omitempty"`
	NoMail bool          `json:"no_mail,omitempty"` // is to be mailed and has no address
	Left   bool          `json:"left,omitempty"`
}

// Route draws whom the caller's department tells.
func (d *Desk) Route(who Caller) (*RouteView, error) {
	if _, err := d.may(who, "SetRoute"); err != nil {
		return nil, err
	}
	view := &RouteView{Minutes: 30, WatchDays: rules.WatchDays}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		_, view.Everybody = d.engineers(v, view.Dept)
		for _, id := range view.Dept.People {
			if p := rules.GetPerson(v, id); p != nil && p.Has(record.Engineering, record.Lead) {
				view.Who = append(view.Who, Ref{ID: id, Text: d.reveal(p.Name)})
			}
		}
		view.Hooks = d.hooksInUse(view.Dept)
		r := view.Dept.Route
		if r == nil {
			return
		}
		view.Set, view.Hours, view.Closed = true, r.Hours, r.Closed
		view.Minutes, view.WatchDays = r.Minutes, r.WatchDays
		for _, on := range r.People {
			row := RouteRow{Person: Ref{ID: on.Person, Text: d.name(v, on.Person)}, Mail: on.Mail, Hook: on.Hook, Away: on.Away}
			if p := rules.GetPerson(v, on.Person); p != nil {
				row.Left, row.NoMail = p.Left, on.Mail && d.mailOf(p) == ""
			}
			view.People = append(view.People, row)
		}
	})
	slices.SortFunc(view.Who, func(a, b Ref) int { return strings.Compare(a.Text, b.Text) })
	return view, nil
}

// RouteIn is a route as a form has it: a row for each person, in order. How is
// "mail", the id of a webhook, or "both " and that id. Opens and Closes are times
// of day, Monday first; none means around the clock. Dates are "2026-12-25", a
// span "2026-12-25..2027-01-01".
type RouteIn struct {
	From
	Person    []string `form:"person" json:"person"`
	How       []string `form:"how" json:"how"`
	AwayFrom  []string `form:"away_from" json:"away_from,omitempty"`
	AwayTo    []string `form:"away_to" json:"away_to,omitempty"`
	Opens     []string `form:"opens" json:"opens,omitempty"`
	Closes    []string `form:"closes" json:"closes,omitempty"`
	Closed    string   `form:"closed" json:"closed,omitempty"`
	Minutes   int      `form:"minutes" json:"minutes"`
	WatchDays int      `form:"watch_days" json:"watch_days"`
	Reason    string   `form:"reason" json:"reason,omitempty"`
}

// SetRoute records whom the department tells.
func (d *Desk) SetRoute(ctx context.Context, who Caller, in RouteIn) (Done, error) {
	if _, err := d.may(who, "SetRoute"); err != nil {
		return Done{}, err
	}
	r, err := in.route()
	if err != nil {
		return Done{}, err
	}
	return d.facts(ctx, who, "SetRoute", in.From, record.Subject{Type: record.Department, ID: who.Dept}, r, nil)
}

func (in *RouteIn) route() (*record.RouteSet, error) {
	r := &record.RouteSet{People: []record.OnRoute{}, Hours: []record.Opening{}, Closed: []record.Days{},
		Minutes: in.Minutes, WatchDays: in.WatchDays, Reason: in.Reason}
	for i := range in.Person {
		on, err := in.onRoute(i)
		if err != nil {
			return nil, err
		}
		if !on.Person.IsZero() {
			r.People = append(r.People, on)
		}
	}
	if len(r.People) == 0 {
		return nil, fault.Field("people", "Choose who is told first.")
	}
	var err error
	if r.Hours, err = in.hours(); err != nil {
		return nil, err
	}
	r.Closed, err = datesIn("closed", in.Closed)
	return r, err
}

func (in *RouteIn) onRoute(i int) (on record.OnRoute, err error) {
	if err := on.Person.UnmarshalText([]byte(at(in.Person, i))); err != nil {
		return on, fault.Field("people", "Choose people of clinical engineering, or leads.")
	}
	how, both := strings.CutPrefix(at(in.How, i), "both ")
	if on.Mail = both || how == "mail" || how == ""; how != "mail" && how != "" {
		if err := on.Hook.UnmarshalText([]byte(how)); err != nil {
			return on, fault.Field("people", "Say how each of them is told.")
		}
	}
	from, to := at(in.AwayFrom, i), at(in.AwayTo, i)
	if from == "" && to == "" {
		return on, nil
	}
	away, err := datesIn("people", from+".."+to)
	on.Away = away
	return on, err
}

// hours are the openings of a week; a day without times has none.
func (in *RouteIn) hours() ([]record.Opening, error) {
	list := []record.Opening{}
	for i := range 7 {
		from, to := at(in.Opens, i), at(in.Closes, i)
		if from == "" && to == "" {
			continue
		}
		opens, err := minuteOfDay("hours", from)
		if err != nil {
			return nil, err
		}
		closes, err := minuteOfDay("hours", to)
		if err != nil {
			return nil, err
		}
		if closes <= opens {
			closes += 24 * 60 // into the night
		}
		list = append(list, record.Opening{Day: (i + 1) % 7, From: opens, To: closes})
	}
	return list, nil
}

// datesIn reads dates and spans of dates.
func datesIn(field, text string) ([]record.Days, error) {
	list := []record.Days{}
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
		first, last, span := strings.Cut(word, "..")
		if !span {
			last = first
		}
		from, err1 := record.ParseDate(first)
		to, err2 := record.ParseDate(last)
		if err1 != nil || err2 != nil {
			return nil, fault.Field(field, "Write dates as 2026-12-25, or 2026-12-25..2027-01-01 for several days.")
		}
		list = append(list, record.Days{From: from, To: to})
	}
	return list, nil
}
