package desk

import (
	"context"
	"errors"
	"time"

	"tidemark/server/fault"
	"tidemark/server/post"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// dueStep is a step of a route, and when.
type dueStep struct {
	problem record.ID
	post.Step
	called record.Called
}

// Escalate tells whoever is next on each department's route, where somebody is
// due, and returns when the next step will be, 0 if none is in sight. It can be
// called at any time and as often as one likes: a step has the same id whenever it
// is made, so no restart can make it twice, and what is due is worked out anew
// from the records each time, so the clock may jump.
func (d *Desk) Escalate(ctx context.Context) (record.Time, error) {
	var steps []dueStep
	now := d.now()
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetSite(v).Departments {
			steps = append(steps, stepsOf(v, rules.GetDepartment(v, id), now)...)
		}
	})
	var next record.Time
	var failed error
	for _, s := range steps {
		if s.Due > now {
			next = sooner(next, s.Due)
			continue
		}
		if err := d.call(ctx, s); err != nil && !fault.Is(err, fault.Stale) {
			failed = errors.Join(failed, err)
		}
	}
	return next, failed
}

func sooner(a, b record.Time) record.Time {
	if a == 0 || b < a {
		return b
	}
	return a
}

// stepsOf are the next steps of a department's problems, one of each at most.
func stepsOf(v record.View, dept *rules.Department, now record.Time) (list []dueStep) {
	if dept == nil || dept.Route == nil {
		return nil
	}
	for _, id := range dept.Open {
		p := rules.GetProblem(v, id)
		if p == nil || !rules.Unseen(v, p, now) {
			continue
		}
		if s, ok := nextStep(v, dept, p, now); ok {
			list = append(list, s)
		}
	}
	return list
}

// nextStep is who comes next for a problem; false: everybody was told.
func nextStep(v record.View, dept *rules.Department, p *rules.Problem, now record.Time) (dueStep, bool) {
	urgent := rules.Urgent(v, rules.GetSealer(v, p.Sealer), now)
	route := routeOf(v, dept)
	step, ok := route.Next(p.Round.Cause, p.Round.Next, p.Round.At, urgent)
	if !ok {
		return dueStep{}, false
	}
	on := dept.Route.People[step.N]
	return dueStep{p.ID, step, record.Called{Cause: p.Round.Cause, N: step.N, To: on.Person,
		Mail: on.Mail, Hook: on.Hook, Urgent: urgent}}, true
}

// routeOf is a department's route in the terms of whoever works out its steps.
// Somebody who has left is away for good.
func routeOf(v record.View, dept *rules.Department) post.Route {
	r := post.Route{Unseen: time.Duration(dept.Route.Minutes) * time.Minute,
		Hours: post.Hours{Zone: rules.Zone(dept.Zone), Closed: daysOf(dept.Route.Closed)}}
	for _, o := range dept.Route.Hours {
		r.Hours.Week[o.Day] = append(r.Hours.Week[o.Day], post.Opening{From: o.From, To: o.To})
	}
	for _, on := range dept.Route.People {
		a := post.Addressee{ID: on.Person, Away: daysOf(on.Away)}
		if p := rules.GetPerson(v, on.Person); p == nil || p.Left {
			a.Away = []post.Days{{From: 0, To: 1 << 30}}
		}
		r.People = append(r.People, a)
	}
	return r
}

func daysOf(list []record.Days) (days []post.Days) {
	for _, d := range list {
		days = append(days, post.Days(d))
	}
	return days
}

// call writes a step down, with its messages.
func (d *Desk) call(ctx context.Context, s dueStep) error {
	e := rules.Entry{ID: s.Step.ID, Via: record.ViaClock}
	subject := record.Subject{Type: record.Problem, ID: s.problem}
	return d.byClock(ctx, e, subject, &s.called, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.TellNext(v, rules.SaidCall{Entry: e, Problem: s.problem, Call: s.called}, now)
	})
}

// Calls tell how far a problem's route has been gone.
type Calls struct {
	Route  bool        `json:"route"`           // the department has one
	Told   []CalledRow `json:"told,omitempty"`  // in this round, the first first
	Next   string      `json:"next,omitempty"`  // who comes next
	Due    record.Time `json:"due,omitzero"`    // and when
	Urgent bool        `json:"urgent"`          // a pouch has no sealer left
	Over   bool        `json:"over,omitempty"`  // everybody was told, nobody has seen it
	Waits  bool        `json:"waits,omitempty"` // nobody has seen it yet
}

// CalledRow is somebody who was told.
type CalledRow struct {
	Name string      `json:"name"`
	At   record.Time `json:"at"`
	Mail bool        `json:"mail,omitempty"`
	Hook bool        `json:"hook,omitempty"`
}

func (d *Desk) calls(v record.View, f *Frame, p *rules.Problem) (c Calls) {
	c.Route, c.Waits = f.Dept.Route != nil, rules.Unseen(v, p, f.Now)
	for _, t := range p.Told {
		if t.Cause == p.Round.Cause {
			c.Told = append(c.Told, CalledRow{d.name(v, t.To), t.At, t.Mail, !t.Hook.IsZero()})
		}
	}
	if s := rules.GetSealer(v, p.Sealer); s != nil && c.Waits {
		c.Urgent = rules.Urgent(v, s, f.Now)
	}
	if !c.Route || !c.Waits {
		return c
	}
	next, ok := nextStep(v, f.Dept, p, f.Now)
	if c.Over = !ok; ok {
		c.Next, c.Due = d.name(v, next.To), next.Due
	}
	return c
}
