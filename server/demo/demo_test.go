package demo_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/demo"
	"tidemark/server/desk"
	"tidemark/server/durable"
	"tidemark/server/ledger"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// site is a demo on real stores in a folder.
type site struct {
	demo.Hospital
	t      testing.TB
	dir    string
	desk   *desk.Desk
	ledger *ledger.Ledger
	people *people.Store
	dept   record.ID
}

var zone = rules.Zone("America/New_York")

// local is a time of New York.
func local(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, zone)
	require.NoError(t, err)
	return at
}

// open opens the stores of a demo; they are closed, and the ledger verified,
// when the test ends.
func open(t testing.TB, dir string, clock func() time.Time) *site {
	t.Helper()
	l, err := ledger.Open(ledger.Options{Dir: dir, Fold: desk.Fold(), Demo: true, Clock: clock})
	require.NoError(t, err)
	p, err := people.Open(filepath.Join(dir, "people.db"),
		people.Options{Pepper: make([]byte, 32), Argon: demo.Argon})
	require.NoError(t, err)
	photos, err := durable.OpenFolder(filepath.Join(dir, "photos"))
	require.NoError(t, err)
	d := desk.New(desk.Options{PublicURL: "https://tide.example", Ledger: l, People: p, Photos: photos, Clock: clock, Demo: true})
	s := &site{t: t, dir: dir, desk: d, ledger: l, people: p}
	t.Cleanup(s.close)
	return s
}

func (s *site) close() {
	if s.ledger == nil {
		return
	}
	require.NoError(s.t, s.people.Close())
	require.NoError(s.t, s.ledger.Close())
	s.ledger = nil
	report, err := ledger.Verify(ledger.Verification{Dir: s.dir, Fold: desk.Fold()})
	require.NoError(s.t, err)
	require.Empty(s.t, report.Wrong)
}

// build makes a demo that ends at a moment.
func build(t testing.TB, now time.Time) *site {
	t.Helper()
	clock := demo.NewClock(func() time.Time { return now })
	s := open(t, t.TempDir(), clock.Now)
	hospital, err := demo.Build(t.Context(), s.desk, clock, now)
	require.NoError(t, err)
	require.Equal(t, now, clock.Now(), "the clock follows the real one")
	s.Hospital = hospital
	s.ledger.View(func(v record.View) { s.dept = rules.GetSite(v).Departments[0] })
	return s
}

// signIn signs somebody in on the demo's device.
func (s *site) signIn(p demo.Person) desk.Caller {
	s.t.Helper()
	_, device := s.desk.Who("", s.DeviceToken)
	signed, err := s.desk.SignIn(s.t.Context(), device, desk.SignInIn{Person: p.ID, PIN: p.PIN})
	require.NoError(s.t, err)
	require.False(s.t, signed.MustChoose)
	who, _ := s.desk.Who(signed.Token, s.DeviceToken)
	return who
}

// as signs in the first person of a role.
func (s *site) as(role record.Role) desk.Caller {
	s.t.Helper()
	for _, p := range s.People {
		if p.Role == role {
			return s.signIn(p)
		}
	}
	require.Fail(s.t, "nobody", "in role %s", role)
	return desk.Caller{}
}

// sealer is the state of a sealer by its number.
func (s *site) sealer(number string) (of *rules.Sealer) {
	s.ledger.View(func(v record.View) { of = rules.GetSealer(v, rules.GetSite(v).Numbers[number]) })
	require.NotNil(s.t, of)
	return of
}

// problems are those of a sealer, oldest first.
func (s *site) problems(number string) (list []*rules.Problem) {
	ids := s.sealer(number).Problems
	s.ledger.View(func(v record.View) {
		for _, id := range ids {
			list = append(list, rules.GetProblem(v, id))
		}
	})
	return list
}

// said is a record with its body as one kind.
type said[B record.Body] struct {
	record.Record
	body B
}

// all gives every record of a kind, in order.
func all[B record.Body](s *site) (list []said[B]) {
	s.t.Helper()
	err := s.ledger.Range(0, record.Seq(s.ledger.Size()), func(r record.Record) error {
		body, err := r.Content()
		if b, ok := body.(B); ok {
			list = append(list, said[B]{r, b})
		}
		return err
	})
	require.NoError(s.t, err)
	return list
}
