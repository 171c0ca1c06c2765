package rules_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

func TestASealerThatIsAwayIsCheckedAnewWhenItIsBack(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	h.at("2026-01-13 06:00")
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	h.setUp(sealerOf(s), &record.SealerAway{To: "the site at Cobbler Street", Back: date("2026-01-20")})
	h.requireStands(s, record.Retired, record.NeedNothing, rules.WhyAway)
	_, err := h.check(h.direct(), s, record.Check{Pouch: h.paper, Outcome: record.Pass})
	require.ErrorContains(t, err, "it is at the site at Cobbler Street")
	_, err = h.trySetUp(sealerOf(s), &record.SealerAway{To: "elsewhere"})
	require.Equal(t, fault.Gone, fault.CodeOf(err))
	require.NotEqual(t, record.ID{}, rules.GetSite(h).Numbers["1"], "its number stays its own")

	h.setUp(sealerOf(s), &record.SealerBack{Place: "Bench 2"})
	h.requireStands(s, record.CheckDue, record.NeedCheck, rules.WhyMoved)
	require.Equal(t, "Bench 2", h.its(s).Place)
	h.pass(s, h.paper)
	h.requireReady(s, h.paper)
	_, err = h.trySetUp(sealerOf(s), &record.SealerBack{Place: "Bench 3"})
	require.Equal(t, fault.Stale, fault.CodeOf(err))
}

func TestASealerWithAnOpenProblemCannotLeaveItBehind(t *testing.T) {
	for _, standing := range []string{"out of service", "with engineering", "return checks 0 of 2"} {
		h, s, _ := startAt(t, standing)
		_, err := h.trySetUp(sealerOf(s), &record.SealerAway{To: "the vendor"})
		require.Equal(t, fault.Stale, fault.CodeOf(err), standing)
	}
}

func TestASettingIsQuestionedAlsoWhileItsSealerIsAway(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	h.setUp(sealerOf(s), &record.SealerAway{To: "another site"})
	h.setUp(pouchOf(h.paper), &record.PouchRevised{PouchFacts: record.PouchFacts{Name: "Paper/film", Material: record.PaperFilm,
		Low: "190 °C", High: "200 °C"}})
	h.setUp(sealerOf(s), &record.SealerBack{Place: "Bench 1"})
	_, why := h.its(s).Approval(h, h.paper, date("2026-01-02"))
	require.Equal(t, rules.WhyQuestioned, why)
}

func TestAStandInIsKnownFromTheSealerItStandsFor(t *testing.T) {
	h := newHouse(t)
	old, loaner, third := h.bar("1"), h.bar("L1"), h.bar("3")
	require.Nil(t, rules.StandIn(h, h.its(old)))
	h.setUp(sealerOf(loaner), &record.StandsIn{For: old, Why: "element on order"})
	require.Equal(t, loaner, rules.StandIn(h, h.its(old)).ID)
	_, err := h.trySetUp(sealerOf(third), &record.StandsIn{For: old})
	require.ErrorContains(t, err, "Sealer L1 stands in for sealer 1 already")
	for _, none := range []record.ID{old, h.newID(), h.paper} {
		_, err = h.trySetUp(sealerOf(old), &record.StandsIn{For: none})
		require.ErrorContains(t, err, "Choose the sealer")
	}
	h.setUp(sealerOf(old), &record.SealerRetired{Why: "worn out"})
	require.Equal(t, loaner, rules.StandIn(h, h.its(old)).ID, "what stands there after it was retired is still told")
	h.setUp(sealerOf(loaner), &record.StandsIn{Why: "bought a new one"})
	require.Nil(t, rules.StandIn(h, h.its(old)))
	h.setUp(sealerOf(third), &record.StandsIn{For: old})
	h.setUp(sealerOf(third), &record.SealerRetired{Why: "worn out"})
	require.Nil(t, rules.StandIn(h, h.its(old)), "a retired one stands in for none")
}

func TestAnOldCardIsToBeTakenDownOnceWhatItShowsChanges(t *testing.T) {
	h := newHouse(t)
	s := h.shared("5")
	require.Zero(t, h.its(s).OldCard, "a first setting for each pouch makes no card wrong")
	newer := h.approve(s, h.paper, "182")
	require.Equal(t, newer, h.its(s).OldCard)
	h.setUp(sealerOf(s), &record.OldCardDown{Card: newer - 1})
	require.Equal(t, newer, h.its(s).OldCard, "of an earlier change")
	h.setUp(sealerOf(s), &record.OldCardDown{Card: newer})
	require.Zero(t, h.its(s).OldCard)
	ended := h.setUp(sealerOf(s), &record.ApprovalEnded{Pouch: h.nonwoven, Why: "not sealed here any more"})
	require.Equal(t, ended.Seq, h.its(s).OldCard)
}

func TestDocumentsAreNamedNotKept(t *testing.T) {
	h := newHouse(t)
	s := h.bar("1")
	dept := record.Subject{Type: record.Department, ID: h.dept}
	good := record.DocumentFiled{What: record.DocCertificate, Document: record.Document{Title: "Calibration of probe 3", Page: "1"},
		Until: date("2027-01-01"), Link: "https://papers.example/c-118.pdf", SHA256: strings.Repeat("0f", 32)}
	for name, c := range map[string]struct {
		change func(*record.DocumentFiled)
		field  string
	}{
		"what it is":      {func(b *record.DocumentFiled) { b.What = "song" }, "what"},
		"no title":        {func(b *record.DocumentFiled) { b.Title = " " }, "title"},
		"a script":        {func(b *record.DocumentFiled) { b.Link = "javascript:alert(1)" }, "link"},
		"a path":          {func(b *record.DocumentFiled) { b.Link = "/etc/passwd" }, "link"},
		"with a password": {func(b *record.DocumentFiled) { b.Link = "https://a:b@papers.example/x" }, "link"},
		"half a SHA-256":  {func(b *record.DocumentFiled) { b.SHA256 = "0f0f" }, "sha256"},
		"not hex":         {func(b *record.DocumentFiled) { b.SHA256 = strings.Repeat("zz", 32) }, "sha256"},
	} {
		b := good
		c.change(&b)
		_, err := h.trySetUp(sealerOf(s), &b)
		var f *fault.Error
		require.ErrorAs(t, err, &f, name)
		require.Equal(t, c.field, f.Field, name)
	}
	_, err := h.trySetUp(pouchOf(h.paper), &good)
	require.Error(t, err)
	one := h.setUp(sealerOf(s), &good)
	two := h.setUp(dept, &record.DocumentFiled{What: record.DocPolicy, Document: record.Document{Title: "Policy SP-07"}})
	require.Len(t, h.its(s).Documents, 1)
	require.Len(t, rules.GetDepartment(h, h.dept).Documents, 1, "the sealer's are not the department's")
	_, err = h.trySetUp(dept, &record.DocumentEnded{Document: one.Seq})
	require.Equal(t, fault.Stale, fault.CodeOf(err))
	h.setUp(sealerOf(s), &record.DocumentEnded{Document: one.Seq, Why: "replaced"})
	h.setUp(dept, &record.DocumentEnded{Document: two.Seq})
	require.Empty(t, h.its(s).Documents)
	require.Empty(t, rules.GetDepartment(h, h.dept).Documents)
}
