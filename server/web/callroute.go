package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// routePage is whom to tell when a sealer goes out of service, one after the
// other, and when.
type routePage struct {
	Page
	hidden
	V       *desk.RouteView
	In      desk.RouteIn
	Minutes string
	Days    string
	People  cells
	Week    cells
	Notes   []Callout
	Err     map[string]string
	Summary *Summary
	Actions []Action
}

// weekdays are in the order of the form.
var weekdays = []string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}

func (h *house) askRoute(c echo.Context) (*desk.RouteView, error) { return h.desk.Route(caller(c)) }

func (h *house) drawRoute(c echo.Context, v *desk.RouteView) error {
	return h.routePage(c, http.StatusOK, v, typedRoute(v), nil)
}

// typedRoute is the form of the route as it stands; where there is none, of one
// that keeps office hours.
func typedRoute(v *desk.RouteView) desk.RouteIn {
	in := desk.RouteIn{Minutes: v.Minutes, WatchDays: v.WatchDays, Opens: make([]string, 7), Closes: make([]string, 7)}
	for _, p := range v.People {
		how := "mail"
		if !p.Hook.IsZero() {
			if how = p.Hook.String(); p.Mail {
				how = "both " + how
			}
		}
		from, to := "", ""
		if len(p.Away) > 0 {
			from, to = p.Away[0].From.String(), p.Away[0].To.String()
		}
		in.Person, in.How = append(in.Person, p.Person.ID.String()), append(in.How, how)
		in.AwayFrom, in.AwayTo = append(in.AwayFrom, from), append(in.AwayTo, to)
	}
	for _, o := range v.Hours {
		i := (o.Day + 6) % 7
		in.Opens[i], in.Closes[i] = clockOf(o.From), clockOf(o.To%(24*60))
	}
	if !v.Set {
		for i := range 5 {
			in.Opens[i], in.Closes[i] = "07:00", "17:00"
		}
	}
	in.Closed = spansText(v.Closed)
	return in
}

func spansText(list []record.Days) string {
	var words []string
	for _, d := range list {
		word := d.From.String()
		if d.To != d.From {
			word += ".." + d.To.String()
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

func (h *house) routeAgain(c echo.Context, in desk.RouteIn, err error) error {
	v, viewErr := h.askRoute(c)
	if viewErr != nil {
		return err
	}
	return h.routePage(c, status(err), v, in, err)
}

func (h *house) routePage(c echo.Context, code int, v *desk.RouteView, in desk.RouteIn, err error) error {
	p := routePage{Page: h.page(c, &v.Frame, "Whom to tell"), hidden: formFor(&v.Frame, in.From, ""), V: v, In: in,
		Minutes: itoa(in.Minutes), Days: itoa(in.WatchDays), Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Back = &Link{Href: "/set-up", Text: "Set-up"}
	p.Notes = routeNotes(v)
	p.People = newCells("In this order", max(3, len(in.Person)+1), "", peopleColumns(v, in)...)
	p.Week = newCells("When they are there", 7, "", column{name: "day", head: "Day", values: weekdays, fixed: true},
		column{name: "opens", head: "From", values: in.Opens}, column{name: "closes", head: "To", values: in.Closes})
	p.Actions = []Action{{Text: "Save", Tone: "main", Big: true}}
	return h.render(c, code, "route", p)
}

func peopleColumns(v *desk.RouteView, in desk.RouteIn) []column {
	who := []choice{{Value: "", Text: "nobody"}}
	for _, p := range v.Who {
		who = append(who, choice{Value: p.ID.String(), Text: p.Text})
	}
	how := []choice{{Value: "mail", Text: "mail"}}
	for _, k := range v.Hooks {
		how = append(how, choice{Value: k.ID.String(), Text: k.Text}, choice{Value: "both " + k.ID.String(), Text: "mail and " + k.Text})
	}
	return []column{{name: "person", head: "Who", values: in.Person, options: who}, {name: "how", head: "How", values: in.How, options: how},
		{name: "away_from", head: "Away from", values: in.AwayFrom}, {name: "away_to", head: "Away to", values: in.AwayTo}}
}

func routeNotes(v *desk.RouteView) (list []Callout) {
	word := midSentence(v.EngineeringWord())
	if !v.Set {
		text := "Until you choose an order, everybody of " + word + " with a mail address is told at once, at any hour: " +
			strings.Join(v.Everybody, ", ") + "."
		if len(v.Everybody) == 0 {
			text = "Nobody of " + word + " has a mail address yet: nobody is told. Add one under People."
		}
		list = append(list, Callout{Tone: "due", Lead: "No order yet.", Text: text})
	}
	for _, p := range v.People {
		switch {
		case p.Left:
			list = append(list, Callout{Tone: "out", Lead: p.Person.Text + " has left.", Text: "Choose somebody else."})
		case p.NoMail:
			list = append(list, Callout{Tone: "out", Lead: p.Person.Text + " has no mail address.", Text: "Nobody is mailed at this step."})
		}
	}
	return list
}
