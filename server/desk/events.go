package desk

import (
	"encoding/json"
	"errors"
	"maps"
	"slices"

	"tidemark/server/ledger"
	"tidemark/server/post"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Routes of messages to webhooks, beside rules.ToStep.
const (
	sealerEvent  = "sealer-event"
	problemEvent = "problem-event"
)

// eventsOf turns a record into messages for every webhook of its department: one
// if a sealer stands elsewhere from then on, one if a problem went a step on. What
// time alone does, as when a new day begins, is no event.
func eventsOf(v record.View, r *record.Record) (list []ledger.Message) {
	dept := rules.GetDepartment(v, r.Dept)
	if dept == nil || len(dept.Hooks) == 0 {
		return nil
	}
	var routes []string
	if next := r.Effect.Readiness; next != nil {
		if s := rules.GetSealer(v, sealerOfRecord(r)); s == nil || s.Readiness.State != next.State || s.Readiness.Pouch != next.Pouch {
			routes = append(routes, sealerEvent)
		}
	}
	if problemStep(r) != "" {
		routes = append(routes, problemEvent)
	}
	for _, hook := range slices.SortedFunc(maps.Keys(dept.Hooks), func(a, b record.ID) int { return slices.Compare(a[:], b[:]) }) {
		for _, route := range routes {
			if !dept.Hooks[hook].Off {
				list = append(list, ledger.Message{Route: route, To: hook})
			}
		}
	}
	return list
}

func sealerOfRecord(r *record.Record) record.ID {
	if r.Subject.Type == record.Sealer {
		return r.Subject.ID
	}
	return r.Effect.Sealer
}

// problemStep is what a record is called in an event of its problem.
func problemStep(r *record.Record) string {
	if r.Effect.Opens > 0 {
		return "problem.opened"
	}
	body, err := r.Content()
	if err != nil {
		return ""
	}
	switch b := body.(type) {
	case *record.Seen:
		return "problem.seen"
	case *record.Work:
		if b.Stage == record.Vendor {
			return "problem.vendor-called"
		}
		return "problem.at-work"
	case *record.HandedBack:
		return "problem.handed-back"
	case *record.FirstLineFix:
		return "problem.first-line-fix"
	case *record.PacksSettled:
		return "problem.packs-settled"
	case *record.ProblemClosed:
		return "problem.closed"
	}
	return ""
}

// eventData is what an event tells. It holds no name of a person and nothing that
// anybody typed but asset tag, serial and order number.
type eventData struct {
	Record     record.ID   `json:"record"`
	Department string      `json:"department"`
	Sealer     *eventSeal  `json:"sealer,omitempty"`
	Problem    *eventWrong `json:"problem,omitempty"`
	Step       int         `json:"step,omitempty"` // place on the route, from 1
	Urgent     bool        `json:"urgent,omitempty"`
	Page       string      `json:"page,omitempty"`
}

type eventSeal struct {
	Number string       `json:"number"`
	Code   string       `json:"code"`
	Asset  string       `json:"asset,omitempty"`
	Serial string       `json:"serial,omitempty"`
	State  record.State `json:"state,omitempty"`
	Pouch  string       `json:"pouch,omitempty"`
}

type eventWrong struct {
	Number int          `json:"number"`
	What   string       `json:"what"`
	Kind   record.Fault `json:"kind,omitempty"`
	Place  record.Place `json:"place,omitempty"`
	Order  string       `json:"order,omitempty"`
}

// IsHook reports whether an addressee is a webhook.
func (d *Desk) IsHook(to record.ID) (is bool) {
	d.ledger.View(func(v record.View) {
		for _, id := range rules.GetSite(v).Departments {
			if dept := rules.GetDepartment(v, id); dept != nil {
				_, here := dept.Hooks[to]
				is = is || here
			}
		}
	})
	return is
}

// Event draws what a webhook is told because of a record: as things stood by it,
// not as they stand now. A nil event: it was ended meanwhile.
func (d *Desk) Event(seq record.Seq, route string, hook record.ID) (to string, e *post.Event, err error) {
	r, err := d.ledger.Read(seq)
	if err != nil {
		return "", nil, err
	}
	data := eventData{Record: r.ID}
	e = &post.Event{At: r.Happened.To.Time()}
	var k rules.Hook
	var known bool
	d.ledger.View(func(v record.View) {
		dept := rules.GetDepartment(v, r.Dept)
		if dept == nil {
			return
		}
		k, known = dept.Hooks[hook]
		data.Department = dept.Name
		e.Type = d.tell(v, &r, route, &data)
	})
	if !known || k.Off || e.Type == "" {
		return "", nil, nil
	}
	if e.Secrets, err = d.secretsOf(hook); err != nil {
		return "", nil, err
	}
	if len(e.Secrets) == 0 {
		return "", nil, &post.Failure{Verdict: post.Refuse, Why: noSecret}
	}
	e.Data, err = json.Marshal(data)
	return d.urlOf(k), e, err
}

// tell fills an event in and returns its type.
func (d *Desk) tell(v record.View, r *record.Record, route string, data *eventData) string {
	problem := problemOfRecord(r)
	p := rules.GetProblem(v, problem)
	if p != nil {
		data.Problem = &eventWrong{p.Number, p.What, p.Kind, p.Place, p.Order}
		data.Page = d.url + "/problems/" + problem.String()
	}
	sealer := sealerOfRecord(r)
	if sealer.IsZero() && p != nil {
		sealer = p.Sealer
	}
	if s := rules.GetSealer(v, sealer); s != nil {
		data.Sealer = &eventSeal{Number: s.Number, Code: s.Code, Asset: s.Asset, Serial: s.Serial}
	}
	next := r.Effect.Readiness
	if next != nil && data.Sealer != nil {
		data.Sealer.State = next.State
		if pouch := rules.GetPouch(v, next.Pouch); pouch != nil {
			data.Sealer.Pouch = pouch.Name
		}
	}
	switch route {
	case sealerEvent:
		if next == nil {
			return ""
		}
		return "sealer." + string(next.State)
	case problemEvent:
		return problemStep(r)
	}
	if body, err := r.Content(); err == nil {
		if c, ok := body.(*record.Called); ok {
			data.Step, data.Urgent = c.N+1, c.Urgent
			return "problem.call"
		}
	}
	return ""
}

// reasonOf is what a failed sending tells a person.
func reasonOf(err error) string {
	var f *post.Failure
	if errors.As(err, &f) {
		return f.Why
	}
	return "The webhook did not take the event."
}
