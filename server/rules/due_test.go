package rules_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// tasks sets a plan of maintenance for a type of sealer. Who may do each, and
// what it is called, is filled in.
func (h *house) tasks(kind record.SealerType, list ...record.Task) {
	h.t.Helper()
	for i := range list {
		list[i].Name = "Task " + list[i].Code
		if list[i].Who == nil {
			list[i].Who = []record.Role{record.Lead, record.Engineering}
		}
	}
	h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.MaintenanceSet{SealerType: kind, Tasks: list})
}

// maintain says something of a task, as the engineer.
func (h *house) maintain(s record.ID, said record.Body) (record.Record, error) {
	h.t.Helper()
	e := h.direct()
	e.By = h.engineer
	return h.maintainAs(e, h.engineer, s, said)
}

func (h *house) maintainAs(e rules.Entry, who, s record.ID, said record.Body) (record.Record, error) {
	h.t.Helper()
	records, err := h.write(h.t, e.ID, func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.Maintain(v, rules.SaidTask{Entry: e, Sealer: s, Said: said, Who: rules.GetPerson(v, who)}, now)
	})
	if err != nil {
		return record.Record{}, err
	}
	return records[0], nil
}

func (h *house) did(s record.ID, code string) record.Record {
	h.t.Helper()
	r, err := h.maintain(s, &record.TaskDone{Task: code, For: h.dueTask(s, code).Due, Report: "R-1"})
	require.NoError(h.t, err)
	return r
}

func (h *house) today() record.Date { return rules.GetDepartment(h, h.dept).Day(h.now()) }

func (h *house) dueTask(s record.ID, code string) rules.DueTask {
	h.t.Helper()
	t, ok := h.its(s).DueTask(h, code, h.today())
	require.True(h.t, ok, code)
	return t
}

// notUsed says that sealers are not used on some days; none: closed.
func (h *house) notUsed(from, to string, sealers ...record.ID) {
	h.t.Helper()
	if sealers == nil {
		sealers = []record.ID{}
	}
	h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.NotUsed{Sealers: sealers, From: date(from), To: date(to)})
}

// Schedules worked out by hand on a calendar of 2026 and 2028: when a task is
// due that was last done on a day, and what the days around say. 2 January 2026
// is a Friday. "not used" is said beforehand.
func TestSchedulesAreAsWorkedOutByHand(t *testing.T) {
	for name, c := range map[string]struct {
		task    record.Task
		done    string // noon of that day; "" is never, the sealer came on 2 January 2026
		unused  []string
		due     string
		decides rules.Interval
		over    string // first day on which it is overdue
	}{
		"fourteen days":          {task: record.Task{Days: 14, Grace: 2}, done: "2026-01-05", due: "2026-01-19", decides: rules.ByDays, over: "2026-01-22"},
		"never done":             {task: record.Task{Days: 14}, due: "2026-01-16", decides: rules.ByDays, over: "2026-01-17"},
		"no grace":               {task: record.Task{Days: 1}, done: "2026-01-05", due: "2026-01-06", decides: rules.ByDays, over: "2026-01-07"},
		"a month":                {task: record.Task{Months: 1}, done: "2026-01-15", due: "2026-02-15", decides: rules.ByMonths, over: "2026-02-16"},
		"month end":              {task: record.Task{Months: 1, Grace: 5}, done: "2026-01-31", due: "2026-02-28", decides: rules.ByMonths, over: "2026-03-06"},
		"month end, leap year":   {task: record.Task{Months: 1}, done: "2028-01-31", due: "2028-02-29", decides: rules.ByMonths, over: "2028-03-01"},
		"29 February and a year": {task: record.Task{Months: 12}, done: "2028-02-29", due: "2029-02-28", decides: rules.ByMonths, over: "2029-03-01"},
		"29 February and four":   {task: record.Task{Months: 48}, done: "2028-02-29", due: "2032-02-29", decides: rules.ByMonths, over: "2032-03-01"},
		"over the new year":      {task: record.Task{Months: 3}, done: "2026-11-30", due: "2027-02-28", decides: rules.ByMonths, over: "2027-03-01"},
		"days in use":            {task: record.Task{UseDays: 5}, done: "2026-01-05", due: "2026-01-10", decides: rules.ByUse, over: "2026-01-11"},
		"a weekend not used":     {task: record.Task{UseDays: 5}, done: "2026-01-05", unused: []string{"2026-01-10..2026-01-11"}, due: "2026-01-12", decides: rules.ByUse, over: "2026-01-13"},
		"two weekends":           {task: record.Task{UseDays: 10, Grace: 1}, done: "2026-01-05", unused: []string{"2026-01-10..2026-01-11", "2026-01-17..2026-01-18"}, due: "2026-01-19", decides: rules.ByUse, over: "2026-01-21"},
		"said twice":             {task: record.Task{UseDays: 5}, done: "2026-01-05", unused: []string{"2026-01-08..2026-01-09", "2026-01-09..2026-01-10"}, due: "2026-01-13", decides: rules.ByUse, over: "2026-01-14"},
		"not used before it":     {task: record.Task{UseDays: 5}, done: "2026-01-05", unused: []string{"2026-01-03..2026-01-05"}, due: "2026-01-10", decides: rules.ByUse, over: "2026-01-11"},
		"use comes first":        {task: record.Task{UseDays: 5, Days: 14}, done: "2026-01-05", due: "2026-01-10", decides: rules.ByUse, over: "2026-01-11"},
		"calendar comes first":   {task: record.Task{UseDays: 5, Days: 7}, done: "2026-01-05", unused: []string{"2026-01-07..2026-01-20"}, due: "2026-01-12", decides: rules.ByDays, over: "2026-01-13"},
		"two end on one day":     {task: record.Task{UseDays: 7, Days: 7}, done: "2026-01-05", due: "2026-01-12", decides: rules.ByDays, over: "2026-01-13"},
		"days before months":     {task: record.Task{Days: 30, Months: 1}, done: "2026-01-05", due: "2026-02-04", decides: rules.ByDays, over: "2026-02-05"},
		"months before days":     {task: record.Task{Days: 30, Months: 1}, done: "2026-02-05", due: "2026-03-05", decides: rules.ByMonths, over: "2026-03-06"},
		"fixed, done late":       {task: record.Task{Months: 1, Fixed: true}, done: "2026-02-20", due: "2026-03-02", decides: rules.ByMonths, over: "2026-03-03"},
		"fixed to a day":         {task: record.Task{Months: 1, Fixed: true, From: date("2026-01-31")}, done: "2026-02-28", due: "2026-03-31", decides: rules.ByMonths, over: "2026-04-01"},
		"fixed, missed two":      {task: record.Task{Days: 7, Fixed: true, From: date("2026-01-05")}, done: "2026-01-28", due: "2026-02-02", decides: rules.ByDays, over: "2026-02-03"},
		"fixed, not yet begun":   {task: record.Task{Days: 7, Fixed: true, From: date("2026-03-02")}, due: "2026-03-02", decides: rules.ByDays, over: "2026-03-03"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h := newHouse(t)
			c.task.Code = "it"
			h.tasks(record.BarDial, c.task)
			s := h.bar("1")
			for _, days := range c.unused {
				from, to, _ := strings.Cut(days, "..")
				h.notUsed(from, to, s)
			}
			if c.done != "" {
				h.at(c.done + " 12:00")
				h.did(s, "it")
			}
			due := h.dueTask(s, "it")
			require.Equal(t, c.due, due.Due.String())
			require.Equal(t, c.decides, due.Decides)
			over := date(c.over)
			for day, want := range map[record.Date]rules.Dueness{due.Due - 8: rules.DueLater, due.Due - 1: rules.DueSoon,
				due.Due: rules.DueNow, over - 1: rules.DueNow, over: rules.DueOver, over + 400: rules.DueOver} {
				got, _ := h.its(s).DueTask(h, "it", day)
				require.Equal(t, want, got.Standing, day)
				require.Equal(t, due.Due, got.Due, "time alone moves no due day")
				require.Equal(t, day >= due.Due, got.Open(), day)
				require.Equal(t, c.task.UseDays > 0 && day > got.Since, got.Used > 0, "days in use are told where they count")
				require.False(t, got.Stops(), "only calibration stops a sealer")
			}
		})
	}
}

func TestAFixedTaskThatIsDoneEarlyIsDueOnItsDayAfterThat(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", Months: 1, Fixed: true, From: date("2026-01-31")})
	s := h.bar("1")
	for day, next := range map[string]string{"2026-01-28": "2026-02-28"} {
		h.at(day + " 12:00")
		h.did(s, "it")
		require.Equal(t, next, h.dueTask(s, "it").Due.String())
	}
	h.at("2026-02-28 12:00")
	h.did(s, "it")
	require.Equal(t, "2026-03-31", h.dueTask(s, "it").Due.String(), "the day of the month is not lost in February")
}

func TestADayThatWasUsedAfterAllCountsAgain(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", UseDays: 5})
	s := h.bar("1")
	h.at("2026-01-05 07:00")
	h.did(s, "it")
	h.notUsed("2026-01-06", "2026-01-08")
	require.Equal(t, "2026-01-13", h.dueTask(s, "it").Due.String())
	h.at("2026-01-07 07:00")
	h.pass(s, h.paper)
	require.Equal(t, "2026-01-12", h.dueTask(s, "it").Due.String(), "a check shows that it was used")
	require.Equal(t, 1, h.dueTask(s, "it").Used)
}

func TestSayingAfterwardsThatItWasNotUsedPutsNothingOff(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", UseDays: 5})
	s := h.bar("1")
	h.at("2026-01-09 07:00")
	h.notUsed("2026-01-05", "2026-01-09", s)
	require.Equal(t, "2026-01-07", h.dueTask(s, "it").Due.String(), "only the ninth was said in time, and it is after that")
}

func TestANewSealerKnowsTheClosuresAhead(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", UseDays: 5})
	h.notUsed("2026-01-03", "2026-01-04")
	require.Equal(t, "2026-01-09", h.dueTask(h.bar("1"), "it").Due.String())
}

func TestATaskThatIsPutInLaterCountsFromThatDay(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-03-01 12:00")
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 7})
	require.Equal(t, "2026-03-08", h.dueTask(s, "it").Due.String())
	h.at("2026-03-04 12:00")
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 10}, record.Task{Code: "new", Days: 7})
	require.Equal(t, "2026-03-11", h.dueTask(s, "it").Due.String(), "it was in the plan since the first")
	require.Equal(t, "2026-03-11", h.dueTask(s, "new").Due.String())
	require.Empty(t, rules.Due(h, h.its(h.sealer("2", record.Impulse)), h.today()), "no lead has set a plan for its type")
}

func TestNothingIsDueOnASealerThatIsGone(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 1})
	s := h.bar("1")
	require.Len(t, rules.Due(h, h.its(s), h.today()+9), 1)
	require.Empty(t, rules.Due(newBook(0), h.its(s), h.today()), "nor where its department is not known")
	h.setUp(sealerOf(s), &record.SealerRetired{Why: "worn out"})
	require.Empty(t, rules.Due(h, h.its(s), h.today()+9))
}

// RULES.md R7: what is done at night counts for the operating day that is not
// over, also in the night in which Lord Howe's clock goes back by half an hour.
func TestWhatIsDoneAtNightCountsForItsOperatingDay(t *testing.T) {
	for name, c := range map[string]struct{ zone, at, due string }{
		"before day start":                      {"America/New_York", "2026-03-08T04:59:00-04:00", "2026-03-14"},
		"after day start":                       {"America/New_York", "2026-03-08T05:01:00-04:00", "2026-03-15"},
		"New York, the hour is shown twice":     {"America/New_York", "2026-11-01T01:30:00-05:00", "2026-11-07"},
		"Lord Howe, the half hour, second time": {"Australia/Lord_Howe", "2026-04-05T01:45:00+10:30", "2026-04-11"},
		"Lord Howe, after day start":            {"Australia/Lord_Howe", "2026-04-05T05:00:00+10:30", "2026-04-12"},
		"Lord Howe, the skipped half hour":      {"Australia/Lord_Howe", "2026-10-04T02:30:00+11:00", "2026-10-10"},
	} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t)
			h.setUp(record.Subject{Type: record.Department, ID: h.dept}, &record.DepartmentChanged{Name: "Sterile processing",
				DepartmentSettings: record.DepartmentSettings{Zone: c.zone, DayStart: 5 * 60, EarlyMinutes: 120, LateMinutes: 15}})
			h.tasks(record.BarDial, record.Task{Code: "it", Days: 7})
			s := h.bar("1")
			at, err := time.Parse(time.RFC3339, c.at)
			require.NoError(t, err)
			h.clock = record.TimeOf(at)
			h.did(s, "it")
			require.Equal(t, c.due, h.dueTask(s, "it").Due.String())
		})
	}
}

// AddMonths against Go's own calendar: the first of the month so many months on
// is time.AddDate's, and the day is the same or the last of that month.
func TestMonthsAreAddedAsTheCalendarHasThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := record.Date(rapid.IntRange(10000, 40000).Draw(t, "day"))
		n := rapid.IntRange(0, 240).Draw(t, "months")
		got := rules.AddMonths(d, n).UTC()
		y, m, day := d.Civil()
		first := time.Date(y, m, 1, 0, 0, 0, 0, time.UTC).AddDate(0, n, 0)
		require.Equal(t, first.Format("2006-01"), got.Format("2006-01"))
		require.Equal(t, min(day, first.AddDate(0, 1, -1).Day()), got.Day())
	})
}

// While days pass and people say what is not used, or do, skip and extend tasks,
// a due day never goes back; and it is the day that counting one by one finds.
func TestDueDaysNeverGoBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHouse(t)
		task := record.Task{Code: "it", Days: rapid.IntRange(0, 9).Draw(rt, "days"), Months: rapid.IntRange(0, 1).Draw(rt, "months"),
			UseDays: rapid.IntRange(1, 9).Draw(rt, "use"), Grace: rapid.IntRange(0, 3).Draw(rt, "grace")}
		task.Fixed = task.Days+task.Months > 0 && rapid.Bool().Draw(rt, "fixed")
		h.tasks(record.BarDial, task)
		s := h.bar("1")
		said := map[record.Date]bool{}
		before := h.dueTask(s, "it").Due
		for range rapid.IntRange(1, 20).Draw(rt, "steps") {
			h.later(time.Duration(rapid.IntRange(0, 60).Draw(rt, "hours")) * time.Hour)
			switch rapid.SampledFrom([]string{"wait", "done", "skip", "extend", "unused", "closed"}).Draw(rt, "what") {
			case "done":
				h.did(s, "it")
			case "skip":
				_, err := h.maintain(s, &record.TaskSkipped{Task: "it", For: before, Reason: "no part"})
				require.NoError(rt, err)
			case "extend":
				e := h.direct()
				_, err := h.maintainAs(e, h.lead, s, &record.TaskExtended{Task: "it", Until: h.today() + 3, Reason: "part is on its way"})
				require.NoError(rt, err)
			case "unused", "closed":
				from := h.today() + record.Date(rapid.IntRange(-2, 9).Draw(rt, "ahead"))
				to := from + record.Date(rapid.IntRange(0, 9).Draw(rt, "long"))
				h.notUsed(from.String(), to.String(), s)
				for day := max(from, h.today()); day <= to; day++ {
					said[day] = true
				}
			}
			due := h.dueTask(s, "it")
			require.GreaterOrEqual(rt, due.Due, before)
			require.Equal(rt, h.countedByHand(due, said), due.Due)
			before = due.Due
		}
	})
}

// countedByHand finds a due day by going from day to day.
func (h *house) countedByHand(t rules.DueTask, said map[record.Date]bool) record.Date {
	var candidates []record.Date
	used := 0
	for day := t.Since + 1; used < t.UseDays; day++ {
		if !said[day] {
			used++
		}
		if used == t.UseDays {
			candidates = append(candidates, day)
		}
	}
	met := t.Since
	if t.Last != nil {
		met = max(met, t.Last.For)
	}
	begun := date("2026-01-02")
	for day := t.Since + 1; t.Days > 0; day++ {
		if t.Fixed && day > met && (int(day)-int(begun))%t.Days == 0 || !t.Fixed && int(day-t.Since) == t.Days {
			candidates = append(candidates, day)
			break
		}
	}
	for day := t.Since + 1; t.Months > 0; day++ {
		from := t.Since
		if t.Fixed {
			from = begun
		}
		_, _, dom := day.Civil()
		_, _, want := from.Civil()
		lastOfMonth := func() bool { _, _, next := (day + 1).Civil(); return next == 1 }()
		if (dom == want || dom < want && lastOfMonth) && day > met && day-t.Since >= 1 {
			candidates = append(candidates, day)
			break
		}
	}
	return slices.Min(candidates)
}

// Folding in any batches, with a snapshot between, leaves the same tasks due.
func TestDueTasksAreTheSameHoweverTheRecordsAreFolded(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHouse(t)
		h.tasks(record.BarDial, record.Task{Code: "it", UseDays: 4, Grace: 1}, record.Task{Code: "other", Months: 1})
		s := h.bar("1")
		for range rapid.IntRange(1, 100).Draw(rt, "steps") {
			h.later(time.Duration(rapid.IntRange(10, 60).Draw(rt, "hours")) * time.Hour)
			switch rapid.IntRange(0, 3).Draw(rt, "what") {
			case 0:
				h.did(s, "it")
			default:
				h.notUsed(h.today().String(), h.today().String(), s)
			}
		}
		cut := rapid.IntRange(0, len(h.records)).Draw(rt, "cut")
		b := newBook(h.clock)
		for i := range h.records {
			if i == cut {
				b = b.keep(rt)
			}
			rules.Evolve(b, &h.records[i])
		}
		require.Equal(rt, string(jsonOf(rt, h.its(s))), string(jsonOf(rt, rules.GetSealer(b, s))))
		require.Equal(rt, rules.Due(h, h.its(s), h.today()), rules.Due(b, rules.GetSealer(b, s), h.today()))
		require.LessOrEqual(rt, len(h.its(s).Unused), 64)
	})
}

// A year of single days without use is more than a sealer remembers; what it
// forgot still counts.
func TestForgottenDaysWithoutUseStillCount(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", UseDays: 200}, record.Task{Code: "never", UseDays: 200})
	s := h.bar("1")
	h.did(s, "it")
	day := date("2026-01-04")
	for range 90 { // every other day
		h.clock = rules.Begin(newYork, 5*60, day) + 3_600_000
		h.notUsed(day.String(), day.String(), s)
		day += 2
	}
	for _, code := range []string{"it", "never"} {
		require.Equal(t, date("2026-01-02")+200+90, h.dueTask(s, code).Due, code)
	}
}

func TestOnlyThoseWhomThePlanNamesDoATask(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "safety", Months: 12, Who: []record.Role{record.Engineering}})
	s := h.bar("1")
	e := h.direct()
	_, err := h.maintainAs(e, h.tech, s, &record.TaskDone{Task: "safety"})
	require.Equal(t, fault.Forbidden, fault.CodeOf(err))
	_, err = h.maintainAs(e, h.lead, s, &record.TaskDone{Task: "safety"})
	require.Equal(t, fault.Forbidden, fault.CodeOf(err))
	_, err = h.maintain(s, &record.TaskDone{Task: "safety"})
	require.NoError(t, err)
	_, err = h.maintain(s, &record.TaskDone{Task: "polish"})
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
}

func TestATaskThatSomebodyDidMeanwhileIsToldOnce(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 7})
	s := h.bar("1")
	h.at("2026-01-09 12:00")
	shown := h.dueTask(s, "it").Due
	h.did(s, "it")
	_, err := h.maintain(s, &record.TaskDone{Task: "it", For: shown})
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	e := h.direct()
	e.Keep = true
	_, err = h.maintainAs(e, h.engineer, s, &record.TaskDone{Task: "it", For: shown})
	require.NoError(t, err, "it did happen")
}

func TestWhatIsToldLateOfAnEarlierDayMovesNothing(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 7})
	s := h.bar("1")
	h.at("2026-01-20 12:00")
	h.did(s, "it")
	e := h.typed("2026-01-10 12:00", "2026-01-10 12:00")
	r, err := h.maintainAs(e, h.engineer, s, &record.TaskDone{Task: "it"})
	require.NoError(t, err)
	require.True(t, r.Late)
	require.Equal(t, "2026-01-27", h.dueTask(s, "it").Due.String())
}

func TestATaskToRecheckAfterTakesReadyUntilTheNextCheck(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "cover", Days: 7, Recheck: true}, record.Task{Code: "print", Days: 7})
	s := h.bar("1")
	h.at("2026-01-09 07:00")
	h.pass(s, h.paper)
	h.later(minutes(10))
	h.did(s, "print")
	require.Equal(t, record.Ready, h.standing(s).State)
	h.did(s, "cover")
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyMaintained)
	h.later(minutes(10))
	h.pass(s, h.paper)
	require.Equal(t, record.Ready, h.standing(s).State)
}

func TestSkippingWantsAReasonAndGoesToTheNextTime(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 7}, record.Task{Code: record.CalibrationTask, Months: 12, Blocks: true})
	s := h.bar("1")
	h.at("2026-01-10 12:00")
	_, err := h.maintain(s, &record.TaskSkipped{Task: "it"})
	require.Equal(t, "reason", fieldOf(err))
	_, err = h.maintain(s, &record.TaskSkipped{Task: "it", Reason: "the part has not come"})
	require.NoError(t, err)
	due := h.dueTask(s, "it")
	require.Equal(t, "2026-01-17", due.Due.String())
	require.True(t, due.Last.Skipped)
	_, err = h.maintain(s, &record.TaskSkipped{Task: record.CalibrationTask, Reason: "no time"})
	require.ErrorContains(t, err, "A lead can extend it")
}

// Calibration: overdue is shown on its day, stops only after the grace, and a
// signed extension lifts it until its end.
func TestAnOverdueCalibrationStopsAfterItsGraceUntilItIsExtended(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: record.CalibrationTask, Days: 10, Grace: 3, Blocks: true})
	s := h.bar("1") // here since 2 January: due on the 12th, in time through the 15th
	for _, day := range []string{"2026-01-12", "2026-01-15"} {
		h.at(day + " 07:00")
		h.pass(s, h.paper)
		require.Equal(t, record.Ready, h.standing(s).State, day)
		require.Equal(t, rules.DueNow, h.dueTask(s, record.CalibrationTask).Standing)
	}
	require.Equal(t, record.Ready, rules.Standing(h, h.its(s), local("2026-01-16 04:59")).State)
	h.at("2026-01-16 07:00")
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyOverdue)
	h.requireShown(s, h.paper, "", rules.WhyOverdue)
	_, err := h.maintain(s, &record.TaskDone{Task: record.CalibrationTask})
	require.Equal(t, "report", fieldOf(err), "calibrated by what?")
	_, err = h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "until it is calibrated or a lead extends it")

	e := h.direct()
	_, err = h.maintainAs(e, h.lead, s, &record.TaskExtended{Task: record.CalibrationTask, Until: date("2026-01-20")})
	require.Equal(t, "reason", fieldOf(err))
	_, err = h.maintainAs(e, h.lead, s, &record.TaskExtended{Task: record.CalibrationTask, Until: date("2026-01-15"), Reason: "late"})
	require.Equal(t, "until", fieldOf(err))
	r, err := h.maintainAs(e, h.lead, s, &record.TaskExtended{Task: record.CalibrationTask, Until: date("2026-01-20"), Reason: "the firm comes on Monday"})
	require.NoError(t, err)
	require.Equal(t, record.Approved, r.Meaning)
	waiting := h.dueTask(s, record.CalibrationTask)
	require.Equal(t, []any{rules.DueExtended, true, false}, []any{waiting.Standing, waiting.Open(), waiting.Stops()})
	h.pass(s, h.paper)
	require.Equal(t, record.Ready, h.standing(s).State)

	h.at("2026-01-21 07:00")
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyOverdue)
	h.did(s, record.CalibrationTask)
	h.pass(s, h.paper)
	require.Equal(t, record.Ready, h.standing(s).State)
	require.Equal(t, "2026-01-31", h.dueTask(s, record.CalibrationTask).Due.String())
}

func TestNothingElseThatIsOverdueStops(t *testing.T) {
	h := newHouse(t)
	h.tasks(record.BarDial, record.Task{Code: "it", Days: 1})
	s := h.bar("1")
	h.at("2026-03-16 07:00")
	require.Equal(t, rules.DueOver, h.dueTask(s, "it").Standing)
	h.pass(s, h.paper)
	require.Equal(t, record.Ready, h.standing(s).State)
}

func TestPlansThatCannotBeKeptAreRefused(t *testing.T) {
	h := newHouse(t)
	good := record.Task{Code: "it", Name: "It", Days: 7, Who: []record.Role{record.Lead}}
	for field, spoil := range map[string]func(*record.Task){
		"tasks.1.name":   func(t *record.Task) { t.Name = " " },
		"tasks.1.code":   func(t *record.Task) { t.Code = "" },
		"tasks.1.every":  func(t *record.Task) { t.Days = 0 },
		"tasks.1.who":    func(t *record.Task) { t.Who = nil },
		"tasks.1.source": func(t *record.Task) { t.Who = []record.Role{record.Technician} },
		"tasks.1.blocks": func(t *record.Task) { t.Blocks = true },
		"tasks.1.fixed":  func(t *record.Task) { t.Days, t.UseDays, t.Fixed = 0, 5, true },
	} {
		spoilt := good
		spoil(&spoilt)
		_, err := h.trySetUp(record.Subject{Type: record.Department, ID: h.dept},
			&record.MaintenanceSet{SealerType: record.BarDial, Tasks: []record.Task{spoilt}})
		require.Equal(t, field, fieldOf(err))
	}
	for _, kind := range []record.SealerType{record.BarDial, record.BarDisplay, record.Impulse, record.Continuous} {
		_, err := h.trySetUp(record.Subject{Type: record.Department, ID: h.dept},
			&record.MaintenanceSet{SealerType: kind, Tasks: rules.CommonTasks(kind)})
		require.NoError(t, err, "what is offered can be taken")
	}
}

func fieldOf(err error) string {
	var f *fault.Error
	if errors.As(err, &f) {
		return f.Field
	}
	return ""
}
