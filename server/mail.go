package server

import (
	"context"
	"time"

	"tidemark/server/desk"
	"tidemark/server/ledger"
	"tidemark/server/post"
	"tidemark/server/record"
	"tidemark/server/rules"
	"tidemark/server/web"
)

// outbox lets the worker see the ledger's outbox.
type outbox struct{ *ledger.Ledger }

func (o outbox) PendingAfter(after post.Key, limit int) ([]post.Item, error) {
	list, err := o.Ledger.PendingAfter(ledger.Key(after), limit)
	return items(list), err
}

// allParked is more than a person will ever leave undecided.
const allParked = 1 << 20

func (o outbox) Parked() ([]post.Item, error) {
	list, err := o.Ledger.Parked(allParked)
	return items(list), err
}

func (o outbox) Done(keys ...post.Key) error { return o.Ledger.Done(ledgerKeys(keys)...) }

func (o outbox) Park(why string, keys ...post.Key) error {
	return o.Ledger.Park(why, ledgerKeys(keys)...)
}

func items(list []ledger.Pending) []post.Item {
	out := make([]post.Item, 0, len(list))
	for _, p := range list {
		out = append(out, post.Item{Key: post.Key(p.Key), Route: p.Route, To: p.To})
	}
	return out
}

func ledgerKeys(keys []post.Key) []ledger.Key {
	out := make([]ledger.Key, 0, len(keys))
	for _, k := range keys {
		out = append(out, ledger.Key(k))
	}
	return out
}

// author draws letters from the desk, in the words of the pages.
type author struct{ desk *desk.Desk }

func (a author) Problem(seq record.Seq) (record.ID, error) {
	problem, _, err := a.desk.ProblemOf(seq)
	return problem, err
}

func (a author) Letter(_ context.Context, i post.Item) (post.Letter, error) {
	_, id, err := a.desk.ProblemOf(i.Seq)
	if err != nil {
		return post.Letter{}, err
	}
	l := post.Letter{ID: i.LetterID(id)}
	if a.desk.IsHook(i.To) {
		l.To, l.Event, err = a.desk.Event(i.Seq, i.Route, i.To)
		if err == nil && l.Event == nil {
			err = post.ErrNothing
		}
		return l, err
	}
	if i.Route == rules.ToLeads {
		n, err := a.desk.FoundNotice(i.To)
		if err == nil && n == nil {
			err = post.ErrNothing
		}
		if err != nil {
			return l, err
		}
		l.To = n.To
		l.Subject, l.Text = web.FoundMail(n)
		return l, nil
	}
	n, err := a.desk.Notice(i.Seq, i.To)
	if err == nil && n == nil {
		err = post.ErrNothing
	}
	if err != nil {
		return l, err
	}
	l.To = n.To
	l.Subject, l.Text = web.Mail(n)
	return l, nil
}

// delivery makes the worker that delivers: events to webhooks, mails by SMTP if
// the way to a mail server is known, into a tray in a demo; elsewhere they wait.
func (s *Server) delivery() (err error) {
	o := post.Options{Outbox: outbox{s.ledger}, Author: author{s.Desk}, Hooks: s.hooks, Clock: s.config.Clock, Log: s.log}
	if s.config.Mail != "" {
		config, err := post.ParseMail(s.config.Mail)
		if err != nil {
			return err
		}
		o.Mail = post.NewMail(config, s.config.Clock)
	} else if s.config.Demo {
		s.tray = &post.Tray{}
		o.Mail = s.tray
	}
	s.worker = post.New(o)
	s.room.worker.Store(s.worker)
	return nil
}

// tray shows the pages what was kept instead of sent.
type tray struct{ *post.Tray }

func (t tray) Letters() (list []web.Letter) {
	for _, l := range t.Tray.Letters() {
		list = append(list, web.Letter{To: l.To, Subject: l.Subject, Text: l.Text})
	}
	return list
}

// forgetOld takes what a demo's past would have mailed off the list.
func (s *Server) forgetOld(before time.Time) error {
	for {
		list, err := s.ledger.Pending(500)
		if err != nil {
			return err
		}
		var old []ledger.Key
		for _, p := range list {
			r, err := s.ledger.Read(p.Seq)
			if err != nil {
				return err
			}
			if r.At < record.TimeOf(before) {
				old = append(old, p.Key)
			}
		}
		if len(old) == 0 {
			return nil
		}
		if err := s.ledger.Done(old...); err != nil {
			return err
		}
	}
}
