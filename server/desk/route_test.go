package desk_test

import (
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// drawer keeps the secrets of webhooks in memory.
type drawer map[record.ID][]string

func (d drawer) Secrets(hook record.ID) ([]string, error) { return d[hook], nil }

func (d drawer) Renew(hook record.ID) (string, error) {
	d[hook] = append([]string{fmt.Sprintf("whsec_%d", len(d[hook]))}, d[hook]...)
	return d[hook][0], nil
}

func (d drawer) Forget(hook record.ID) error {
	delete(d, hook)
	return nil
}

func addHook(w *workplace) {
	done, err := w.AddHook(w.ctx, w.lead(), desk.HookIn{From: w.from(), Name: "Tickets", URL: "https://tickets.example/in"})
	require.NoError(w.t, err)
	require.NotEmpty(w.t, done.Secret)
	view, err := w.Hooks(w.lead())
	require.NoError(w.t, err)
	w.hook = view.Hooks[0].ID
}

// addMail gives a person a mail address.
func (w *workplace) addMail(who record.ID, roles ...record.Role) {
	_, err := w.ChangePerson(w.ctx, w.lead(), desk.PersonIn{From: w.from(), Person: who, Mail: "someone@lanternfield.example",
		Name: "A person with mail", Roles: roles})
	require.NoError(w.t, err)
}

// parkOne parks the mail about a bad seal.
func parkOne(w *workplace) {
	w.addMail(w.staff[record.Engineering].Person, record.Engineering)
	w.goWrong()
	list, err := w.book.Pending(10)
	require.NoError(w.t, err)
	require.Len(w.t, list, 1)
	require.NoError(w.t, w.book.Park("refused", list[0].Key))
	w.key = fmt.Sprintf("%d-%d", list[0].Seq, list[0].N)
}

// route is engineering first and the lead after it, at office hours.
func (w *workplace) route(minutes int) desk.RouteIn {
	in := desk.RouteIn{From: w.from(), Minutes: minutes, WatchDays: 14,
		Person: []string{w.staff[record.Engineering].Person.String(), w.lead().Person.String(), ""},
		How:    []string{"mail", "mail", "mail"}}
	for range 5 {
		in.Opens, in.Closes = append(in.Opens, "07:00"), append(in.Closes, "17:00")
	}
	return in
}

func (w *workplace) setRoute(in desk.RouteIn) {
	w.t.Helper()
	w.addMail(w.staff[record.Engineering].Person, record.Engineering)
	w.addMail(w.lead().Person, record.Lead, record.Administrator)
	_, err := w.SetRoute(w.ctx, w.lead(), in)
	require.NoError(w.t, err)
}

// at moves the clock to a local time of New York.
func (w *workplace) at(local string) {
	w.t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(w.t, err)
	w.now, err = time.ParseInLocation("2006-01-02 15:04", local, zone)
	require.NoError(w.t, err)
}

// told lists to whom messages of the route wait.
func (w *workplace) told() (list []record.ID) {
	w.t.Helper()
	pending, err := w.book.Pending(100)
	require.NoError(w.t, err)
	for _, p := range pending {
		if p.Route == rules.ToStep {
			list = append(list, p.To)
		}
	}
	return list
}

func (w *workplace) escalate() record.Time {
	w.t.Helper()
	next, err := w.Escalate(w.ctx)
	require.NoError(w.t, err)
	return next
}

func (w *workplace) stops(code string) {
	w.t.Helper()
	done, err := w.ReportBadSeal(w.ctx, w.lead(), desk.BadSealIn{From: w.from(), Code: code, Kind: record.Channel, Pouch: w.paper})
	require.NoError(w.t, err)
	w.problem = done.Problem
}

func TestTheNextOneIsToldWhenTheMinutesAreOverAndNobodyHasSeenIt(t *testing.T) {
	w := newWorkplace(t)
	w.at("2026-01-13 10:00") // a Tuesday
	w.setRoute(w.route(30))
	engineer, lead := w.staff[record.Engineering].Person, w.lead().Person
	w.stops(w.code)
	require.Empty(t, w.told(), "nobody is told all at once any more")
	w.escalate()
	require.Equal(t, []record.ID{engineer}, w.told())
	size := w.Size()
	w.escalate()
	require.Equal(t, size, w.Size(), "a step is made once, however often it is looked for")

	w.at("2026-01-13 10:29")
	require.NotZero(t, w.escalate())
	require.Equal(t, []record.ID{engineer}, w.told())
	w.at("2026-01-13 10:30")
	w.escalate()
	require.Equal(t, []record.ID{engineer, lead}, w.told())
	w.at("2026-01-13 18:00")
	require.Zero(t, w.escalate(), "nobody is left")
	view, err := w.Problem(w.lead(), w.problem)
	require.NoError(t, err)
	require.True(t, view.Calls.Over)
}

func TestWhatOthersCanSealWaitsForOfficeHoursAndWhatNobodyCanDoesNot(t *testing.T) {
	w := newWorkplace(t)
	w.at("2026-01-16 22:00") // a Friday
	w.setRoute(w.route(30))
	engineer := w.staff[record.Engineering].Person
	w.stops(w.code)
	next := w.escalate()
	require.Empty(t, w.told(), "sealer 4 is there for the pouch")
	w.at("2026-01-19 07:00") // Monday
	require.Equal(t, record.TimeOf(w.now), next)
	w.at("2026-01-16 22:10")
	w.stops(w.spare)
	w.escalate()
	require.Equal(t, []record.ID{engineer, engineer}, w.told(), "both are urgent now")
	view, err := w.Problem(w.lead(), w.problem)
	require.NoError(t, err)
	require.True(t, view.Calls.Urgent)
}

func TestWhoHasSeenItEndsTheRoute(t *testing.T) {
	w := newWorkplace(t)
	w.at("2026-01-13 10:00")
	w.setRoute(w.route(30))
	w.stops(w.code)
	w.escalate()
	_, err := w.MarkSeen(w.ctx, w.staff[record.Engineering], desk.SeenIn{ProblemIn: w.in(w.from())})
	require.NoError(t, err)
	w.at("2026-01-13 12:00")
	require.Zero(t, w.escalate())
	require.Len(t, w.told(), 1)
}

func TestTheRouteGoesOnWhereItWasAfterARestartAndOverTheChangeOfClocks(t *testing.T) {
	dir := t.TempDir()
	w := newWorkplaceIn(t, dir)
	in := w.route(60)
	in.Opens, in.Closes = make([]string, 7), make([]string, 7) // around the clock
	w.at("2026-03-08 01:30")                                   // at 02:00 the clocks go to 03:00
	w.setRoute(in)
	engineer, lead := w.staff[record.Engineering].Person, w.lead().Person
	w.stops(w.code)
	w.escalate()
	require.Equal(t, []record.ID{engineer}, w.told())

	w.reopen(dir)
	w.now = w.now.Add(59 * time.Minute)
	next := w.escalate()
	require.Equal(t, []record.ID{engineer}, w.told(), "59 minutes have elapsed, whatever the clocks show")
	w.now = next.Time()
	require.Equal(t, "2026-03-08T07:30:00Z", w.now.UTC().Format(time.RFC3339))
	w.escalate()
	require.Equal(t, []record.ID{engineer, lead}, w.told())
	w.reopen(dir)
	size := w.Size()
	w.escalate()
	require.Equal(t, size, w.Size())
}

func TestAClockThatIsPutBackTellsNobodyTwice(t *testing.T) {
	w := newWorkplace(t)
	w.at("2026-01-13 10:00")
	w.setRoute(w.route(30))
	w.stops(w.code)
	w.escalate()
	w.at("2026-01-13 09:00")
	w.escalate()
	w.at("2026-01-14 09:00")
	w.escalate()
	w.escalate()
	require.Len(t, w.told(), 2, "two people, once each")
}

func TestWhoIsAwayOrHasLeftIsPassedOver(t *testing.T) {
	w := newWorkplace(t)
	w.at("2026-01-13 10:00")
	in := w.route(30)
	in.AwayFrom, in.AwayTo = []string{"2026-01-12"}, []string{"2026-01-13"}
	w.setRoute(in)
	w.stops(w.code)
	w.escalate()
	require.Equal(t, []record.ID{w.lead().Person}, w.told())
}

func TestAFailedReturnCheckIsToldAnew(t *testing.T) {
	w := newWorkplace(t)
	w.at("2026-01-13 10:00")
	w.setRoute(w.route(30))
	w.stops(w.code)
	w.escalate()
	_, err := w.MarkSeen(w.ctx, w.staff[record.Engineering], desk.SeenIn{ProblemIn: w.in(w.from())})
	require.NoError(t, err)
	_, err = w.HandBack(w.ctx, w.staff[record.Engineering], desk.HandBackIn{ProblemIn: w.in(w.from()), Finding: "pad", Action: "replaced"})
	require.NoError(t, err)
	_, err = w.Check(w.ctx, w.lead(), desk.CheckIn{From: w.from(), Code: w.code, Pouch: w.paper, Approval: w.approval,
		Outcome: record.Fail, Kind: record.Channel})
	require.NoError(t, err)
	w.escalate()
	require.Len(t, w.told(), 2)
}

func TestARouteThatCannotBeReadIsRefusedAtItsField(t *testing.T) {
	w := newWorkplace(t)
	for field, change := range map[string]func(*desk.RouteIn){
		"people":     func(in *desk.RouteIn) { in.Person = []string{""} },
		"hours":      func(in *desk.RouteIn) { in.Opens[0] = "seven" },
		"closed":     func(in *desk.RouteIn) { in.Closed = "Christmas" },
		"minutes":    func(in *desk.RouteIn) { in.Minutes = 0 },
		"watch_days": func(in *desk.RouteIn) { in.WatchDays = -1 },
	} {
		in := w.route(30)
		change(&in)
		_, err := w.SetRoute(w.ctx, w.lead(), in)
		require.Equal(t, fault.Invalid, fault.CodeOf(err), field)
		var f *fault.Error
		require.ErrorAs(t, err, &f)
		require.Equal(t, field, f.Field)
	}
}

func TestAWebhookIsToldOfEveryChangeOnceAndWithoutNames(t *testing.T) {
	w := newWorkplace(t)
	addHook(w)
	w.goWrong()
	pending, err := w.book.Pending(100)
	require.NoError(t, err)
	var types []string
	for _, p := range pending {
		require.Equal(t, w.hook, p.To)
		to, event, err := w.Event(p.Seq, p.Route, p.To)
		require.NoError(t, err)
		require.Equal(t, "https://tickets.example/in", to)
		types = append(types, event.Type)
		require.True(t, json.Valid(event.Data))
		require.NotContains(t, string(event.Data), "Costa")
	}
	require.Equal(t, []string{"sealer.out-of-service", "problem.opened"}, types)

	_, err = w.ChangeHook(w.ctx, w.lead(), desk.HookIn{From: w.from(), Hook: w.hook, Off: true})
	require.NoError(t, err)
	_, event, err := w.Event(pending[0].Seq, pending[0].Route, w.hook)
	require.NoError(t, err)
	require.Nil(t, event, "one that was ended is told nothing more")
	_, err = w.Tag(w.ctx, w.lead(), desk.TagIn{ProblemIn: w.in(w.from())})
	require.NoError(t, err)
	after, err := w.book.Pending(100)
	require.NoError(t, err)
	require.Len(t, after, len(pending))
}

func TestAnEventTellsWhatItsRecordMadeOfTheSealer(t *testing.T) {
	w := newWorkplace(t)
	addHook(w)
	w.goWrong()
	first, err := w.book.Pending(1)
	require.NoError(t, err)
	_, err = w.Work(w.ctx, w.staff[record.Engineering], desk.WorkIn{ProblemIn: w.in(w.from()), Stage: record.AtWork})
	require.NoError(t, err)
	_, event, err := w.Event(first[0].Seq, first[0].Route, w.hook)
	require.NoError(t, err)
	require.Equal(t, "sealer.out-of-service", event.Type, "not where it stands when the event is sent")
}

func TestNoWebhookLeadsIntoTheHouse(t *testing.T) {
	w := newWorkplace(t)
	for _, url := range []string{"http://tickets.example/in", "https://127.0.0.1/", "https://10.1.2.3/", "https://169.254.169.254/latest",
		"https://[fe80::1]/", "https://user@tickets.example/", "tickets.example", ""} {
		_, err := w.AddHook(w.ctx, w.lead(), desk.HookIn{From: w.from(), Name: "Tickets", URL: url})
		require.Equal(t, fault.Invalid, fault.CodeOf(err), url)
	}
}

func TestAMessageThatWasRefusedIsSentAgainOrDroppedByName(t *testing.T) {
	for decision, left := range map[string]int{desk.SendMessages: 1, desk.DropMessages: 0} {
		w := newWorkplace(t)
		parkOne(w)
		view, err := w.Outbox(w.lead())
		require.NoError(t, err)
		require.Len(t, view.Parked, 1)
		g := view.Parked[0]
		require.Equal(t, "refused", g.Why)
		require.Equal(t, "A person with mail", g.Rows[0].To)
		size := w.Size()
		_, err = w.DecideMessages(w.ctx, w.lead(), desk.DecideMessagesIn{From: w.from(), Decision: decision, Why: g.Why, Count: g.Count,
			First: g.First, Last: g.Last})
		require.NoError(t, err)
		require.Equal(t, size+1, w.Size())
		waiting, parked, err := w.book.Messages()
		require.NoError(t, err)
		require.Equal(t, []int{left, 0}, []int{waiting, parked})
	}
}

func TestMessagesThatCameMeanwhileAreNotDecidedUnseen(t *testing.T) {
	w := newWorkplace(t)
	parkOne(w)
	view, err := w.Outbox(w.lead())
	require.NoError(t, err)
	g := view.Parked[0]
	in := desk.DecideMessagesIn{From: w.from(), Decision: desk.DropMessages, Why: g.Why, Count: g.Count + 1, First: g.First, Last: g.Last}
	_, err = w.DecideMessages(w.ctx, w.lead(), in)
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	for key, code := range map[string]fault.Code{"": fault.Stale, "gremlin": fault.Invalid, "-1-0": fault.Invalid, "99999-0": fault.Stale} {
		_, err = w.DecideMessages(w.ctx, w.lead(), desk.DecideMessagesIn{From: w.from(), Decision: desk.DropMessages, Key: key, Why: "other"})
		require.Equal(t, code, fault.CodeOf(err), key)
	}
}

func TestASealerWithNoFaultFoundIsWatchedOnPagesAndHandOver(t *testing.T) {
	w := newWorkplace(t)
	w.goWrong()
	_, err := w.HandBack(w.ctx, w.staff[record.Engineering], desk.HandBackIn{ProblemIn: w.in(w.from()), Finding: "none-found", Action: "nothing"})
	require.NoError(t, err)
	w.pass()
	page, err := w.Sealer(w.lead(), w.code, w.paper)
	require.NoError(t, err)
	require.NotNil(t, page.Watched)
	w.now = w.now.Add(time.Hour)
	over, err := w.HandOver(w.lead())
	require.NoError(t, err)
	require.Len(t, over.Watched, 1)
	first := w.problem
	w.stops(w.code)
	problem, err := w.Problem(w.lead(), w.problem)
	require.NoError(t, err)
	require.Equal(t, first, problem.Watched.ID)
	require.True(t, problem.Problem.OnlyCE)
	_, err = w.FirstLineFix(w.ctx, w.lead(), desk.FixIn{ProblemIn: w.in(w.from()), Did: []string{"jaw-cleaned"}, What: "dirt"})
	require.ErrorContains(t, err, "for clinical engineering")
}

func TestOfTwoWhoTakeAProblemTheSecondIsToldWhoHasIt(t *testing.T) {
	w := newWorkplace(t)
	w.goWrong()
	page := w.from()
	_, err := w.Work(w.ctx, w.staff[record.Engineering], desk.WorkIn{ProblemIn: w.in(w.from()), Stage: record.AtWork})
	require.NoError(t, err)
	in := desk.WorkIn{ProblemIn: w.in(page), Stage: record.AtWork}
	_, err = w.Work(w.ctx, w.lead(), in)
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	require.True(t, strings.HasPrefix(err.Error(), "A engineering has it since"), err.Error())
	problem, err := w.Problem(w.lead(), w.problem)
	require.NoError(t, err)
	require.Equal(t, "A engineering", problem.Taken)
}

// byLink is the bearer of the link in the mail about the open problem.
func (w *workplace) byLink() desk.Caller {
	w.t.Helper()
	list, err := w.book.Parked(1)
	require.NoError(w.t, err)
	n, err := w.Notice(list[0].Seq, list[0].To)
	require.NoError(w.t, err)
	who, err := w.ByLink(n.Link[strings.LastIndexByte(n.Link, '/')+1:])
	require.NoError(w.t, err)
	return who
}

func TestByLinkNotesAndPhotographsGoToItsProblemAlone(t *testing.T) {
	w := newWorkplace(t)
	parkOne(w)
	who, first := w.byLink(), w.problem
	in := desk.LinkNoteIn{ProblemIn: desk.ProblemIn{From: w.from()}}
	in.Note = "pad worn on the right"
	_, err := w.NoteByLink(w.ctx, who, in)
	require.Equal(t, fault.Invalid, fault.CodeOf(err), "without a name")
	in.Name = "N. Quill"
	done, err := w.NoteByLink(w.ctx, who, in)
	require.NoError(t, err)
	require.Equal(t, first, done.Problem)
	b, err := os.ReadFile("../../testdata/photos/rotated.jpg")
	require.NoError(t, err)
	_, err = w.AddPhotograph(w.ctx, who, desk.PhotoIn{From: w.from(), Of: done.ID, Bytes: b})
	require.NoError(t, err)
	view, err := w.Problem(w.lead(), first)
	require.NoError(t, err)
	require.Len(t, view.Problem.Photos, 1)
	require.Equal(t, "by link, says N. Quill", view.Lines[0].Who)

	w.stops(w.spare)
	_, err = w.AddPhotograph(w.ctx, who, desk.PhotoIn{From: w.from(), Of: w.problem, Bytes: b})
	require.Equal(t, fault.Unknown, fault.CodeOf(err), "another problem of the department")
	other := in
	other.From, other.Problem = w.from(), w.problem
	other.Note = "something else"
	_, err = w.NoteByLink(w.ctx, who, other)
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
	_, err = w.NoteByLink(w.ctx, w.lead(), in)
	require.Equal(t, fault.SignIn, fault.CodeOf(err), "it is for links only")
}
