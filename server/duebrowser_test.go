package server_test

import (
	"maps"
	"testing"

	"github.com/stretchr/testify/require"
)

// A due task on a phone: the label is scanned, what is due here stands below the
// next right action, and two taps tell that it was done; a check is due after it.
// Another task is told with a reading and a photograph.
func TestBrowserADueTaskIsDoneInTwoTaps(t *testing.T) {
	o := newOffice(t, "2026-01-13 04:10")
	chromium := newBrowser(o)
	costa := o.begin("V. Costa")
	costa.hire("L. Marsh", nil, "technician")
	film := costa.addPouch("Paper/film 20 cm", "paper-film")
	two := costa.addSealer("2", "bar-dial", object{"place": "Bench 2"})
	costa.approve(two, film, "7 1/2", "mark")
	plan := costa.post("/maintenance/bar-dial", object{"plan": -1}).done().whole("seq")
	// Fixed days from today on, as the IFU asks.
	task := func(name string, more object) object {
		in := object{"name": name, "plan": plan, "days": 14, "fixed": true, "from_day": "2026-01-13",
			"who": []string{"technician", "lead"}, "source": "IFU, page 12"}
		maps.Copy(in, more)
		return in
	}
	plan = costa.post("/maintenance/bar-dial/tasks/jaw", task("Clean the jaw", object{"recheck": true})).done().whole("seq")
	costa.post("/maintenance/bar-dial/tasks/seal-width", task("Measure the seal width", object{"reading": "Narrowest rib, mm"})).done()

	o.at("2026-01-13 07:05")
	marsh := chromium.phone()
	marsh.open("http://tide.test/S/" + two)
	marsh.letIn(costa)
	marsh.signIn("L. Marsh")
	marsh.tap("Pass")
	marsh.sees("Good check recorded", "Ready", "Maintenance due here", "Clean the jaw: due today", "and 1 other task")

	marsh.tap("Maintenance due here")
	marsh.sees("Switched off and cold", "Clean the jaw", "Measure the seal width")
	marsh.tap("Done")
	marsh.sees("Recorded as done", "Check due", "after maintenance", "last done 13 Jan, by L. Marsh")
	require.NotContains(t, marsh.ask(`[...document.querySelectorAll('form.card h2')].map(e => e.innerText)`), "Clean the jaw")

	marsh.tap("Add a reading, photograph or note")
	marsh.sees("Narrowest rib, mm", "every 14 days", "IFU, page 12")
	marsh.types("reading", "8.2")
	marsh.takes("../testdata/photos/channel.jpg")
	marsh.tap("Done")
	marsh.sees("Recorded as done", "The photograph is with it", "Nothing is due here")
	marsh.open("http://tide.test/due")
	marsh.sees("No task is due within a week", "more tasks not due within a week")
}
