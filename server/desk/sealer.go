package desk

import (
	"slices"

	"tidemark/server/record"
	"tidemark/server/rules"
)

// Ref names something a page can link to.
type Ref struct {
	ID   record.ID `json:"id,omitzero"`
	Code string    `json:"code,omitempty"` // of a sealer's label
	Text string    `json:"text"`
}

// Frame is what every view carries: what it was drawn from, and for whom.
type Frame struct {
	Size   int64             `json:"size"` // of the ledger: goes back as seen
	Now    record.Time       `json:"now"`
	Day    record.Date       `json:"day"`
	Zone   string            `json:"zone"`
	Place  string            `json:"department"`
	Who    string            `json:"who"`
	Roles  []record.Role     `json:"roles"`
	NewID  record.ID         `json:"-"` // for a form on the page
	Ticket string            `json:"-"` // for what a phone keeps of the page
	Demo   bool              `json:"demo,omitempty"`
	Phone  *OnPhone          `json:"-"` // set where a phone keeps the page
	Dept   *rules.Department `json:"-"`
	Person *rules.Person     `json:"-"`
}

// Can reports whether the person of the frame may do something. A page that a
// phone keeps offers what a technician could do: who it was is settled later.
func (f *Frame) Can(what string) bool {
	if f.Phone != nil {
		return slices.Contains(uses[use(what)], record.Technician)
	}
	return f.Person != nil && f.Person.Has(uses[use(what)]...)
}

// Clock writes an instant in the department's zone, with the date where needed.
func (f *Frame) Clock(t record.Time) string { return clockText(f.Dept, t, f.Now) }

// frame draws the frame inside a view of the state.
func (d *Desk) frame(v record.View, who Caller) Frame {
	f := Frame{Size: sizeOf(v), Now: d.now(), NewID: d.NewID(), Demo: d.demo}
	f.Dept, f.Person = rules.GetDepartment(v, who.Dept), rules.GetPerson(v, who.Person)
	if f.Dept == nil {
		f.Dept = &rules.Department{}
	}
	f.Place, f.Zone, f.Day = f.Dept.Name, f.Dept.Zone, f.Dept.Day(f.Now)
	if f.Person != nil {
		f.Who, f.Roles = d.reveal(f.Person.Name), f.Person.Roles
		f.Ticket = d.ticketFor(who, f.Size)
	}
	return f
}

// sizeOf is the size of the ledger that a view is of. The ledger itself must not
// be asked while it shows a view.
func sizeOf(v record.View) int64 { return v.(interface{ Size() int64 }).Size() }

// name reveals a person's name.
func (d *Desk) name(v record.View, id record.ID) string {
	if p := rules.GetPerson(v, id); p != nil {
		return d.reveal(p.Name)
	}
	return ""
}

// Setting is an approved setting as a technician sees it.
type Setting struct {
	Approval    record.Seq      `json:"approval"`
	Value       string          `json:"value"`
	Unit        string          `json:"unit"`
	Hold        string          `json:"hold,omitempty"`
	Speed       string          `json:"speed,omitempty"`
	By          string          `json:"by"`
	On          record.Date     `json:"on"`
	Provisional record.Date     `json:"provisional,omitzero"`
	Basis       record.Basis    `json:"basis"`
	IFU         record.Document `json:"ifu"`
}

func (d *Desk) setting(v record.View, a *rules.Approval) *Setting {
	return &Setting{a.Seq, a.Value, a.Unit, a.Hold, a.Speed, d.name(v, a.By), a.On, a.Provisional,
		a.Basis, a.IFU}
}

// PouchHere is a pouch as far as one sealer goes.
type PouchHere struct {
	ID       record.ID       `json:"id"`
	Name     string          `json:"name"`
	Material record.Material `json:"material"`
	Setting  *Setting        `json:"setting"`           // nil: none stands
	Missing  string          `json:"missing,omitempty"` // why none stands, a code
	Ready    bool            `json:"ready"`
	Held     []string        `json:"held,omitempty"` // lots on hold
}

// SealerView is everything the sealer page shows.
type SealerView struct {
	Frame
	record.SealerFacts
	ID         record.ID        `json:"id"`
	Code       string           `json:"code"`
	OldLabel   bool             `json:"old_label,omitempty"` // the label that was scanned was replaced
	Standing   record.Readiness `json:"standing"`
	Plan       record.Plan      `json:"plan"`
	Pouches    []PouchHere      `json:"pouches"`   // those with an approval or in use
	Pouch      *PouchHere       `json:"pouch"`     // the one in hand, nil: ask
	LastGood   *GoodView        `json:"last_good"` // of the pouch in hand
	Problem    *ProblemRef      `json:"problem"`   // that keeps it from sealing
	Watched    *WatchView       `json:"watched"`   // no fault was found a short while ago
	Instead    []Ref            `json:"instead"`   // ready sealers for the pouch
	Fallback   string           `json:"fallback,omitempty"`
	Boxes      []BoxView        `json:"boxes,omitempty"`     // that a check of the pouch in hand is made with
	Approvers  []string         `json:"approvers,omitempty"` // who can add a setting
	Training   Trained          `json:"training"`
	Due        []rules.DueTask  `json:"due"`                // tasks that wait to be done
	Unproved   *Unproved        `json:"unproved,omitempty"` // what rests on its last check, if the plan asks for one more
	Where      Whereabouts      `json:"where"`
	ReadySince string           `json:"-"`
}

// GoodView is a good check in short.
type GoodView struct {
	At record.Time `json:"at"`
	By string      `json:"by"`
}

// ProblemRef is a problem in short.
type ProblemRef struct {
	ID     record.ID    `json:"id"`
	Number int          `json:"number"`
	What   string       `json:"what"`
	Kind   record.Fault `json:"kind,omitempty"`
	Place  record.Place `json:"place,omitempty"`
	AtCM   string       `json:"at_cm,omitempty"`
	At     record.Time  `json:"at"`
	By     string       `json:"by"`
	Tagged record.Time  `json:"tagged,omitzero"`
	Seen   string       `json:"seen,omitempty"` // by whom, first
	SeenAt record.Time  `json:"seen_at,omitzero"`
	Stage  string       `json:"stage,omitempty"`
	Packs  int          `json:"packs"`         // at least so many on hold
	Why    string       `json:"why,omitempty"` // of packs sealed while not ready: a code
	Set    string       `json:"set,omitempty"` // the setting they were sealed at, as said
}

// Sealer draws the page of a sealer: by the code of its label, for the pouch in
// hand, or zero to let the standing say which.
func (d *Desk) Sealer(who Caller, code string, inHand record.ID) (*SealerView, error) {
	if _, err := d.may(who, "Look"); err != nil {
		return nil, err
	}
	s, err := d.sealerOf(who, code)
	if err != nil {
		return nil, err
	}
	view := &SealerView{ID: s.ID, OldLabel: code != s.Code}
	var problem *rules.Problem
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, s.ID)
		view.SealerFacts, view.Code = s.SealerFacts, s.Code
		view.Frame = d.frame(v, who)
		view.Plan, view.Fallback = view.Dept.Plan(s.Type), view.Dept.Fallback
		view.Standing = rules.Standing(v, s, view.Now)
		view.Pouches = d.pouchesHere(v, s, view)
		view.choose(inHand)
		d.around(v, s, view)
		view.Where = whereabouts(v, s)
		view.Watched = watchedNow(v, s, view.Now)
		view.Training = d.trained(v, s, &view.Frame)
		view.Boxes = boxesFor(v, view)
		view.Due = openTasks(v, s, view.Day)
		if p := rules.GetProblem(v, view.Standing.Problem); p != nil {
			problem, view.Problem = p, d.problemRef(v, p)
		}
	})
	if view.Unproved, err = d.unproved(s, view); err != nil {
		return nil, err
	}
	if view.Can("AcceptCheck") {
		if view.Training.Waiting, err = d.waitingGood(s); err != nil {
			return nil, err
		}
	}
	if problem != nil {
		if _, err := d.told(view.Problem, problem); err != nil {
			return nil, err
		}
	}
	return view, nil
}

func (d *Desk) pouchesHere(v record.View, s *rules.Sealer, view *SealerView) []PouchHere {
	var list []PouchHere
	for _, id := range view.Dept.Pouches {
		p := rules.GetPouch(v, id)
		if p == nil || p.Retired {
			continue
		}
		here := PouchHere{ID: id, Name: p.Name, Material: p.Material}
		a, why := s.Approval(v, id, view.Day)
		here.Missing = why
		if a != nil {
			here.Setting = d.setting(v, a)
		} else if why == rules.WhyNoApproval {
			continue
		}
		for lot := range p.Held {
			here.Held = append(here.Held, lot)
		}
		slices.Sort(here.Held)
		here.Ready = view.Standing.State == record.Ready && view.Standing.Pouch == id
		list = append(list, here)
	}
	return list
}

// choose settles which pouch is in hand: the one asked for, the one the sealer
// is ready or being made ready for, or the only one.
func (view *SealerView) choose(inHand record.ID) {
	st := view.Standing
	if inHand.IsZero() && (st.State == record.Ready || st.State == record.NotReady || st.Need == record.NeedFresh ||
		st.Need == record.NeedTestSeal || st.Why == rules.WhyChangeover) {
		inHand = st.Pouch
	}
	if inHand.IsZero() && len(view.Pouches) == 1 {
		inHand = view.Pouches[0].ID
	}
	for i := range view.Pouches {
		if view.Pouches[i].ID == inHand {
			view.Pouch = &view.Pouches[i]
		}
	}
}

// around adds the last good check, ready sealers for the same pouch and who can
// approve a setting.
func (d *Desk) around(v record.View, s *rules.Sealer, view *SealerView) {
	var pouch record.ID
	if view.Pouch != nil {
		pouch = view.Pouch.ID
	} else {
		pouch = view.Standing.Pouch
	}
	for _, g := range s.Good {
		if g.Pouch == pouch || pouch.IsZero() {
			view.LastGood = &GoodView{At: g.Began, By: d.name(v, g.By)}
		}
	}
	for _, id := range view.Dept.Sealers {
		if o := rules.GetSealer(v, id); o != nil && o.ID != s.ID && rules.MaySeal(v, o, pouch, view.Now) {
			view.Instead = append(view.Instead, Ref{Code: o.Code, Text: o.Number})
		}
	}
	if view.Pouch == nil || view.Pouch.Setting == nil {
		view.Approvers = d.leads(v, view.Dept)
	}
}

func (d *Desk) leads(v record.View, dept *rules.Department) (names []string) {
	for _, id := range dept.People {
		if p := rules.GetPerson(v, id); p != nil && p.Has(record.Lead) {
			names = append(names, d.reveal(p.Name))
		}
	}
	return names
}

func (d *Desk) problemRef(v record.View, p *rules.Problem) *ProblemRef {
	ref := &ProblemRef{ID: p.ID, Number: p.Number, What: p.What, Kind: p.Kind, Place: p.Place, AtCM: p.AtCM,
		At: p.OpenedAt, By: d.name(v, p.OpenedBy), Tagged: p.Tagged, Stage: p.Stage}
	if len(p.Seen) > 0 {
		ref.Seen, ref.SeenAt = d.seenBy(v, p.Seen[0]), p.Seen[0].At
	}
	return ref
}

// seenBy tells who has seen a problem; by link it is only what was typed.
func (d *Desk) seenBy(v record.View, s rules.SeenBy) string {
	if s.Via == record.ViaLink {
		return "by link, says " + d.reveal(s.Name)
	}
	return d.name(v, s.By)
}
