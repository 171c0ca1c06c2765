package desk

import (
	"context"
	"strconv"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/post"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Postroom delivers what waits.
type Postroom interface {
	Waiting() []post.Wait // what is tried again later
	Wake()                // look at once
}

// What is decided about messages that are parked.
const (
	SendMessages = "send"
	DropMessages = "drop"
)

// WhyRestored is why messages are parked that a backup held: they may have gone
// out after it was made.
const WhyRestored = "restored from a backup: send or drop?"

// OutboxView is what waits to be delivered, what does not get through, and what is
// left to a person.
type OutboxView struct {
	Frame
	Waiting int           `json:"waiting"` // messages to be sent
	Oldest  []OutboxRow   `json:"oldest"`  // the oldest of them
	Trying  []TryingRow   `json:"trying"`  // what does not get through, and why
	Parked  []ParkedGroup `json:"parked"`
}

// OutboxRow is a message.
type OutboxRow struct {
	Key   string      `json:"key"`
	To    string      `json:"to"`
	Hook  bool        `json:"hook,omitempty"`    // to a webhook
	About int         `json:"problem,omitempty"` // number of the problem
	ID    record.ID   `json:"problem_id,omitzero"`
	At    record.Time `json:"at"` // of its record
}

// TryingRow is an addressee, or what goes to them of one problem, that is left
// alone for a while.
type TryingRow struct {
	To    string    `json:"to"`
	About int       `json:"problem,omitempty"`
	Why   string    `json:"why"`
	Tries int       `json:"tries"`
	Since time.Time `json:"since"`
	Next  time.Time `json:"next"`
}

// ParkedGroup are messages that wait for a person for the same reason.
type ParkedGroup struct {
	Why   string      `json:"why"`
	Back  bool        `json:"restored,omitempty"` // they came with a backup
	Count int         `json:"count"`
	First record.Seq  `json:"first"` // records that the oldest and the newest are about
	Last  record.Seq  `json:"last"`
	Until record.Time `json:"until"` // when the newest of them was recorded
	Rows  []OutboxRow `json:"rows"`  // the oldest of them
}

// oldestShown is how many messages of each list stand on the page, mostParked how
// many are looked at in one go.
const (
	oldestShown = 12
	mostParked  = 20_000
)

// Outbox draws what waits to be delivered for the caller's department; of a site
// with several, each sees its own.
func (d *Desk) Outbox(who Caller) (*OutboxView, error) {
	if _, err := d.may(who, "Outbox"); err != nil {
		return nil, err
	}
	view := &OutboxView{}
	d.ledger.View(func(v record.View) { view.Frame = d.frame(v, who) })
	waiting, _, err := d.ledger.Messages()
	if err != nil {
		return nil, err
	}
	view.Waiting = waiting
	pending, err := d.ledger.Pending(oldestShown)
	if err != nil {
		return nil, err
	}
	if view.Oldest, err = d.outboxRows(who, pending); err != nil {
		return nil, err
	}
	if view.Parked, err = d.parkedGroups(who); err != nil {
		return nil, err
	}
	view.Trying = d.trying(who)
	return view, nil
}

// outboxRows reveals messages of the caller's department.
func (d *Desk) outboxRows(who Caller, list []ledger.Pending) (rows []OutboxRow, err error) {
	r := record.Record{Seq: record.None}
	for _, p := range list {
		if r.Seq != p.Seq { // a record tells several people
			if r, err = d.ledger.Read(p.Seq); err != nil {
				return nil, err
			}
		}
		if r.Dept != who.Dept {
			continue
		}
		row := OutboxRow{Key: keyText(p.Key), At: r.At, ID: problemOfRecord(&r)}
		d.ledger.View(func(v record.View) {
			row.To, row.Hook = d.addressee(v, who, p.To)
			if problem := rules.GetProblem(v, row.ID); problem != nil {
				row.About = problem.Number
			}
		})
		rows = append(rows, row)
	}
	return rows, nil
}

// addressee is the name of a person or of a webhook.
func (d *Desk) addressee(v record.View, who Caller, to record.ID) (name string, hook bool) {
	if dept := rules.GetDepartment(v, who.Dept); dept != nil {
		if k, ok := dept.Hooks[to]; ok {
			return d.reveal(k.Name), true
		}
	}
	return d.name(v, to), false
}

func (d *Desk) trying(who Caller) (list []TryingRow) {
	if d.post == nil {
		return nil
	}
	for _, w := range d.post.Waiting() {
		row := TryingRow{Why: w.Why, Tries: w.Tries, Since: w.Since, Next: w.Next}
		d.ledger.View(func(v record.View) {
			row.To, _ = d.addressee(v, who, w.To)
			if p := rules.GetProblem(v, w.Problem); p != nil && p.Dept == who.Dept {
				row.About = p.Number
			}
		})
		if row.To != "" {
			list = append(list, row)
		}
	}
	return list
}

// parkedGroups are the parked messages of the caller's department by reason, in
// the order in which the oldest of each came.
func (d *Desk) parkedGroups(who Caller) (groups []ParkedGroup, err error) {
	parked, err := d.parkedOf(who)
	place := map[string]int{}
	first := map[string][]ledger.Pending{}
	for _, p := range parked {
		i, ok := place[p.Parked]
		if !ok {
			i = len(groups)
			place[p.Parked], groups = i, append(groups, ParkedGroup{Why: p.Parked, Back: p.Parked == WhyRestored, First: p.Seq})
		}
		groups[i].Count++
		groups[i].Last = p.Seq
		if len(first[p.Parked]) < oldestShown {
			first[p.Parked] = append(first[p.Parked], p)
		}
	}
	for i := range groups {
		rows, rowErr := d.outboxRows(who, first[groups[i].Why])
		if rowErr != nil {
			return nil, rowErr
		}
		groups[i].Rows = rows
		newest, readErr := d.ledger.Read(groups[i].Last)
		if readErr != nil {
			return nil, readErr
		}
		groups[i].Until = newest.At
	}
	return groups, err
}

// parkedOf lists the parked messages to people and webhooks of the caller's
// department.
func (d *Desk) parkedOf(who Caller) (list []ledger.Pending, err error) {
	all, err := d.ledger.Parked(mostParked)
	d.ledger.View(func(v record.View) {
		dept := rules.GetDepartment(v, who.Dept)
		for _, p := range all {
			_, hook := dept.Hooks[p.To]
			person := rules.GetPerson(v, p.To)
			if hook || person != nil && person.Dept == who.Dept {
				list = append(list, p)
			}
		}
	})
	return list, err
}

func keyText(k ledger.Key) string {
	return strconv.FormatInt(int64(k.Seq), 10) + "-" + strconv.Itoa(k.N)
}

func keyOf(text string) (k ledger.Key, err error) {
	seq, n, _ := strings.Cut(text, "-")
	a, err1 := strconv.ParseInt(seq, 10, 64)
	b, err2 := strconv.Atoi(n)
	if err1 != nil || err2 != nil || a < 0 || b < 0 {
		return k, fault.Field("key", "There is no such message.")
	}
	return ledger.Key{Seq: record.Seq(a), N: b}, nil
}

// DecideMessagesIn says what becomes of parked messages: of one by its key, or of
// all that were parked for a reason, as they were counted on the page.
type DecideMessagesIn struct {
	From
	Decision string     `form:"decision" json:"decision"` // send | drop
	Key      string     `form:"key" json:"key,omitempty"`
	Why      string     `form:"why" json:"why,omitempty"`
	Count    int        `form:"count" json:"count,omitempty"`
	First    record.Seq `form:"first" json:"first,omitempty"`
	Last     record.Seq `form:"last" json:"last,omitempty"`
}

// DecideMessages sends parked messages again or drops them, and records who said
// so. The messages are marked after the record: a process that ends in between
// leaves them parked, and the same form marks them.
func (d *Desk) DecideMessages(ctx context.Context, who Caller, in DecideMessagesIn) (Done, error) {
	if _, err := d.may(who, "DecideMessages"); err != nil {
		return Done{}, err
	}
	if in.Decision != SendMessages && in.Decision != DropMessages {
		return Done{}, fault.Field("decision", "Say whether they are sent again or dropped.")
	}
	if in.Key != "" {
		k, err := keyOf(in.Key)
		if err != nil {
			return Done{}, err
		}
		in.Count, in.First, in.Last = 1, k.Seq, k.Seq
	}
	keys, err := d.chosenMessages(who, &in)
	if err != nil {
		return Done{}, err
	}
	done, err := d.facts(ctx, who, "DecideMessages", in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.PostDecided{Decision: in.Decision, Messages: in.Count, First: in.First, Last: in.Last}, nil)
	if err != nil || len(keys) == 0 {
		return done, err
	}
	if in.Decision == SendMessages {
		err = d.ledger.Resend(keys...)
	} else {
		err = d.ledger.Done(keys...)
	}
	if err == nil && d.post != nil {
		d.post.Wake()
	}
	return done, err
}

// chosenMessages finds the messages that a form is about. If others came to them
// meanwhile, or somebody else has decided, it is refused; not if this very form
// was sent before.
func (d *Desk) chosenMessages(who Caller, in *DecideMessagesIn) (keys []ledger.Key, err error) {
	parked, err := d.parkedOf(who)
	if err != nil {
		return nil, err
	}
	for _, p := range parked {
		if in.Key != "" && keyText(p.Key) == in.Key || in.Key == "" && p.Parked == in.Why && in.First <= p.Seq && p.Seq <= in.Last {
			keys = append(keys, p.Key)
		}
	}
	if len(keys) == in.Count && in.Count > 0 {
		return keys, nil
	}
	if _, known, err := d.ledger.Find(in.ID); known || err != nil {
		return keys, err
	}
	return nil, fault.New(fault.Stale, "These messages are not the ones that were on the page. Look at it again.")
}
