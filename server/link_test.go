package server_test

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
)

// Clinical engineering of a vendor has no account: a mail has a link for one
// problem and one person, and that is all it takes to hand a sealer back.
func TestMailedLinkLeadsToTheHandBackWithoutAnAccount(t *testing.T) {
	post := newMailbox(t)
	o := newOfficeBy(t, "2026-01-13 06:50", server.Config{PublicURL: officeURL, Mail: post.way})
	costa := o.begin("V. Costa")
	costa.hire("E. Tran", object{"mail": "e.tran@tide.example"}, "engineering")
	film := costa.addPouch("Paper/film", "paper-film")
	two := costa.addSealer("2", "bar-dial", object{"asset": "20417", "width_cm": 45, "place": "Bench 1"})
	costa.approve(two, film, "7 1/2", "mark")
	costa.check(two, film, "pass", nil).done()
	o.at("2026-01-13 08:40")
	costa.page(two, film)
	costa.post("/sealers/"+two+"/bad-seals", object{"kind": "channel", "place": "left", "at_cm": "4", "pouch": film}).done()
	problem := costa.text("problem")
	mail := post.wait(1)[0]
	for _, words := range []string{"To: <e.tran@tide.example>", "Subject: Asset 20417, sealer 2: out of service (problem 1)", "Channel, left",
		"The jaw stays hot", "Isolate the sealer from power"} {
		require.Contains(t, mail, words)
	}
	require.NotContains(t, mail, "V. Costa", "no names of the department's people")
	link := linkOf(t, mail)

	tran := o.stranger()
	tran.name = "E. Tran by link"
	size := o.Desk.Size()
	for range 3 { // a mail filter opens it, too
		tran.sees(link, "Problem 1", "Channel, left", "20417", "Looking here tells nobody", "I have seen it")
		tran.get(link)
	}
	require.NotContains(t, string(tran.reply.raw), "V. Costa")
	require.Equal(t, size, o.Desk.Size(), "looking records nothing")
	for _, page := range []string{"/", "/problems/" + problem, "/S/" + two, "/queue"} {
		tran.browse("GET", page, "", nil)
		require.Equal(t, http.StatusSeeOther, tran.reply.status, "the link opens nothing else: "+page)
	}

	tran.post(link+"/seen", object{}).refused(http.StatusUnprocessableEntity, "invalid")
	tran.post(link+"/seen", object{"name": "E. Tran"}).done()
	costa.sees("/problems/"+problem, "by link, says E. Tran")
	file, err := os.ReadFile("../testdata/photos/channel.jpg")
	require.NoError(t, err)
	body, kind := multipartForm(t, "photo", "photo.jpg", file, "id", newID(), "seen", "0")
	tran.send(http.MethodPost, link+"/photographs", kind, body.Bytes())
	tran.done()
	costa.get("/problems/" + problem)
	require.Len(t, costa.reply.at("problem.photos"), 1, "%s", costa.reply.raw)
	body, kind = multipartForm(t, "photo", "photo.jpg", file, "id", newID(), "seen", "0", "of", costa.person)
	tran.send(http.MethodPost, link+"/photographs", kind, body.Bytes())
	require.Equal(t, http.StatusNotFound, tran.reply.status, "of nothing but this problem")
	o.at("2026-01-13 09:30")
	tran.get(link)
	tran.post(link+"/work", object{"name": "E. Tran", "stage": "at-work", "order": "47960"}).done()
	costa.requireStands(two, "with-engineering", "")
	o.at("2026-01-13 11:00")
	tran.get(link)
	back := object{"id": newID(), "seen": tran.seen, "name": "E. Tran", "finding": "cover", "action": "replaced", "safety": "ok", "order": "47960"}
	tran.say(link+"/hand-back", back).done()
	costa.requireStands(two, "check-due", "return-checks")
	costa.sees("/problems/"+problem, "Handed back: non-stick cover", "by link, says E. Tran")

	size = o.Desk.Size()
	tran.browse("GET", link, "", nil)
	require.Equal(t, http.StatusGone, tran.reply.status)
	require.Contains(t, tran.readable(), "A link ends when the sealer is handed back, or after 14 days.")
	tran.post(link+"/seen", object{"name": "E. Tran"}).refused(http.StatusGone, "gone")
	tran.send("GET", "/seen/"+strings.Repeat("A", 43), "", nil)
	require.GreaterOrEqual(t, tran.reply.status, 400)
	require.Equal(t, size, o.Desk.Size())
}

func TestALinkEndsAfterFourteenDays(t *testing.T) {
	post := newMailbox(t)
	o := newOfficeBy(t, "2026-01-13 06:50", server.Config{PublicURL: officeURL, Mail: post.way})
	costa := o.begin("V. Costa")
	costa.hire("E. Tran", object{"mail": "e.tran@tide.example"}, "engineering")
	film := costa.addPouch("Paper/film", "paper-film")
	two := costa.addSealer("2", "bar-dial", nil)
	costa.approve(two, film, "6", "mark")
	costa.post("/sealers/"+two+"/bad-seals", object{"kind": "burn", "pouch": film}).done()
	link := linkOf(t, post.wait(1)[0])
	tran := o.stranger()
	o.at("2026-01-27 06:40")
	tran.sees(link, "Burn")
	o.at("2026-01-27 07:00")
	tran.browse("GET", link, "", nil)
	require.Equal(t, http.StatusGone, tran.reply.status)
}
