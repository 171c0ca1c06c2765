package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

// addPouch and addSealer are the quickest way through the two forms.
func (v *visitor) addPouch(name, material string) {
	v.t.Helper()
	v.open("/pouches/new")
	v.press("Save", "name", name, "material", material, "ifu", "Pouch IFU", "ifu_page", "3")
	require.Equal(v.t, "/set-up", v.url.Path, v.text())
}

// addSealer returns the code of the new sealer's label.
func (v *visitor) addSealer(number, kind string) string {
	v.t.Helper()
	v.open("/sealers/new")
	v.press("Save", "number", number, "type", kind, "ifu", "Sealer manual")
	require.Regexp(v.t, `^/S/[0-9A-Z]{7}/approve$`, v.url.Path, v.text())
	return v.url.Path[3:10]
}

// ready is an office with one paper/film pouch and sealer 2 set at 6.
func ready(t *testing.T) (o *office, v *visitor, code string) {
	o = newOffice(t, "2026-05-04 06:00")
	v = o.begin("V. Costa")
	v.addPouch("Flat pouch", "paper-film")
	code = v.addSealer("2", "bar-dial")
	v.press("Approve", "value", "6", "hold", "2 s", "ifu_page", "9")
	v.sees("Approved.", "approved by V. Costa, 4 May 2026")
	return o, v, code
}

func TestPouches(t *testing.T) {
	o := newOffice(t, "2026-05-04 06:00")
	v := o.begin("V. Costa")

	t.Run("a name and what it is made of are enough", func(*testing.T) {
		v.open("/pouches/new")
		v.press("Save", "name", "Flat pouch", "material", "paper-film")
		v.open("/pouches")
		v.sees("Flat pouch", "no approved setting yet")
	})
	t.Run("a window with one end comes back as typed", func(t *testing.T) {
		v.follow("Flat pouch")
		v.follow("The IFU was revised")
		v.press("Save", "low", "165 °C", "reason", "read again")
		v.refused(http.StatusUnprocessableEntity, "both ends")
		require.Equal(t, "165 °C", v.value("low"))
	})
	t.Run("the window stands as in the IFU", func(*testing.T) {
		v.press("Save", "high", "200 °C")
		v.sees("165 °C to 200 °C")
	})
	t.Run("nobody elsewhere's pouch is told", func(t *testing.T) {
		v.open("/pouches/00000000000000000000000000000001")
		require.Equal(t, http.StatusNotFound, v.status)
	})
}

func TestSealerFacts(t *testing.T) {
	o, v, code := ready(t)

	t.Run("a number that is taken comes back", func(t *testing.T) {
		v.open("/sealers/new")
		v.press("Save", "number", "2", "type", "impulse", "asset", "20417")
		v.refused(http.StatusUnprocessableEntity, "Another sealer has this number")
		require.Equal(t, "20417", v.value("asset"))
	})
	t.Run("facts change, the type of an approved sealer does not", func(*testing.T) {
		v.open("/S/" + code + "/change")
		v.press("Save", "asset", "20417", "width_cm", "45")
		v.sees("20417", "45 cm", "bar with a dial")
	})
	t.Run("a replaced label still leads here and says so", func(t *testing.T) {
		v.open("/S/" + code + "/facts")
		v.sees("Label " + code[:4] + "-" + code[4:])
		v.follow("Change facts")
		v.press("Save", "new_label", "true", "reason", "worn")
		v.open("/S/" + code)
		v.sees("This label was replaced.")
		v.open("/S/" + code + "/facts")
		require.NotContains(t, v.text(), code[:4]+"-"+code[4:], "the new code stands there")
	})
	t.Run("a move asks for a check", func(*testing.T) {
		v.open("/S/" + code + "/move")
		v.press("Record the move", "place", "Bench 7")
		v.sees("Bench 7", "Check due")
	})
	t.Run("retiring wants a reason", func(*testing.T) {
		v.open("/S/" + code + "/move")
		v.press("Retire sealer 2", "why", " ")
		v.refused(http.StatusUnprocessableEntity, "Give the reason")
	})
	t.Run("the label of a retired sealer says so, its records stay", func(*testing.T) {
		v.press("Retire sealer 2", "why", "beyond repair")
		o.at("2026-05-04 07:00")
		v.open("/S/" + code)
		v.sees("Not in use any more.")
		v.open("/sealers")
		v.sees("Retired")
	})
}

func TestApprovals(t *testing.T) {
	_, v, code := ready(t)

	t.Run("the IFU of the last one is offered, its number is not", func(t *testing.T) {
		v.addSealer("3", "bar-dial")
		require.Equal(t, "Sealer manual", v.value("ifu"))
		require.Equal(t, "9", v.value("ifu_page"))
		require.Equal(t, "2 s", v.value("hold"))
		require.Empty(t, v.value("value"))
	})
	t.Run("a number that no dial shows comes back", func(t *testing.T) {
		v.press("Approve", "value", "six")
		v.refused(http.StatusUnprocessableEntity, "as the control shows it")
		require.Equal(t, "six", v.value("value"))
	})
	t.Run("every unit of a control can be approved", func(t *testing.T) {
		for number, c := range map[string][]string{"11": {"impulse", "s", "1.5"}, "12": {"impulse",
			"mark", "4"},
			"13": {"bar-display", "degF", "356"}, "14": {"bar-display", "degC", "180"},
			"15": {"continuous", "degC", "175"}} {
			v.addSealer(number, c[0])
			v.press("Approve", "unit", c[1], "value", c[2])
			require.Equal(t, "approved", v.url.Query().Get("said"), v.text())
		}
	})
	t.Run("ending one wants a reason, then nobody may seal", func(t *testing.T) {
		v.open("/S/" + code + "/approvals")
		v.follow("End this one")
		v.press("End the approval", "why", "wrong page read")
		v.sees("No approved setting")
		v.open("/S/" + code)
		v.sees("No approved setting")
	})
}
