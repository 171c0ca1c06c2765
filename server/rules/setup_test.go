package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestFactsAreRefusedForWhatIsWrongInThem(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	retired := h.newID()
	h.setUp(pouchOf(retired), &record.PouchAdded{PouchFacts: record.PouchFacts{Name: "Old", Material: record.PaperFilm, Retired: true}})
	dept := record.Subject{Type: record.Department, ID: h.dept}
	settings := func(change func(*record.DepartmentSettings)) record.Body {
		b := &record.DepartmentChanged{Name: "SPD", DepartmentSettings: rules.GetDepartment(h, h.dept).DepartmentSettings}
		change(&b.DepartmentSettings)
		return b
	}
	plan := func(change func(*record.Plan)) record.Body {
		b := &record.PlanSet{SealerType: record.BarDial, Plan: rules.DefaultPlan(record.BarDial)}
		change(&b.Plan)
		return b
	}
	pouch := func(change func(*record.PouchFacts)) record.Body {
		b := &record.PouchAdded{PouchFacts: record.PouchFacts{Name: "New", Material: record.PaperFilm}}
		change(&b.PouchFacts)
		return b
	}
	sealer := func(change func(*record.SealerAdded)) record.Body {
		b := &record.SealerAdded{SealerFacts: record.SealerFacts{Number: "9", Type: record.BarDial}, Code: "C9"}
		change(b)
		return b
	}
	approval := func(change func(*record.ApprovalGiven)) record.Body {
		b := &record.ApprovalGiven{Pouch: h.paper, Value: "180", Unit: "degC", Basis: record.FromIFU, IFU: record.Document{Title: "IFU"}}
		change(b)
		return b
	}
	aPouch, aSealer, here := pouchOf(record.ID{99}), sealerOf(record.ID{99}), sealerOf(s)
	for name, c := range map[string]struct {
		subject record.Subject
		facts   record.Body
		field   string // "" if it is sound
	}{
		"sound settings":          {dept, settings(func(*record.DepartmentSettings) {}), ""},
		"no zone":                 {dept, settings(func(s *record.DepartmentSettings) { s.Zone = "" }), "zone"},
		"the machine's zone":      {dept, settings(func(s *record.DepartmentSettings) { s.Zone = "Local" }), "zone"},
		"no such zone":            {dept, settings(func(s *record.DepartmentSettings) { s.Zone = "Atlantis/Port" }), "zone"},
		"day start at midnight":   {dept, settings(func(s *record.DepartmentSettings) { s.DayStart = 0 }), ""},
		"day start at 23:59":      {dept, settings(func(s *record.DepartmentSettings) { s.DayStart = 1439 }), ""},
		"day start at 24:00":      {dept, settings(func(s *record.DepartmentSettings) { s.DayStart = 1440 }), "day_start"},
		"day start before day":    {dept, settings(func(s *record.DepartmentSettings) { s.DayStart = -1 }), "day_start"},
		"no early check":          {dept, settings(func(s *record.DepartmentSettings) { s.EarlyMinutes = 0 }), ""},
		"early by half a day":     {dept, settings(func(s *record.DepartmentSettings) { s.EarlyMinutes = 720 }), ""},
		"early by more":           {dept, settings(func(s *record.DepartmentSettings) { s.EarlyMinutes = 721 }), "early_minutes"},
		"early by less than none": {dept, settings(func(s *record.DepartmentSettings) { s.EarlyMinutes = -1 }), "early_minutes"},
		"late at once":            {dept, settings(func(s *record.DepartmentSettings) { s.LateMinutes = 0 }), "late_minutes"},
		"late after a minute":     {dept, settings(func(s *record.DepartmentSettings) { s.LateMinutes = 1 }), ""},
		"late after a day":        {dept, settings(func(s *record.DepartmentSettings) { s.LateMinutes = 1440 }), ""},
		"late after more":         {dept, settings(func(s *record.DepartmentSettings) { s.LateMinutes = 1441 }), "late_minutes"},
		"no name":                 {dept, &record.DepartmentChanged{Name: " "}, "name"},

		"a sound plan":            {dept, plan(func(p *record.Plan) { p.PerShift = []int{0, 1439} }), ""},
		"no places":               {dept, plan(func(p *record.Plan) { p.Places = nil }), "places"},
		"no tests":                {dept, plan(func(p *record.Plan) { p.Tests = nil }), "tests"},
		"no return checks":        {dept, plan(func(p *record.Plan) { p.ReturnGood = 0 }), "return_good"},
		"nine return checks":      {dept, plan(func(p *record.Plan) { p.ReturnGood = 9 }), ""},
		"ten return checks":       {dept, plan(func(p *record.Plan) { p.ReturnGood = 10 }), "return_good"},
		"a day of cooling":        {dept, plan(func(p *record.Plan) { p.CoolMinutes, p.WarmMinutes = 1440, 1440 }), ""},
		"more of cooling":         {dept, plan(func(p *record.Plan) { p.CoolMinutes = 1441 }), "cool_minutes"},
		"less of cooling":         {dept, plan(func(p *record.Plan) { p.CoolMinutes = -1 }), "cool_minutes"},
		"more of warming":         {dept, plan(func(p *record.Plan) { p.WarmMinutes = 1441 }), "cool_minutes"},
		"less of warming":         {dept, plan(func(p *record.Plan) { p.WarmMinutes = -1 }), "cool_minutes"},
		"a shift at no time":      {dept, plan(func(p *record.Plan) { p.PerShift = []int{60, 1440} }), "per_shift"},
		"a shift before midnight": {dept, plan(func(p *record.Plan) { p.PerShift = []int{-1} }), "per_shift"},

		"closed for a day":      {dept, &record.NotUsed{From: 20000, To: 20000}, ""},
		"closed backwards":      {dept, &record.NotUsed{From: 20001, To: 20000}, "to"},
		"a person of no role":   {personOf(record.ID{99}), &record.PersonAdded{}, "roles"},
		"a person of odd roles": {personOf(h.tech), &record.PersonChanged{Roles: []record.Role{record.Lead, "king"}}, "roles"},

		"a sound pouch":           {aPouch, pouch(func(p *record.PouchFacts) { p.Low, p.High = "329 °F", "392 °F" }), ""},
		"a pouch of no name":      {aPouch, pouch(func(p *record.PouchFacts) { p.Name = "  " }), "name"},
		"a pouch of a known name": {aPouch, pouch(func(p *record.PouchFacts) { p.Name = "PAPER/film" }), "name"},
		"of a retired one's name": {aPouch, pouch(func(p *record.PouchFacts) { p.Name = "Old" }), ""},
		"its own name again":      {pouchOf(h.paper), &record.PouchRevised{PouchFacts: record.PouchFacts{Name: "Paper/film", Material: record.PaperFilm}}, ""},
		"of no material":          {aPouch, pouch(func(p *record.PouchFacts) { p.Material = "tin" }), "material"},
		"a window of words":       {aPouch, pouch(func(p *record.PouchFacts) { p.Low, p.High = "warm", "hot" }), "low"},
		"a dwell in degrees":      {aPouch, pouch(func(p *record.PouchFacts) { p.Dwell = "2 °C" }), "dwell"},
		"half a window":           {aPouch, pouch(func(p *record.PouchFacts) { p.Low = "165 °C" }), "high"},
		"the other half":          {aPouch, pouch(func(p *record.PouchFacts) { p.High = "200 °C" }), "high"},

		"a sound sealer":        {aSealer, sealer(func(*record.SealerAdded) {}), ""},
		"no number":             {aSealer, sealer(func(b *record.SealerAdded) { b.Number = "" }), "number"},
		"a long number":         {aSealer, sealer(func(b *record.SealerAdded) { b.Number = "12345" }), "number"},
		"four characters":       {aSealer, sealer(func(b *record.SealerAdded) { b.Number = "A123" }), ""},
		"a small letter":        {aSealer, sealer(func(b *record.SealerAdded) { b.Number = "a" }), "number"},
		"a number that is used": {aSealer, sealer(func(b *record.SealerAdded) { b.Number = "5" }), "number"},
		"a type nobody knows":   {aSealer, sealer(func(b *record.SealerAdded) { b.Type = "iron" }), "type"},
		"3 m wide":              {aSealer, sealer(func(b *record.SealerAdded) { b.WidthCM = 300 }), ""},
		"wider":                 {aSealer, sealer(func(b *record.SealerAdded) { b.WidthCM = 301 }), "width_cm"},
		"narrower than nothing": {aSealer, sealer(func(b *record.SealerAdded) { b.WidthCM = -1 }), "width_cm"},
		"its own number again":  {here, &record.SealerChanged{SealerFacts: record.SealerFacts{Number: "5", Type: record.BarDisplay}, Code: "C5"}, ""},

		"a sound approval":       {here, approval(func(*record.ApprovalGiven) {}), ""},
		"in Fahrenheit":          {here, approval(func(a *record.ApprovalGiven) { a.Value, a.Unit = "356", "degF" }), ""},
		"of a display in marks":  {here, approval(func(a *record.ApprovalGiven) { a.Unit = "mark" }), "unit"},
		"of no value":            {here, approval(func(a *record.ApprovalGiven) { a.Value = "high" }), "value"},
		"of a retired pouch":     {here, approval(func(a *record.ApprovalGiven) { a.Pouch = retired }), "pouch"},
		"of an unknown pouch":    {here, approval(func(a *record.ApprovalGiven) { a.Pouch = record.ID{98} }), "pouch"},
		"of no IFU":              {here, approval(func(a *record.ApprovalGiven) { a.IFU.Title = " " }), "ifu"},
		"from a table, no IFU":   {here, approval(func(a *record.ApprovalGiven) { a.Basis, a.IFU.Title = record.FromTable, "" }), ""},
		"on no basis":            {here, approval(func(a *record.ApprovalGiven) { a.Basis = "hearsay" }), "basis"},
		"ended without a reason": {here, &record.ApprovalEnded{Pouch: h.paper}, "why"},
		"released, no reason":    {pouchOf(h.paper), &record.LotReleased{Lot: "7"}, "why"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rules.SetUp(h, rules.SaidSetUp{Entry: h.direct(), Dept: h.dept, Subject: c.subject, Facts: c.facts}, h.now())
			if c.field == "" {
				require.NoError(t, err)
				return
			}
			var f *fault.Error
			require.ErrorAs(t, err, &f)
			require.Equal(t, []any{fault.Invalid, c.field}, []any{f.Code, f.Field})
		})
	}
}

func TestFactsAreTakenOnlyAboutWhatIsThere(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	other := h.newID()
	_, err := h.write(t, h.newID(), func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.SetUp(v, rules.SaidSetUp{Entry: h.direct(), Dept: other, Subject: record.Subject{Type: record.Department, ID: other},
			Facts: &record.DepartmentOpened{Name: "Elsewhere", DepartmentSettings: record.DepartmentSettings{Zone: "UTC", LateMinutes: 15}}}, now)
	})
	require.NoError(t, err)
	facts := record.SealerFacts{Number: "6", Type: record.BarDial}
	for name, c := range map[string]struct {
		dept    record.ID
		subject record.Subject
		facts   record.Body
		code    fault.Code
	}{
		"a department twice":         {h.dept, record.Subject{Type: record.Department, ID: h.dept}, &record.DepartmentOpened{}, fault.Conflict},
		"in no department":           {record.ID{9}, sealerOf(s), &record.SealerRetired{}, fault.Unknown},
		"a sealer twice":             {h.dept, sealerOf(s), &record.SealerAdded{SealerFacts: facts, Code: "C6"}, fault.Conflict},
		"a pouch twice":              {h.dept, pouchOf(h.paper), &record.PouchAdded{}, fault.Conflict},
		"a person twice":             {h.dept, personOf(h.lead), &record.PersonAdded{}, fault.Conflict},
		"another sealer's label":     {h.dept, sealerOf(record.ID{9}), &record.SealerAdded{SealerFacts: facts, Code: "C5"}, fault.Conflict},
		"no such sealer":             {h.dept, sealerOf(record.ID{9}), &record.SealerRetired{}, fault.Unknown},
		"another department's":       {other, sealerOf(s), &record.SealerMoved{Place: "ours now"}, fault.Unknown},
		"another department's pouch": {other, pouchOf(h.paper), &record.LotHeld{Lot: "7"}, fault.Unknown},
		"another department's people": {other, personOf(h.lead), &record.PersonChanged{Roles: []record.Role{record.Surveyor}},
			fault.Unknown},
		"a sealer as a person": {h.dept, personOf(s), &record.SealerRetired{}, fault.Invalid},
	} {
		t.Run(name, func(t *testing.T) {
			before := h.replay().state
			_, err := rules.SetUp(h, rules.SaidSetUp{Entry: h.direct(), Dept: c.dept, Subject: c.subject, Facts: c.facts}, h.now())
			require.Equal(t, c.code, fault.CodeOf(err), "%v", err)
			require.Equal(t, before, h.state)
		})
	}
}

func TestANumberIsFreeAgainWhenItsSealerIsGone(t *testing.T) {
	h := newHouse(t)
	s, r := h.bar("1"), h.bar("2")
	h.setUp(sealerOf(s), &record.SealerRetired{Why: "worn out"})
	h.setUp(sealerOf(r), &record.SealerChanged{SealerFacts: record.SealerFacts{Number: "3", Type: record.BarDial}, Code: "D2"})
	site := rules.GetSite(h)
	require.Equal(t, map[string]record.ID{"3": r}, site.Numbers)
	require.Equal(t, map[string]record.ID{"C1": s, "C2": r, "D2": r}, site.Codes, "an old label still finds its sealer")
	require.Equal(t, "D2", h.its(r).Code)
	h.bar("Z")
	_, err := h.trySetUp(sealerOf(h.newID()), &record.SealerAdded{Code: "C8", SealerFacts: record.SealerFacts{Number: "1", Type: record.BarDial}})
	require.NoError(t, err)
}

// DESIGN.md section 5, ready: what ends it among facts about the sealer.
func TestFactsThatTakeReadyAway(t *testing.T) {
	for name, c := range map[string]struct {
		facts func(h *house, s record.ID) (record.Subject, record.Body)
		why   string
	}{
		"moved": {func(h *house, s record.ID) (record.Subject, record.Body) {
			return sealerOf(s), &record.SealerMoved{Place: "Room 2"}
		}, rules.WhyMoved},
		"a new approval": {func(h *house, s record.ID) (record.Subject, record.Body) { return sealerOf(s), h.anApproval(h.paper) }, rules.WhyApproval},
		"the approval ended": {func(h *house, s record.ID) (record.Subject, record.Body) {
			return sealerOf(s), &record.ApprovalEnded{Pouch: h.paper, Why: "w"}
		}, rules.WhyApproval},
		"IFU revised":             {func(h *house, s record.ID) (record.Subject, record.Body) { return pouchOf(h.paper), revised(true) }, rules.WhyIFU},
		"IFU revised, all stands": {func(h *house, s record.ID) (record.Subject, record.Body) { return pouchOf(h.paper), revised(false) }, ""},
		"another's approval": {func(h *house, s record.ID) (record.Subject, record.Body) {
			return sealerOf(s), h.anApproval(h.nonwoven)
		}, ""},
		"another's ended": {func(h *house, s record.ID) (record.Subject, record.Body) {
			return sealerOf(s), &record.ApprovalEnded{Pouch: h.nonwoven, Why: "w"}
		}, ""},
		"a new label": {func(h *house, s record.ID) (record.Subject, record.Body) {
			return sealerOf(s), &record.SealerChanged{SealerFacts: h.its(s).SealerFacts, Code: "D5"}
		}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			h, s, _ := startAt(t, "ready")
			h.setUp(c.facts(h, s))
			if c.why == "" {
				h.requireReady(s, h.paper)
				return
			}
			h.requireStands(s, record.CheckDue, record.NeedCheck, c.why)
		})
	}
}

func (h *house) anApproval(pouch record.ID) record.Body {
	return &record.ApprovalGiven{Pouch: pouch, Value: "178", Unit: "degC", Basis: record.FromTable}
}

func revised(recheck bool) record.Body {
	return &record.PouchRevised{PouchFacts: record.PouchFacts{Name: "Paper/film", Material: record.PaperFilm}, Recheck: recheck}
}

func TestAfterAnIFUWasRevisedALeadApprovesAgain(t *testing.T) {
	h, s, _ := startAt(t, "ready")
	h.setUp(pouchOf(h.paper), revised(true))
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "The IFU of this pouch was revised")
	h.approve(s, h.paper, "180")
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
}

func TestAProvisionalApprovalLastsThroughItsDay(t *testing.T) {
	h := newHouse(t)
	s := h.sealer("5", record.BarDisplay)
	a := h.anApproval(h.paper).(*record.ApprovalGiven)
	a.Provisional = date("2026-01-14")
	h.setUp(sealerOf(s), a)
	h.at("2026-01-14 07:00")
	h.pass(s, h.paper)
	h.at("2026-01-15 04:59")
	h.requireReady(s, h.paper)
	h.at("2026-01-15 05:00")
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyExpired)
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "The provisional approval for this pouch has ended")
}

func TestASiteIsOpenedOnce(t *testing.T) {
	b := newBook(local("2026-01-02 09:00"))
	dept, person := b.newID(), b.newID()
	open := func(v record.View, now record.Time) ([]rules.Draft, error) {
		return rules.OpenSite(v, rules.SaidSetUp{Entry: rules.Entry{ID: b.newID(), Via: record.ViaConsole}, Dept: dept,
			Subject: record.Subject{Type: record.Department, ID: dept}, Facts: &record.DepartmentOpened{Name: "SPD",
				DepartmentSettings: record.DepartmentSettings{Zone: "America/New_York", DayStart: 300, EarlyMinutes: 120, LateMinutes: 15}}},
			person, record.Sealed{"name": {1}}, now)
	}
	_, err := b.write(t, b.newID(), open)
	require.NoError(t, err)
	p := rules.GetPerson(b, person)
	require.True(t, p.Has(record.Lead) && p.Has(record.Administrator) && p.FirstLine)
	require.Equal(t, record.Commitment{1}, p.Name)
	require.Equal(t, dept, p.Dept)
	_, err = b.write(t, b.newID(), open)
	require.True(t, fault.Is(err, fault.Gone))
}

func TestAPersonWhoLeftMayDoNothing(t *testing.T) {
	h := newHouse(t)
	require.True(t, rules.GetPerson(h, h.lead).Has(record.Surveyor, record.Lead))
	require.False(t, rules.GetPerson(h, h.lead).Has(record.Surveyor))
	h.setUp(personOf(h.lead), &record.PersonChanged{Roles: []record.Role{record.Lead}, Left: true})
	require.False(t, rules.GetPerson(h, h.lead).Has(record.Lead))
}
