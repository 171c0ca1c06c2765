package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
)

// checked is a ready office whose sealer 2 has passed its check.
func checked(t *testing.T) (o *office, v *visitor, code string) {
	o, v, code = ready(t)
	v.open("/S/" + code)
	v.press("Pass")
	v.sees("Ready")
	return o, v, code
}

// logging makes the department count packs at the sealer.
func (v *visitor) logging() {
	v.t.Helper()
	v.open("/set-up/department")
	v.press("Save", "pack_log", "true", "reason", "we count")
	require.Equal(v.t, http.StatusOK, v.status, v.text())
}

func TestSomethingElse(t *testing.T) {
	o, v, code := checked(t)
	v.logging()
	v.addPouch("Nonwoven", "nonwoven")
	v.open("/S/" + code + "/approve")
	v.press("Approve", "pouch", "Nonwoven", "value", "3", "ifu", "Pouch IFU", "ifu_page", "5")
	v.sees("Approved.")

	t.Run("power was off: a check is due, and the page says why", func(*testing.T) {
		v.open("/S/" + code + "/more")
		v.press("Record it", "what", "Power was off")
		v.sees("power was off")
	})
	t.Run("nothing chosen comes back as a form", func(*testing.T) {
		v.open("/S/" + code + "/more")
		v.press("Record it")
		v.refused(http.StatusUnprocessableEntity, "Something else")
	})
	t.Run("a time that has not come is refused", func(*testing.T) {
		v.open("/S/" + code + "/more")
		v.press("Record it", "what", "Power was off", "happened", "2026-05-04T23:00")
		require.Equal(t, http.StatusUnprocessableEntity, v.status, v.text())
	})
	t.Run("packs are counted, and none is not a number of packs", func(t *testing.T) {
		o.at("2026-05-04 06:40")
		v.open("/S/" + code + "?pouch=" + v.pouch(code, "Flat pouch"))
		v.press("Pass")
		o.at("2026-05-04 07:10")
		v.open("/S/" + code + "/more")
		v.press("Count them", "pouch", "Flat pouch", "count", "0", "load", "S2-7")
		v.refused(http.StatusUnprocessableEntity, "1 to 10,000")
		require.Equal(t, "S2-7", v.value("load"), "what was typed is kept")
		v.press("Count them", "count", "12")
		v.open("/S/" + code + "/history")
		v.sees("12 packs sealed", "load S2-7")
	})
	t.Run("a changeover takes Ready and says for which pouch it is being set", func(*testing.T) {
		v.open("/S/" + code + "/more")
		v.press("Change over to Nonwoven")
		v.sees("Not ready yet", "Nonwoven")
		v.open("/S/" + code + "?pouch=" + v.pouch(code, "Flat pouch"))
		v.sees("This sealer is set for Nonwoven.", "Do not seal Flat pouch here")
	})
	t.Run("one entry speaks for all sealers", func(*testing.T) {
		other := v.addSealer("4", "bar-dial")
		v.press("Approve", "pouch", "Flat pouch", "value", "6", "ifu_page", "9")
		v.open("/S/" + other)
		v.press("Pass")
		v.open("/S/" + code + "/more")
		v.press("Record it", "what", "Power was off", "all", "true")
		v.open("/S/" + other)
		v.sees("Not ready yet", "power was off")
	})
	t.Run("a day without use is one tap", func(*testing.T) {
		v.open("/S/" + code + "/more")
		v.press("Sealer is not used today")
		v.sees("Recorded as not used.")
	})
	t.Run("no such sealer, no such page", func(t *testing.T) {
		for _, path := range []string{"/S/NONSENSE/more", "/S/%00/more", "/S/" + code[:6] + "/more", "/S/../more"} {
			v.open(path)
			require.Equal(t, http.StatusNotFound, v.status, path)
		}
	})
}

// pouch is the id behind a pouch's name on a sealer.
func (v *visitor) pouch(code, name string) string {
	v.t.Helper()
	v.open("/S/" + code + "/late")
	l := v.find(func(n *html.Node) bool { return n.Data == "label" && text(n) == name })
	require.NotNil(v.t, l, "no pouch %s on %s", name, v.text())
	return attr(control(l, "pouch"), "value")
}

func TestHistoryPages(t *testing.T) {
	o, v, code := checked(t)
	o.at("2026-05-04 06:01")
	for range 45 {
		v.open("/S/" + code + "/more")
		v.press("Record it", "what", "Cleaned")
	}
	t.Run("the newest forty, then the older ones", func(t *testing.T) {
		v.open("/S/" + code + "/history")
		require.Equal(t, 40, strings.Count(v.raw, "<time"))
		v.follow("Older")
		v.sees("Good check")
	})
	t.Run("what is no record of it is no page", func(t *testing.T) {
		for _, before := range []string{"0", "999999", "-5", "x", "9223372036854775807", "1e9"} {
			v.open("/S/" + code + "/history?before=" + before)
			require.Contains(t, []int{http.StatusOK, http.StatusNotFound, http.StatusUnprocessableEntity}, v.status, before)
			require.Less(t, v.status, 500)
		}
	})
}

func TestPaper(t *testing.T) {
	_, v, code := checked(t)
	t.Run("a card has the setting, its approver, its date and the label", func(t *testing.T) {
		v.open("/S/" + code + "/card")
		v.sees("made 4 May 2026 for sealer 2", "Flat pouch", "6", "approved by V. Costa", code[:4]+"-"+code[4:], "EN 868-5")
		require.Contains(t, v.raw, "symbol-ink", "the square")
		require.Contains(t, v.raw, "print-head")
	})
	t.Run("a tag of a sealer that may seal warns on the screen", func(*testing.T) {
		v.open("/S/" + code + "/tag")
		v.sees("DO NOT SEAL", "Sealer 2 is not out of service.")
	})
	t.Run("a tag names the problem", func(t *testing.T) {
		v.open("/S/" + code + "/bad-seal")
		v.press("Report the bad seal", "kind", "Channel")
		v.open("/S/" + code + "/tag")
		v.sees("DO NOT SEAL", "Problem 1, since 06:00", "look for sealer 2 on the pack", "Isolate before service")
		require.NotContains(t, v.text(), "is not out of service")
	})
	t.Run("a downtime form has room to write and the setting", func(t *testing.T) {
		v.open("/S/" + code + "/downtime")
		v.sees("when phones or server do not work", "Flat pouch", "Set the dial to 6", "Hold 2 s", "both ends of the seal")
		rows := 0
		for n := range v.page.Descendants() {
			if n.Type == html.ElementNode && n.Data == "tr" {
				rows++
			}
		}
		require.GreaterOrEqual(t, rows, 13)
	})
}

func TestCheckFromPaper(t *testing.T) {
	o, v, code := ready(t)
	o.at("2026-05-04 08:20")
	t.Run("without a time it comes back", func(*testing.T) {
		v.open("/S/" + code + "/late")
		v.press("Enter it", "outcome", "Pass", "note", "in pencil")
		v.refused(http.StatusUnprocessableEntity, "Type the date and time that stand on the form.")
		require.Equal(t, "in pencil", v.value("note"))
	})
	t.Run("a time that has not come is refused", func(*testing.T) {
		v.press("Enter it", "outcome", "Pass", "happened", "2026-05-05T08:00")
		require.Equal(t, http.StatusUnprocessableEntity, v.status, v.text())
		v.press("Enter it", "outcome", "Pass", "happened", "yesterday")
		require.Equal(t, http.StatusUnprocessableEntity, v.status, v.text())
	})
	t.Run("what it was is needed", func(*testing.T) {
		v.open("/S/" + code + "/late")
		v.press("Enter it", "happened", "2026-05-04T06:36")
		v.refused(http.StatusUnprocessableEntity, "Say how the check ended")
	})
	t.Run("it is on record as late", func(*testing.T) {
		v.open("/S/" + code + "/late")
		v.press("Enter it", "outcome", "Pass", "happened", "2026-05-04T06:36")
		v.open("/S/" + code + "/history")
		v.sees("Good check", "06:36", "written down 08:20", "entered late")
	})
	t.Run("a fail on paper stops it", func(*testing.T) {
		v.open("/S/" + code + "/late")
		v.press("Enter it", "outcome", "Fail", "happened", "2026-05-04T07:10")
		v.open("/S/" + code)
		v.sees("Out of service")
	})
}

func TestPrintedLabels(t *testing.T) {
	_, v, code := checked(t)
	t.Run("a sheet, a picture, stickers", func(t *testing.T) {
		v.open("/labels")
		v.press("Make the PDF")
		require.True(t, strings.HasPrefix(v.raw, "%PDF"), v.raw[:min(200, len(v.raw))])
		require.Contains(t, v.header.Get("Content-Disposition"), "labels.pdf")
		v.open("/labels/" + code + "?dpi=203")
		require.True(t, strings.HasPrefix(v.raw, "\x89PNG"))
		v.open("/stickers")
		v.press("Make the PDF")
		require.True(t, strings.HasPrefix(v.raw, "%PDF"))
	})
	t.Run("what cannot be printed is said", func(t *testing.T) {
		for path, status := range map[string]int{
			"/labels/sheet.pdf":                                http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=none":                     http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&start=x":           http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&start=99":          http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&start=-1":          http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&x=wide":            http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&x=NaN":             http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&y=1e300":           http.StatusUnprocessableEntity,
			"/labels/sheet.pdf?sheet=a4-3x8&codes=NONSENSE":    http.StatusNotFound,
			"/labels/sheet.pdf?sheet=a4-3x8&codes=" + code[1:]: http.StatusNotFound,
			"/labels/" + code + "?dpi=0":                       http.StatusUnprocessableEntity,
			"/labels/" + code + "?dpi=100000":                  http.StatusUnprocessableEntity,
			"/labels/NONSENSE":                                 http.StatusNotFound,
			"/stickers/sheet.pdf?sheet=none":                   http.StatusUnprocessableEntity,
		} {
			v.open(path)
			require.Equal(t, status, v.status, "%s: %s", path, v.text())
		}
	})
}

func TestLetters(t *testing.T) {
	_, v, _ := checked(t)
	v.open("/letters")
	v.refused(http.StatusNotFound, "Mails are sent here, not kept.")
}

func TestBoardParts(t *testing.T) {
	_, v, _ := checked(t)
	t.Run("the part that an open board fetches is no whole page", func(t *testing.T) {
		v.open("/board/part")
		require.Equal(t, http.StatusOK, v.status)
		require.NotContains(t, v.raw, "<html")
		require.Contains(t, v.raw, "Flat pouch")
	})
	t.Run("a wall has nothing to tap", func(t *testing.T) {
		v.open("/?wall=1")
		require.Contains(t, v.raw, `data-scheme="board"`)
		require.Nil(t, v.find(func(n *html.Node) bool { return n.Data == "button" || n.Data == "summary" }))
	})
	t.Run("a scanned address leads to the sealer, nonsense to words", func(t *testing.T) {
		for _, typed := range []string{"", "x", "../../etc/passwd", "<script>alert(1)</script>", strings.Repeat("9", 5000), "\x00"} {
			v.open("/S?code=" + url.QueryEscape(typed))
			require.Less(t, v.status, 500, typed)
			require.NotContains(t, v.raw, "<script>alert")
		}
	})
}

func TestWhoOnlyReadsIsOfferedNothingToDo(t *testing.T) {
	o, lead, code := checked(t)
	pin := lead.addPerson("S. Wexcombe", "surveyor")
	s := o.phone(lead)
	s.signIn("S. Wexcombe", pin)
	s.press("Use this PIN", "pin", "739164")
	s.open("/S/" + code)
	s.sees("Ready", "Flat pouch", "6")
	require.NotContains(t, s.text(), "Report a bad seal")
	s.open("/S/" + code + "/more")
	s.sees("Records of this sealer")
	require.Nil(t, s.find(func(n *html.Node) bool { return n.Data == "button" && !strings.HasPrefix(text(n), "Go") && inMain(n) }),
		"no button that would be refused")
}

func inMain(n *html.Node) bool {
	for ; n != nil; n = n.Parent {
		if n.Data == "main" {
			return true
		}
	}
	return false
}
