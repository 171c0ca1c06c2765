package web_test

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// windowed gives the flat pouch of a ready office its window.
func windowed(t *testing.T) (o *office, v *visitor, code string) {
	o, v, code = ready(t)
	v.revise("165 °C", "200 °C")
	return o, v, code
}

func (v *visitor) revise(low, high string) {
	v.t.Helper()
	v.open("/pouches")
	v.follow("Flat pouch")
	v.follow("The IFU was revised")
	v.press("Save", "low", low, "high", high, "reason", "new IFU")
	require.Equal(v.t, http.StatusOK, v.status, v.text())
}

// enterTable types a table of three places at three marks.
func (v *visitor) enterTable(code string, left ...string) {
	v.t.Helper()
	v.open("/S/" + code + "/tables/new")
	fields := []string{"position", "6", "position", "7 1/2", "position", "9", "known", "1.5 °C", "stated", "expanded",
		"instrument", "contact probe 3", "certificate", "C-118", "due", "2027-01-31"}
	for i, face := range left {
		fields = append(fields, "left", face, "middle", []string{"165.5", "180", "195"}[i], "right", []string{"165", "180.5", "195.5"}[i])
	}
	v.press("Record this table", fields...)
}

func TestTemperatureTable(t *testing.T) {
	_, v, code := windowed(t)
	t.Run("a number in the other scale is asked about and kept as typed", func(t *testing.T) {
		v.open("/S/" + code + "/tables/new")
		v.press("Record this table", "position", "6", "position", "9", "middle", "330", "middle", "385",
			"known", "1.5", "instrument", "probe")
		v.refused(http.StatusUnprocessableEntity, "330 °C is not a sealing temperature. Is 330 °F meant (166 °C)?")
		require.Equal(t, "385", v.cell("middle-2"))
		require.Equal(t, "probe", v.value("instrument"))
		v.sees("It is meant so")
	})
	t.Run("what is wrong is named at its cell", func(t *testing.T) {
		v.enterTable(code, "164", "warm", "194")
		v.refused(http.StatusUnprocessableEntity, "warm")
		bad := v.find(func(n *html.Node) bool { return attr(n, "id") == "left-2" })
		require.Equal(t, "true", attr(bad, "aria-invalid"))
		link := v.find(func(n *html.Node) bool { return attr(n, "href") == "#left-2" })
		require.NotNil(t, link, "the summary leads to the cell")
	})
	t.Run("more rows keep what was typed and record nothing", func(t *testing.T) {
		v.open("/S/" + code + "/tables/new")
		v.press("More rows", "position", "6", "left", "164")
		require.Equal(t, http.StatusOK, v.status)
		require.Equal(t, "164", v.cell("left-1"))
		require.NotNil(t, v.find(func(n *html.Node) bool { return attr(n, "id") == "left-12" }))
		v.open("/S/" + code + "/settings")
		v.sees("None yet. It tells what the positions of the control mean")
	})
	t.Run("a table is drawn, and every number stands beside the drawing", func(t *testing.T) {
		v.enterTable(code, "164", "179", "194")
		require.Equal(t, http.StatusOK, v.status, v.text())
		v.sees("with contact probe 3, certificate C-118, good until 31 Jan 2027", "A straight line through 3 positions.",
			"Expanded uncertainty 1.5 °C (k = 2)", "164 °C", "7½", "180.2 °C ± 3.5 °C")
		drawing := v.find(func(n *html.Node) bool { return attr(n, "class") == "plot" })
		require.Equal(t, "img", attr(drawing, "role"))
		require.Contains(t, text(drawing), "Flat pouch")
	})
	t.Run("it proposes, and technicians see that the old value waits for the lead", func(*testing.T) {
		v.open("/S/" + code + "/settings")
		v.sees("Do not use until the lead decides.", "At 6 the face is at 164.0 °C ± 1.5 °C (left)", "The table proposes:",
			"At 8 the face is at")
		v.open("/S/" + code)
		v.sees("Do not use until the lead decides.")
	})
}

// cell is what stands in a cell of a form's rows.
func (v *visitor) cell(id string) string {
	v.t.Helper()
	n := v.find(func(n *html.Node) bool { return attr(n, "id") == id })
	require.NotNil(v.t, n, id)
	return attr(n, "value")
}

// decided is the value that stands in the form of a decision.
func (v *visitor) decided() string { return v.cell("value") }

func TestWeighAndDecide(t *testing.T) {
	_, v, code := windowed(t)
	v.enterTable(code, "164", "179", "194")
	v.open("/S/" + code + "/settings")
	v.follow("Weigh and decide")
	t.Run("the proposal stands in the form, with what it means", func(t *testing.T) {
		require.Equal(t, "8", v.decided())
		require.Equal(t, "2 s", v.value("hold"))
		v.sees("outside the window by a new temperature table", "8 is inside as well.", "The approval rests on the temperature table")
	})
	t.Run("another value can be weighed and changes nothing", func(t *testing.T) {
		v.press("Weigh", "value", "7")
		v.sees("At 7 the face is at", "Inside its window.")
		require.Equal(t, "7", v.decided())
		v.press("Weigh", "value", "12")
		v.sees("12 lies outside what was measured, 6 to 9.")
	})
	t.Run("against the evidence it is asked once more", func(t *testing.T) {
		v.press("Approve", "value", "6")
		v.refused(http.StatusUnprocessableEntity, "with a probability of only")
		v.sees("Approve it all the same")
		require.Equal(t, "6", v.decided())
	})
	t.Run("approved, technicians see the one number", func(t *testing.T) {
		v.press("Approve", "value", "7 1/2")
		v.sees("Approved.", "7½", "from the temperature table")
		v.open("/S/" + code)
		v.sees("7½", "approved by V. Costa")
		require.NotContains(t, v.text(), "probability")
		v.open("/S/" + code + "/settings")
		v.sees("Inside its window.")
	})
	t.Run("a newer table makes the page stale", func(t *testing.T) {
		v.open("/S/" + code + "/settings")
		v.follow("Weigh and decide")
		evidence := v.value("evidence")
		w := *v
		w.enterTable(code, "165", "180", "195")
		v.press("Approve", "evidence", evidence)
		v.refused(http.StatusConflict, "A newer temperature table was entered meanwhile")
	})
}

func TestLadderTrial(t *testing.T) {
	_, v, code := ready(t)
	t.Run("the sheet prints its settings", func(*testing.T) {
		v.open("/S/" + code + "/ladders/sheet?first=4&last=8&step=1/2")
		v.sees("4 ", "4½", "8", "Peel: pass, fail")
		v.open("/S/" + code + "/ladders/sheet?first=4&last=80&step=1/2")
		v.sees("20 fit on the sheet")
	})
	rows := []string{"setting", "5", "setting", "6", "setting", "7", "setting", "8", "look", "open", "look", "even",
		"look", "even", "look", "burnt", "dye", "", "dye", "pass", "dye", "pass", "dye", "", "peel", "", "peel", "pass",
		"peel", "pass", "peel", ""}
	t.Run("a test that is missing is asked for", func(t *testing.T) {
		v.open("/S/" + code + "/ladders/new")
		v.press("Record this trial", "setting", "5", "setting", "6", "setting", "7", "look", "even", "look", "even", "look", "even")
		v.refused(http.StatusUnprocessableEntity, "dye, peel and look are all needed")
	})
	t.Run("it says what passed and proposes a step between", func(t *testing.T) {
		v.open("/S/" + code + "/ladders/new")
		v.press("Record this trial", rows...)
		v.sees("Passed at 6 to 7, burned or tore from 8; proposes 6.", "Flat pouch", "not tested")
		v.follow("Weigh and decide")
		v.sees("The approval rests on the ladder trial")
		require.Equal(t, "6", v.decided())
		v.press("Approve", "value", "7")
		v.sees("Approved.", "from a ladder trial")
	})
}

func TestReadingsAndValidations(t *testing.T) {
	o, v, code := windowed(t)
	reading := func(day, face string) {
		o.at(day + " 10:00")
		v.signIn("V. Costa", "481516")
		v.open("/S/" + code + "/readings/new")
		v.press("Record this reading", "setting", "6", "place", "middle", "face", face, "known", "1", "instrument", "probe")
	}
	t.Run("five readings say nothing of a trend, six do", func(*testing.T) {
		for i, face := range []string{"170", "171", "172", "173", "174"} {
			reading("2026-0"+string(rune('5'+i))+"-05", face)
		}
		v.sees("Too few readings to speak of a trend: one more is needed.")
		reading("2026-10-05", "175")
		v.sees("Drifting by +1.0 °C in 30 days")
	})
	t.Run("a reading outside the window stops the setting", func(*testing.T) {
		reading("2026-10-06", "164")
		v.sees("not to be used until the lead decides", "Do not use until the lead decides.")
	})
	t.Run("strength is shown with its bound", func(*testing.T) {
		v.open("/S/" + code + "/validation")
		v.press("Record this", "setting", "6", "strips", "2.1 2.3\n2.2")
		v.sees("Not shown: every strip was strong enough", "Mean 2.20", "3 strips are few")
	})
	t.Run("width is summed", func(*testing.T) {
		v.open("/S/" + code + "/validation?what=width")
		v.press("Record this", "setting", "6", "ribs", "2 2 1.5")
		v.sees("Too narrow: 5.5 mm in all.")
	})
	t.Run("seals that open in the sterilizer are told apart", func(t *testing.T) {
		v.open("/S/" + code + "/validation?what=sterilized")
		v.press("Record this", "setting", "6", "process", "steam", "before", "10", "before_good", "10", "after", "x")
		v.refused(http.StatusUnprocessableEntity, "could not be read")
		require.Equal(t, "10", v.value("before_good"))
		v.press("Record this", "after", "10", "after_good", "0")
		v.sees("Good before sterilizing, not after.")
	})
}

func TestSettingsAreTheLeadsAndInTheJSON(t *testing.T) {
	_, v, code := windowed(t)
	v.enterTable(code, "164", "179", "194")
	var view struct {
		Pouches []struct {
			Proposed struct {
				Position, Verdict, Sentence string
			}
		}
	}
	v.open("/api/v1/sealers/" + code + "/settings")
	require.NoError(t, json.Unmarshal([]byte(v.raw), &view))
	require.Equal(t, "8", view.Pouches[0].Proposed.Position)
	require.Equal(t, "proposed", view.Pouches[0].Proposed.Verdict)
	require.NotEmpty(t, view.Pouches[0].Proposed.Sentence)
	for _, path := range []string{"/tables/99", "/tables/x", "/ladders/99", "/settings/00000000000000000000000000000001", "/settings/1"} {
		v.open("/S/" + code + path)
		require.Equal(t, http.StatusNotFound, v.status, path)
	}
}
