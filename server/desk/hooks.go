package desk

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/post"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Secrets keeps what webhooks are signed with, outside the stores and so outside
// backups.
type Secrets interface {
	// Secrets returns those of a webhook, the newest first; two for a day after a
	// change; none if there are none here.
	Secrets(hook record.ID) ([]string, error)
	// Renew makes a new secret and returns it, this once.
	Renew(hook record.ID) (string, error)
	// Forget removes the secrets of a webhook that was ended.
	Forget(hook record.ID) error
}

// Webhooks takes events out.
type Webhooks interface {
	CheckURL(string) error
	Send(context.Context, post.Letter) error
}

// HooksView lists the webhooks of a department.
type HooksView struct {
	Frame
	Hooks []HookRow `json:"hooks"`
}

// HookRow is one of them. Its secret is shown once, when it is made.
type HookRow struct {
	ID      record.ID `json:"id"`
	Name    string    `json:"name"`
	URL     string    `json:"url"`
	Off     bool      `json:"off,omitempty"`
	Secret  bool      `json:"secret"`             // there is one here
	OnRoute bool      `json:"on_route,omitempty"` // a step of the route goes to it
}

// Hooks lists the webhooks of the caller's department, by name, ended ones last.
func (d *Desk) Hooks(who Caller) (*HooksView, error) {
	if _, err := d.may(who, "ManageHooks"); err != nil {
		return nil, err
	}
	view := &HooksView{}
	d.ledger.View(func(v record.View) {
		view.Frame = d.frame(v, who)
		for id, k := range view.Dept.Hooks {
			row := HookRow{ID: id, Name: d.reveal(k.Name), URL: d.reveal(k.URL), Off: k.Off}
			if r := view.Dept.Route; r != nil {
				row.OnRoute = slices.ContainsFunc(r.People, func(on record.OnRoute) bool { return on.Hook == id })
			}
			view.Hooks = append(view.Hooks, row)
		}
	})
	for i := range view.Hooks {
		secrets, err := d.secretsOf(view.Hooks[i].ID)
		view.Hooks[i].Secret = err == nil && len(secrets) > 0
	}
	slices.SortFunc(view.Hooks, func(a, b HookRow) int {
		return cmp.Or(last(a.Off)-last(b.Off), strings.Compare(a.Name, b.Name), slices.Compare(a.ID[:], b.ID[:]))
	})
	return view, nil
}

func (d *Desk) hooksInUse(dept *rules.Department) (list []Ref) {
	for id, k := range dept.Hooks {
		if !k.Off {
			list = append(list, Ref{ID: id, Text: d.reveal(k.Name)})
		}
	}
	slices.SortFunc(list, func(a, b Ref) int { return strings.Compare(a.Text, b.Text) })
	return list
}

func (d *Desk) secretsOf(hook record.ID) ([]string, error) {
	if d.secrets == nil {
		return nil, nil
	}
	return d.secrets.Secrets(hook)
}

// HookIn names a webhook, changes its address, or ends it.
type HookIn struct {
	From
	Hook   record.ID `param:"hook" json:"-"`
	Name   string    `form:"name" json:"name,omitempty"`
	URL    string    `form:"url" json:"url,omitempty"`
	Off    bool      `form:"off" json:"off,omitempty"`
	Reason string    `form:"reason" json:"reason,omitempty"`
}

// HookDone tells what was made and its secret, to be told once.
type HookDone struct {
	Done
	Secret string `json:"secret,omitempty"`
}

// AddHook names a webhook and makes its secret.
func (d *Desk) AddHook(ctx context.Context, who Caller, in HookIn) (HookDone, error) {
	if _, err := d.may(who, "AddHook"); err != nil {
		return HookDone{}, err
	}
	if strings.TrimSpace(in.Name) == "" {
		return HookDone{}, fault.Field("name", "Give it a name that people know it by.")
	}
	if err := d.hookAllowed(in.URL); err != nil {
		return HookDone{}, err
	}
	id := d.fresh(&in.From, "webhook")
	done, err := d.setHook(ctx, who, "AddHook", in, id)
	if err != nil || done.Repeat {
		return HookDone{Done: done}, err
	}
	secret, err := d.secrets.Renew(id)
	return HookDone{Done: done, Secret: secret}, err
}

// ChangeHook changes a webhook's name and address, or ends it.
func (d *Desk) ChangeHook(ctx context.Context, who Caller, in HookIn) (Done, error) {
	if _, err := d.hookOf(who, "ChangeHook", in.Hook); err != nil {
		return Done{}, err
	}
	if !in.Off {
		if err := d.hookAllowed(in.URL); err != nil {
			return Done{}, err
		}
	}
	done, err := d.setHook(ctx, who, "ChangeHook", in, in.Hook)
	if err == nil && in.Off {
		err = d.secrets.Forget(in.Hook)
	}
	return done, err
}

func (d *Desk) setHook(ctx context.Context, who Caller, what use, in HookIn, id record.ID) (Done, error) {
	return d.facts(ctx, who, what, in.From, record.Subject{Type: record.Department, ID: who.Dept},
		&record.HookSet{Hook: id, Off: in.Off, Reason: in.Reason}, map[string]string{"name": in.Name, "url": in.URL})
}

func (d *Desk) hookAllowed(url string) error {
	if d.secrets == nil || d.webhooks == nil {
		return fault.New(fault.Forbidden, "Webhooks are not set up on this server.")
	}
	return d.webhooks.CheckURL(strings.TrimSpace(url))
}

func (d *Desk) hookOf(who Caller, what use, id record.ID) (rules.Hook, error) {
	if _, err := d.may(who, what); err != nil {
		return rules.Hook{}, err
	}
	k, ok := d.department(who.Dept).Hooks[id]
	if !ok || k.Off {
		return k, fault.New(fault.Unknown, "There is no such webhook here.")
	}
	return k, nil
}

// TryHookIn names a webhook.
type TryHookIn struct {
	Hook record.ID `param:"hook" json:"-"`
}

// Tried tells how a webhook answered.
type Tried struct {
	Taken bool   `json:"taken"`
	Why   string `json:"why,omitempty"` // why not, in plain words
}

// RenewSecret makes a new secret for a webhook, shown once. For a day what is sent
// is signed with the old one, too.
func (d *Desk) RenewSecret(_ context.Context, who Caller, in TryHookIn) (HookDone, error) {
	if _, err := d.hookOf(who, "RenewSecret", in.Hook); err != nil {
		return HookDone{}, err
	}
	if d.secrets == nil {
		return HookDone{}, fault.New(fault.Forbidden, "Webhooks are not set up on this server.")
	}
	secret, err := d.secrets.Renew(in.Hook)
	return HookDone{Done: Done{Subject: in.Hook}, Secret: secret}, err
}

// TryHook sends an event that means nothing to a webhook, at once.
func (d *Desk) TryHook(ctx context.Context, who Caller, in TryHookIn) (Tried, error) {
	k, err := d.hookOf(who, "TryHook", in.Hook)
	if err != nil {
		return Tried{}, err
	}
	if d.webhooks == nil {
		return Tried{Why: "Webhooks are not set up on this server."}, nil
	}
	secrets, err := d.secretsOf(in.Hook)
	if err != nil {
		return Tried{}, err
	}
	if len(secrets) == 0 {
		return Tried{Why: noSecret}, nil
	}
	err = d.webhooks.Send(ctx, post.Letter{ID: d.NewID(), To: d.urlOf(k), Event: &post.Event{Type: "test",
		At: d.clock(), Data: []byte("{}"), Secrets: secrets}})
	if err != nil {
		return Tried{Why: reasonOf(err)}, nil
	}
	return Tried{Taken: true}, nil
}

const noSecret = "The webhook has no secret here, as after a restore without the keys: make a new one."

func (d *Desk) urlOf(k rules.Hook) string {
	if r, err := d.people.Reveal(k.URL); err == nil && r.Status == people.Present {
		return string(r.Value.Bytes)
	}
	return ""
}
