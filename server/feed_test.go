package server_test

import (
	"io"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// feed reads the feed from after on until there is no more, a few at a time.
func (p *program) feed(after, limit int) (rows []map[string]any, next int) {
	p.t.Helper()
	for {
		p.get("/records?limit=" + strconv.Itoa(limit) + "&after=" + strconv.Itoa(after))
		rows = append(rows, p.list("records")...)
		after = p.whole("next")
		if p.reply.at("more") == false {
			return rows, after
		}
	}
}

func TestTheFeedTellsEveryRecordOnceWhileOthersWrite(t *testing.T) {
	b := newBench(t)
	const writers, each = 4, 25
	first := b.size()
	var writing sync.WaitGroup
	for range writers {
		w := *b.program
		writing.Go(func() {
			for range each {
				w.browse("POST", "/api/v1/sealers/"+b.code+"/packs", "application/json", packsJSON(b))
			}
		})
	}
	var rows []map[string]any
	next := -1
	for len(rows) < first+writers*each {
		more, to := b.feed(next, 7)
		rows, next = append(rows, more...), to
	}
	writing.Wait()
	for i, r := range rows {
		require.EqualValues(t, i, r["seq"], "no gap, none twice")
	}
	again, _ := b.feed(next, 7)
	require.Empty(t, again)
}

// packsJSON is one pack, said anew.
func packsJSON(b *bench) io.Reader {
	return strings.NewReader(`{"id":"` + newID() + `","seen":0,"pouch":"` + b.pouch + `","count":1}`)
}

func TestTheFeedHasIDsAndTheNamesBehindThem(t *testing.T) {
	b := newBench(t)
	rows, _ := b.feed(-1, 1000)
	last := rows[len(rows)-1]
	require.Equal(t, "check", last["kind"])
	require.Equal(t, "V. Costa", last["who"])
	require.Regexp(t, "^[0-9a-f]{32}$", last["by"])
	require.Equal(t, "2", last["sealer"])
	require.Equal(t, "Paper/film 20 cm", last["pouch"])
	require.Equal(t, "pass", last["body"].(map[string]any)["outcome"])
	require.Equal(t, "ready", last["readiness"].(map[string]any)["state"])
	require.NotContains(t, string(b.reply.raw), "mail")
}

func TestTheFeedShowsPeopleOnlyToThoseWhoSeeToThem(t *testing.T) {
	b := newBench(t)
	tech, surveyor := b.hire("L. Marsh", nil, "technician"), b.hire("S. Wex", nil, "surveyor")
	kinds := func(p *program) map[any]int {
		found := map[any]int{}
		rows, next := p.feed(-1, 3)
		require.Equal(t, b.size()-1, next, "what is not shown is passed over")
		for _, r := range rows {
			found[r["kind"]]++
		}
		return found
	}
	require.Equal(t, 3, kinds(b.program)["person-added"])
	require.Equal(t, 3, kinds(surveyor)["person-added"])
	require.Zero(t, kinds(tech)["person-added"])
	require.Zero(t, kinds(tech)["device-let-in"])
	require.Equal(t, 1, kinds(tech)["check"])
}

func TestTheFeedRefusesWhatMakesNoSense(t *testing.T) {
	b := newBench(t)
	for _, query := range []string{"?limit=0.5", "?limit=-1", "?limit=1001", "?after=x", "?after=100000"} {
		b.send(http.MethodGet, "/records"+query, "", nil)
		b.refused(http.StatusUnprocessableEntity, "invalid")
	}
	s := b.stranger()
	s.send(http.MethodGet, "/records", "", nil)
	s.refused(http.StatusUnauthorized, "sign-in")
}
