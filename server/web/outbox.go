package web

import (
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// outboxPage is what waits to be delivered, what does not get through and why, and
// what is left to a person.
type outboxPage struct {
	Page
	Groups  []parkedGroup
	Trying  []row
	Oldest  []row
	Waiting string
	Empty   bool
	Summary *Summary
	Hooks   bool
}

// parkedGroup are messages that somebody has to send again or drop.
type parkedGroup struct {
	hidden
	desk.ParkedGroup
	Title string
	Text  string
	Send  string // the words of the button
	List  []parkedRow
}

type parkedRow struct {
	hidden
	Key, Text, Note string
}

func (h *house) askOutbox(c echo.Context) (*desk.OutboxView, error) { return h.desk.Outbox(caller(c)) }

func (h *house) drawOutbox(c echo.Context, v *desk.OutboxView) error {
	return h.outboxPage(c, v, nil)
}

func (h *house) outboxAgain(c echo.Context, _ desk.DecideMessagesIn, err error) error {
	v, viewErr := h.askOutbox(c)
	if viewErr != nil {
		return err
	}
	return h.outboxPage(c, v, err)
}

func (h *house) outboxPage(c echo.Context, v *desk.OutboxView, err error) error {
	p := outboxPage{Page: h.page(c, &v.Frame, "Messages"), Summary: summaryOf(err), Hooks: v.Can("ManageHooks"),
		Empty: v.Waiting == 0 && len(v.Parked) == 0}
	for _, g := range v.Parked {
		group := parkedGroup{hidden: formFor(&v.Frame, desk.From{}, "why "+g.Why), ParkedGroup: g,
			Title: messagesText(g.Count) + ", until " + v.Clock(g.Until), Text: g.Why, Send: "Send them again"}
		if g.Count == 1 {
			group.Send = "Send it again"
		}
		if g.Back {
			before := g.Until.Add(time.Minute) // a clock shows minutes
			group.Title = "Restored: " + messagesText(g.Count) + " of before " + v.Clock(before) + ", send or drop?"
			group.Text = "Some may have gone out after the backup was made. Who gets one twice can tell: it bears the same number."
			group.Send = strings.TrimSuffix(group.Send, " again")
		}
		for i := range g.Rows {
			r := messageRow(&v.Frame, &g.Rows[i])
			group.List = append(group.List, parkedRow{formFor(&v.Frame, desk.From{}, "key "+g.Rows[i].Key), g.Rows[i].Key, r.Text, r.Note})
		}
		p.Groups = append(p.Groups, group)
	}
	for _, t := range v.Trying {
		p.Trying = append(p.Trying, row{Text: listed(t.To, aboutText(t.About)), Note: sentences(strings.TrimSuffix(t.Why, "."),
			"tried "+timesText(t.Tries)+" since "+v.Clock(timeOf(t.Since)), "again "+v.Clock(timeOf(t.Next)))})
	}
	for i := range v.Oldest {
		p.Oldest = append(p.Oldest, messageRow(&v.Frame, &v.Oldest[i]))
	}
	p.Waiting = messagesText(v.Waiting) + " on the way"
	return h.render(c, code(err), "outbox", p)
}

func messageRow(f *desk.Frame, r *desk.OutboxRow) row {
	how := "mail to "
	if r.Hook {
		how = "event for "
	}
	out := row{Text: how + orText(r.To, "somebody who is gone"), Note: listed(aboutText(r.About), f.Clock(r.At))}
	out.Text = capital(out.Text)
	if r.About != 0 {
		out.Href = problemPath(r.ID)
	}
	return out
}

func aboutText(problem int) string {
	if problem == 0 {
		return ""
	}
	return "problem " + itoa(problem)
}

func timesText(n int) string {
	if n == 1 {
		return "once"
	}
	return itoa(n) + " times"
}

func timeOf(t time.Time) record.Time { return record.TimeOf(t) }

func afterMessages(_ echo.Context, in desk.DecideMessagesIn, _ desk.Done) string {
	if in.Decision == desk.DropMessages {
		return "/outbox?said=dropped"
	}
	return "/outbox?said=sent-again"
}
