package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestALabelWhoseSealerLeftSaysWhatStandsThereNow(t *testing.T) {
	_, v, code := ready(t)
	other := v.addSealer("L1", "bar-dial")
	v.open("/S/" + other + "/move")
	v.press("Record it", "for", "2", "stand_why", "element on order")
	require.Equal(t, http.StatusOK, v.status, v.text())
	v.sees("Stands in for", "sealer 2")

	v.open("/S/" + code + "/move")
	v.press("It left", "to", "the site at Cobbler Street", "back", "2026-06-01")
	require.Equal(t, http.StatusOK, v.status, v.text())
	v.open("/S/" + code)
	v.sees("Not here", "It is at the site at Cobbler Street.", "Expected back 1 Jun 2026", "Sealer L1 stands in for it.")
	require.NotContains(t, v.raw, `value="pass"`)
	v.open("/S/" + other)
	v.sees("Stands in for sealer 2. Its packs carry its own number, L1.")

	v.open("/S/" + code)
	v.follow("It is back")
	v.press("It is back", "place", "")
	v.refused(http.StatusUnprocessableEntity, "Say where it stands now")
	v.press("It is back", "place", "Bench 2")
	v.sees("Check due", "Recorded. A check is due.")

	v.open("/S/" + code + "/move")
	v.press("Retire sealer 2", "why", "worn out")
	v.open("/S/" + code)
	v.sees("Not in use any more.", "Sealer L1 stands in for it.")
}

func TestAnOldCardIsTakenDownInOneTap(t *testing.T) {
	_, v, code := ready(t)
	v.open("/hand-over")
	require.NotContains(t, v.raw, "Old cards")
	v.open("/S/" + code + "/approve")
	v.press("Approve", "value", "6 1/2", "hold", "2 s", "ifu_page", "9")
	v.open("/hand-over")
	v.sees("Old cards to take down")
	v.open("/S/" + code)
	v.sees("An old card may hang here.")
	v.follow("Take it down")
	v.sees("Card ", "Take an older card down")
	v.press("The old card is down")
	v.sees("Recorded: the old card is down.")
	v.open("/S/" + code)
	require.NotContains(t, v.raw, "An old card may hang")
	v.open("/hand-over")
	require.NotContains(t, v.raw, "Old cards")
}

func TestDocumentsOfASealerAndOfTheDepartment(t *testing.T) {
	_, v, code := ready(t)
	v.open("/S/" + code + "/facts")
	v.follow("Documents")
	v.press("Name it", "what", "certificate", "title", "Calibration of probe 3", "link", "javascript:alert(1)")
	v.refused(http.StatusUnprocessableEntity, "begins with https://")
	v.press("Name it", "link", "https://papers.example/c-118.pdf", "until", "2026-04-30")
	v.sees("Calibration of probe 3", "certificate", "good until 30 Apr 2026", "it is good no longer")
	v.open("/documents")
	v.sees("None named yet.")
	v.press("Name it", "what", "policy", "title", "Policy SP-07", "revision", "C")
	v.sees("Policy SP-07", "revision C")
	v.press("Take it off the list")
	v.sees("None named yet.")
}
