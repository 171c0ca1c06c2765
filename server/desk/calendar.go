package desk

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/report"
	"tidemark/server/rules"
)

// calendarRoles are for whom there are calendars; their places in the list are
// kept in people.db.
var calendarRoles = []record.Role{record.Technician, record.Lead, record.Engineering}

// CalendarRoles lists for whom a calendar can be made.
func CalendarRoles() []record.Role { return calendarRoles }

// MakeCalendarIn asks for a calendar of what concerns a role.
type MakeCalendarIn struct {
	Role record.Role `form:"role" json:"role"`
}

// CalendarMade is the address of a new calendar, told once.
type CalendarMade struct {
	URL string `json:"url"`
}

// MakeCalendar makes a secret address under which a calendar program reads what
// is due. It names no people.
func (d *Desk) MakeCalendar(_ context.Context, who Caller, in MakeCalendarIn) (CalendarMade, error) {
	if _, err := d.may(who, "MakeCalendar"); err != nil {
		return CalendarMade{}, err
	}
	role := slices.Index(calendarRoles, in.Role)
	if role < 0 {
		return CalendarMade{}, fault.Field("role", "Choose whose tasks it is to show.")
	}
	list, err := d.people.Calendars(who.Dept)
	if err != nil {
		return CalendarMade{}, err
	}
	if len(list) >= maxCalendars {
		return CalendarMade{}, fault.New(fault.TooMany, "There are %d calendars already. End one that nobody reads.", maxCalendars)
	}
	token, _, err := d.people.MakeCalendar(people.Calendar{Dept: who.Dept, By: who.Person, Role: uint8(role), Made: d.clock()})
	return CalendarMade{URL: d.url + "/calendar/" + token + ".ics"}, err
}

// maxCalendars is how many a department can have.
const maxCalendars = 50

// EndCalendarIn names a calendar.
type EndCalendarIn struct {
	Calendar record.ID `param:"calendar" json:"-"`
}

// EndCalendar ends a calendar: its address answers no more.
func (d *Desk) EndCalendar(_ context.Context, who Caller, in EndCalendarIn) (Done, error) {
	if _, err := d.may(who, "EndCalendar"); err != nil {
		return Done{}, err
	}
	list, err := d.people.Calendars(who.Dept)
	if err != nil {
		return Done{}, err
	}
	if !slices.ContainsFunc(list, func(c people.Calendar) bool { return record.ID(c.ID) == in.Calendar }) {
		return Done{}, fault.New(fault.Unknown, "There is no such calendar here.")
	}
	return Done{Subject: in.Calendar}, d.people.EndCalendar(people.ID(in.Calendar))
}

// CalendarsView lists the calendars of a department. Their addresses are not
// known here any more.
type CalendarsView struct {
	Frame
	Calendars []CalendarRow `json:"calendars"`
}

// CalendarRow is a calendar.
type CalendarRow struct {
	ID   record.ID   `json:"id"`
	Role record.Role `json:"role"`
	By   string      `json:"by"`
	Made record.Time `json:"made"`
}

// Calendars draws them.
func (d *Desk) Calendars(who Caller) (*CalendarsView, error) {
	if _, err := d.may(who, "Calendars"); err != nil {
		return nil, err
	}
	list, err := d.people.Calendars(who.Dept)
	if err != nil {
		return nil, err
	}
	view := &CalendarsView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for _, c := range list {
			view.Calendars = append(view.Calendars, CalendarRow{ID: record.ID(c.ID), Role: calendarRole(c), By: d.name(v, record.ID(c.By)),
				Made: record.TimeOf(c.Made)})
		}
	})
	return view, nil
}

func calendarRole(c people.Calendar) record.Role {
	if int(c.Role) < len(calendarRoles) {
		return calendarRoles[c.Role]
	}
	return calendarRoles[0]
}

// pace slows down who asks too often: so many times a minute for each key.
type pace struct {
	mu     sync.Mutex
	minute int64
	asked  map[string]int
}

// calendarPace is how often a minute one calendar may be read (calendar programs
// ask a few times an hour), and how often an address that is none may be tried.
const calendarPace = 30

func (p *pace) slow(key string, now time.Time) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if minute := now.Unix() / 60; minute != p.minute || p.asked == nil {
		p.minute, p.asked = minute, map[string]int{}
	}
	p.asked[key]++
	return p.asked[key] > calendarPace
}

// Calendar writes the calendar of a secret token. Whoever has the token may read
// it: it names sealers and tasks, and no people.
func (d *Desk) Calendar(token string) ([]byte, error) {
	now := d.clock()
	c, err := d.people.Calendar(token)
	key := "none of ours"
	if err == nil {
		key = string(c.ID[:])
	}
	if d.reads.slow(key, now) {
		return nil, fault.New(fault.TooMany, "This calendar was read too often. Try again in a minute.")
	}
	if err != nil {
		return nil, err
	}
	var out report.Calendar
	d.ledger.View(func(v record.View) {
		if dept := rules.GetDepartment(v, record.ID(c.Dept)); dept != nil {
			out = d.calendar(v, dept, calendarRole(c))
		}
	})
	var b bytes.Buffer
	err = out.Write(&b)
	return b.Bytes(), err
}

// events gathers the entries of one calendar.
type events struct {
	desk *Desk
	role record.Role
	day  record.Date
	list []report.Event
}

func (d *Desk) calendar(v record.View, dept *rules.Department, role record.Role) report.Calendar {
	day := dept.Day(d.now())
	zone := rules.Zone(dept.Zone)
	e := &events{desk: d, role: role, day: day}
	for _, s := range d.sealersOf(v, dept) {
		e.tasks(v, s)
		if role == record.Lead {
			e.provisional(v, s, dept)
		}
		e.documents(s.Documents, s.ID, "sealer "+s.Number+": ", "/S/"+s.Code+"/documents")
	}
	e.documents(dept.Documents, dept.ID, "", "/documents")
	if role == record.Lead {
		e.training(v, dept)
	}
	slices.SortStableFunc(e.list, func(a, b report.Event) int { return strings.Compare(a.UID, b.UID) })
	return report.Calendar{Name: dept.Name, As: rules.Begin(zone, dept.DayStart, day), Events: e.list}
}

// add adds an all-day entry. What is over stands on today until it is seen to.
func (e *events) add(day record.Date, title, text, path string, about ...any) {
	if day < e.day {
		title = "Overdue since " + day.UTC().Format("2 Jan") + ": " + title
		day = e.day
	}
	e.list = append(e.list, report.Event{UID: eventUID(about...), Day: day, Title: title, Text: text, Link: e.desk.url + path})
}

// eventUID is the same for the same thing, so that a calendar program moves its
// entry rather than adding another.
func eventUID(about ...any) string {
	sum := sha256.Sum256([]byte("tidemark calendar" + fmt.Sprint(about...)))
	return hex.EncodeToString(sum[:16]) + "@tidemark"
}

// tasks are those of maintenance and calibration that the role may do; a lead
// sees all.
func (e *events) tasks(v record.View, s *rules.Sealer) {
	for _, t := range rules.Due(v, s, e.day) {
		if e.role == record.Lead || slices.Contains(t.Who, e.role) {
			text := ""
			if t.Blocks {
				text = "Do not seal on it once this is overdue, until it is done or a lead lets it wait."
			}
			e.add(t.Due, "Sealer "+s.Number+": "+t.Name, text, "/S/"+s.Code, "task", s.ID, t.Code)
		}
	}
}

// provisional are approvals that end: at the instant at which the operating day
// after their last begins.
func (e *events) provisional(v record.View, s *rules.Sealer, dept *rules.Department) {
	for _, a := range s.Approvals {
		p := rules.GetPouch(v, a.Pouch)
		if p == nil || p.Retired || a.Provisional == 0 || a.Provisional+1 < e.day {
			continue
		}
		e.list = append(e.list, report.Event{UID: eventUID("provisional", s.ID, a.Pouch),
			At:    rules.Begin(rules.Zone(dept.Zone), dept.DayStart, a.Provisional+1),
			Title: "Sealer " + s.Number + ", " + p.Name + ": the provisional setting ends",
			Text:  "From then on nobody may seal this pouch on it, until a lead approves a setting again.",
			Link:  e.desk.url + "/S/" + s.Code + "/approvals"})
	}
}

func (e *events) documents(list []rules.Document, of record.ID, prefix, path string) {
	for _, doc := range list {
		if doc.Until != 0 && (e.role == record.Lead || e.role == record.Engineering) {
			e.add(doc.Until, prefix+doc.Title+", good until "+doc.Until.UTC().Format("2 Jan 2006"), "", path, "document", of, doc.Seq)
		}
	}
}

// training are days on which sign-offs end: how many, not whose.
func (e *events) training(v record.View, dept *rules.Department) {
	ends := map[record.Date]map[record.ID]bool{}
	for _, id := range dept.People {
		p := rules.GetPerson(v, id)
		if p == nil || !p.Has(record.Technician, record.Lead) {
			continue
		}
		for _, t := range p.Trained {
			if t.Due == 0 {
				continue
			}
			if ends[t.Due] == nil {
				ends[t.Due] = map[record.ID]bool{}
			}
			ends[t.Due][id] = true
		}
	}
	for due, who := range ends {
		title := "Sign-offs of 1 person end"
		if n := len(who); n > 1 {
			title = fmt.Sprintf("Sign-offs of %d people end", n)
		}
		e.add(due, title, "", "/training", "training", dept.ID, due)
	}
}
