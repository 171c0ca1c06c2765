package static_test

// A specimen is one page drawn with invented data: what it shows is what a page must cope with.
type specimen struct {
	page m
	main string
	data m
}

func specimens() map[string]specimen {
	return map[string]specimen{
		"due": sealerPage(
			m{"State": "due", "Word": "Check due",
				"Note": "new day · last good check yesterday 06:10"},
			`<div class="cols">{{template "setting" .Setting}}
			<form method="post" data-module="once" data-busy="Sending">
			<p>Seal a test pouch left, middle and right. Let the dye stand 5 s along each seal.</p>
			{{template "actions" .Actions}}</form></div>`,
			m{"Setting": dial, "Actions": []m{
				{"Text": "Pass", "Tone": "main", "Big": true, "Half": true, "Name": "outcome",
					"Value": "pass"},
				{"Text": "Fail", "Tone": "bad", "Big": true, "Half": true, "Name": "outcome",
					"Value": "fail"},
				{"Text": "Not ready, or test not valid", "Href": "/S/K7M2QXB/other"},
			}}),
		"ready": sealerPage(
			m{"State": "ready", "Word": "Ready",
				"Note": "checked 06:12, L. Marsh · next check tomorrow 05:00"},
			`{{template "setting" .Setting}}<p>Look at every seal.</p>{{template "actions" .Actions}}`,
			m{"Setting": dial, "Actions": []m{
				{"Text": "Report a bad seal", "Tone": "bad", "Big": true, "Href": "/S/K7M2QXB/bad"},
				{"Text": "Something else", "Href": "/S/K7M2QXB/more"},
			}}),
		"out": sealerPage(
			m{"State": "out", "Word": "Out of service. Do not seal.", "At": 58,
				"Note": "channel 09:41, D. Ferro · problem 118"},
			`<section class="card"><p class="soft">For paper/film use</p><h2>Sealer 4</h2>
			<p>ready since 06:20 · scan its label</p></section>
			{{template "callout" dict "Tone" "out" "Lead" "Hold at least 31 packs"
				"Text" "sealed here today 06:12 to 09:41. Look also for sticker 2 with today's date."}}
			{{template "callout" dict "Text"
				"Engineering: sent 09:41, not seen yet. Repackage in a new pouch."}}
			{{template "actions" .Actions}}`,
			m{"Actions": []m{
				{"Text": "Tagged and switched off", "Tone": "main", "Big": true},
				{"Text": "Hold list", "Href": "/problems/118/hold"},
			}}),
		"notyet": sealerPage(
			m{"State": "notyet", "Word": "Not ready yet", "Fill": 46,
				"Note": "cooling to 125 °C for nonwoven · check from 10:10, in 19 minutes"},
			`{{template "setting" .Setting}}{{template "actions" .Actions}}`,
			m{"Setting": display, "Actions": []m{{"Text": "Something else", "Href": "/S/x/more"}}}),
		"engineering": sealerPage(
			m{"State": "engineering", "Word": "With clinical engineering",
				"Note": "seen by P. Lindqvist 09:50 · order 47960, expected Thursday"},
			`{{template "facts" .Facts}}{{template "timeline" .Timeline}}`,
			m{"Facts": facts, "Timeline": timeline}),
		"retired": sealerPage(
			m{"State": "retired", "Word": "Retired", "Note": "since 4 March; sealer 8 stands here now"},
			`{{template "empty" dict "Title" "This sealer is gone" "Text" "Its records stay."
				"Href" "/sealers/7/records" "Link" "Records of sealer 7"}}`, nil),
		"missing": sealerPage(
			m{"State": "due", "Word": "Check due", "Note": "no check on record"},
			`{{template "setting" .Setting}}`,
			m{"Setting": m{"Kind": "gusseted", "Pouch": "Gusseted pouch",
				"Missing": "No approved setting for this pouch yet.",
				"Who":     "V. Costa or S. Adeyemi can approve one."}}),
		"pick": sealerPage(nil,
			`{{template "pick" .}}`,
			m{"Title": "Which pouch is in your hand?", "Items": []m{
				{"Href": "?pouch=1", "Kind": "paperfilm", "Pouch": "Paper/film pouch", "Note": "ready"},
				{"Href": "?pouch=2", "Kind": "nonwoven", "Pouch": "Nonwoven pouch",
					"Note": "after a changeover, about 40 minutes"},
				{"Href": "?pouch=3", "Kind": "gusseted", "Pouch": "Gusseted pouch", "Note": "check due"},
				{"Href": "?pouch=4", "Kind": "", "Pouch": "Plain roll", "Note": "not approved"},
			}}),
		"badseal": {
			page: layout(m{"Title": "A bad seal", "Sub": "sealer 2",
				"Back": m{"Href": "/S/K7M2QXB", "Text": "Sealer 2"},
				"At":   "05:58"}),
			main: `{{template "keeping" .Page}}<form class="grow" method="post" enctype="multipart/form-data"
				data-module="once" data-busy="Sending">
			{{template "hidden" .}}{{template "chips" .Kinds}}{{template "places" .Place}}
			{{template "photo" .Photo}}{{template "actions" .Actions}}</form>`,
			data: m{"ID": "0f", "Seen": 12, "Kinds": kinds, "Place": m{"Name": "place", "Value": "middle",
				"Legend": "Where, as you stand at the sealer?"},
				"Photo": photo, "Actions": []m{{"Text": "Take out of service", "Tone": "stop", "Big": true}}},
		},
		"errors": {
			page: layout(m{"Head": "Not sent: ", "Title": "Approved setting",
				"Sub": "sealer 2, paper/film"}),
			main: `{{template "summary" .Summary}}<form method="post">
			{{range .Fields}}{{template "field" .}}{{end}}{{template "select" .Basis}}
				{{template "area" .Note}}
			{{template "chips" .Kinds}}{{template "places" .Place}}{{template "photo" .Photo}}
			{{template "chip" dict "Kind" "checkbox" "Name" "sure" "Value" "yes" "Text"
				"I have the IFU at hand" "Checked" true}}
			{{template "actions" .Actions}}</form>`,
			data: formData(),
		},
		"signin": {
			page: m{"Title": "Who are you?", "Place": "Packing room",
				"Messages": []m{{"Tone": "ready", "Text": "Signed out."}}},
			main: `<form method="post">{{template "chips" .People}}{{template "pin" .Pin}}
			{{template "actions" .Actions}}</form>{{template "scan" .Scan}}`,
			data: m{"People": people, "Pin": m{"Name": "pin", "Label": "Your PIN"},
				"Actions": []m{{"Text": "Sign in", "Tone": "main"}},
				"Scan": m{"Name": "code", "Label": "Scan or type a label", "Action": "/S",
					"Hint": "its seven characters are enough"}},
		},
		"board": {
			page: layout(m{"Title": "Packing room, Monday morning", "Scheme": "board", "Nav": nil,
				"Who": ""}),
			main: `<p class="asof" data-line="up"><span data-up>live · 09:52 · day began 05:00</span>
				<span data-down hidden>no line · as of 09:52</span></p>
			<div class="flow">{{template "table" .Which}}{{template "table" .Needs}}<h2>All sealers</h2>
				{{template "tiles" .Tiles}}</div>`,
			data: m{"Which": which, "Needs": needs, "Tiles": tiles},
		},
		"problem": {
			page: layout(m{"Title": "Problem 118", "Sub": "sealer 2 · channel, middle",
				"Print": m{"Place": "Sterile processing, Packing room",
					"Made": "printed 13 January 2026, 09:52, by L. Marsh",
					"Mark": "record 1,204 · 9f3ac21b"},
				"Messages": []m{{"Tone": "due", "Text": "Sent to clinical engineering 09:41."}}}),
			main: `<div class="cols"><section class="flow"><h2>Next</h2>
			{{template "callout" dict "Tone" "due" "Lead" "Not seen yet." "Text"
				"Sent 09:41." "Href" "/problems/118/resend" "Link" "Send it again"}}
			{{template "actions" .Actions}}<h2>Facts</h2>{{template "facts" .Facts}}{{template "sign"
				"Lead"}}</section>
			<section class="flow"><h2>What happened</h2>{{template "timeline" .Timeline}}</section></div>
			{{template "table" .Which}}`,
			data: m{"Facts": facts, "Timeline": timeline, "Which": which,
				"Actions": []m{{"Text": "Open the hold list", "Note": "31 packs, 24 found", "Tone": "main",
					"Href": "/problems/118/hold"}}},
		},
		"setup": {
			page: layout(m{"Title": "Set-up", "Demo": true}),
			main: `{{template "steps" .Steps}}{{template "duerows" .Due}}{{template "rows" .Rows}}{{template "empty" dict "Title"
				"No open problem" "Text" "All six sealers are in service."}}
			{{template "pager" dict "Text" "21 to 40 of 118" "Older" "?before=78" "Newer" "?after=98"}}`,
			data: m{"Steps": steps, "Rows": rows, "Due": []m{{"Text": "Sealer 2", "Href": "/S/K7M2QXB/due",
				"Tasks": []m{{"Text": "Clean the jaw: overdue since 24 Nov", "Over": true}, {"Text": "Pad: due 3 Dec", "Over": false}}}}},
		},
		"numbers": {
			page: layout(m{"Title": "Temperature table", "Sub": "sealer 2"}),
			main: `<div class="card">{{template "plot" .Plot}}{{template "bar" .Bar}}</div>
				<form method="post">{{template "cells" .Cells}}</form>`,
			data: m{"Plot": aPlot, "Bar": aBar, "Cells": cells},
		},
		"fromtheright": {
			page: layout(m{"Title": "ماكينة اللحام 2", "Sub": "20417", "Lang": "ar", "Dir": "rtl",
				"Band": m{"State": "out", "Word": "خارج الخدمة", "At": 16, "Note": "09:41"}}),
			main: `{{template "setting" .Setting}}{{template "places" .Place}}
				{{template "timeline" .Timeline}}`,
			data: m{"Setting": dial, "Timeline": timeline,
				"Place": m{"Name": "place", "Value": "left", "Legend": "Where, as you stand at the sealer?"}},
		},
	}
}

// sealerPage is the page behind a label.
func sealerPage(band m, main string, data m) specimen {
	page := layout(m{"Title": "Sealer 2", "Sub": "bar · asset 20417",
		"Fresh": m{"URL": "/S/K7M2QXB/state", "Version": "1204", "At": "09:52"}})
	if band != nil {
		page["Band"] = band
	}
	return specimen{page: page, main: main, data: data}
}

func layout(over m) m {
	page := m{"Place": "Packing room", "Home": "/", "Who": "L. Marsh",
		"Nav": []m{
			{"Href": "/", "Text": "Sealers"}, {"Href": "/problems", "Text": "Problems", "Here": true},
			{"Href": "/records", "Text": "Records"}, {"Href": "/setup", "Text": "Set-up"},
			{"Href": "/me", "Text": "Sign out"}}}
	for k, v := range over {
		page[k] = v
	}
	return page
}

var (
	dial = m{"Kind": "paperfilm", "Pouch": "Paper/film pouch", "Lead": "Set the dial to",
		"Number": "7 1/2", "Hold": "Hold down until the light goes out",
		"By": "approved by S. Adeyemi, 12 Jan"}
	display = m{"Kind": "nonwoven", "Pouch": "Nonwoven pouch", "Lead": "The display must read",
		"Number": "125", "Unit": "°C", "Hold": "Hold for 2 s", "By": "approved by V. Costa, 9 Jan",
		"Until": "provisional until 14 Feb"}
	photo = m{"Name": "photo", "Label": "Take a photograph", "Album": "Choose one instead",
		"Hint": "Dark card behind, light from the side. No patient data in it.",
		"Done": "Photograph ready"}
	facts = []m{{"Term": "Asset tag", "Text": "20417"}, {"Term": "Type",
		"Text": "constant-heat bar, 45 cm"},
		{"Term": "Work order", "Text": "47960", "Href": "/problems/118"},
		{"Term": "Found", "Text": "26 cm from the left, as you stand"}}
	timeline = []m{
		{"When": "09:41", "Stamp": "2026-01-13T09:41:00-05:00", "Title": "Taken out of service",
			"Text": "channel, middle", "Who": "D. Ferro", "Tone": "out"},
		{"When": "09:50", "Stamp": "2026-01-13T09:50:00-05:00", "Title": "Seen", "Who": "P. Lindqvist"},
		{"When": "08:20", "Stamp": "2026-01-13T08:20:00-05:00", "Title": "Check, from paper",
			"Who": "B. Iyer for T. Osei", "Late": true},
		{"When": "14:20", "Stamp": "2026-01-13T14:20:00-05:00", "Title": "Ready again",
			"Text": "three return checks good", "Who": "L. Marsh", "Tone": "ready"}}
	kinds = m{"Name": "kind", "Legend": "What do you see?", "Kind": "radio", "Items": []m{
		{"Value": "channel", "Text": "Channel", "Checked": true}, {"Value": "unsealed",
			"Text": "Unsealed area"},
		{"Value": "weak", "Text": "Weak seal"}, {"Value": "burn", "Text": "Burn"},
		{"Value": "crease", "Text": "Crease"}, {"Value": "unknown", "Text": "Don't know"}},
		"More": []m{{"Value": "tear", "Text": "Tear"}, {"Value": "hole", "Text": "Hole"},
			{"Value": "narrow", "Text": "Narrow seal"}, {"Value": "dirt", "Text": "Dirt in seal"}}}
	people = m{"Name": "person", "Legend": "Tap your name", "Kind": "radio", "Stack": true,
		"Items": []m{
			{"Value": "1", "Text": "L. Marsh"}, {"Value": "2", "Text": "M. Ruiz", "Checked": true},
			{"Value": "3", "Text": "B. Iyer"}}}
	steps = []m{{"Text": "Department, time zone, day start", "State": "done"},
		{"Text": "First approved setting", "State": "now", "Href": "/setup/setting",
			"Note": "from the IFU, page 4"},
		{"Text": "First label", "State": "todo"}, {"Text": "First check", "State": "todo"}}
	rows = []m{
		{"Text": "Problem 118 · Sealer 2",
			"Note": "channel, 26 cm from the left; sent 09:41, not seen yet",
			"Href": "/problems/118", "Band": m{"State": "out", "Size": "row", "Word": "Out of service",
				"At": 58}},
		{"Text": "Sealer B", "Href": "/S/B", "Band": m{"State": "due", "Size": "row",
			"Word": "Check due", "Note": "used yesterday"}},
		{"Text": "Sealer 1", "Href": "/S/1", "Band": m{"State": "ready", "Size": "row",
			"Word": "Ready", "Note": "for paper/film"}},
		{"Text": "Sealer 5", "Band": m{"State": "notyet", "Size": "row", "Word": "Not ready yet",
			"Fill": 70}},
		{"Text": "Sealer 3", "Href": "/S/3", "Band": m{"State": "engineering", "Size": "row",
			"Word": "With clinical engineering"}},
		{"Text": "Sealer 7", "Band": m{"State": "retired", "Size": "row", "Word": "Retired"}}}
	tiles = []m{
		tile("1", "ready", "Ready"), tile("2", "out", "Out of service"), tile("3", "engineering",
			"With clinical engineering"),
		tile("4", "ready", "Ready"), tile("5", "notyet", "Not ready yet"), tile("A", "ready", "Ready"),
		tile("B", "due", "Check due"), tile("7", "retired", "Retired")}
	which = m{"Caption": "Which sealer for which pouch",
		"Head": []m{{"Text": "Pouch"}, {"Text": "Ready now"}, {"Text": "After a check"},
			{"Text": "After a changeover"}, {"Text": "Not possible"}},
		"Rows": [][]m{
			{{"Text": "Paper/film"}, {"Text": "1, 4, 5, A"}, {"Text": "B"}, {"Text": ""},
				{"Text": "2 out of service · 3 with engineering", "Tone": "soft"}},
			{{"Text": "Nonwoven"}, {"Text": "none", "Tone": "out"}, {"Text": ""},
				{"Text": "5 (about 40 min to cool)"},
				{"Text": "1, 2, 4, A, B not approved · 3 with engineering", "Tone": "soft"}}}}
	needs = m{"Caption": "Needs somebody",
		"Head": []m{{"Text": "Sealer"}, {"Text": "State"}, {"Text": "What"}, {"Text": "Who"},
			{"Text": "Packs", "Num": true}},
		"Rows": [][]m{
			{{"Text": "Sealer 2", "Href": "/S/2"}, {"Text": "Out of service", "Tone": "out"},
				{"Text": "channel 26 cm from the left"}, {"Text": "seen by P. Lindqvist 09:50",
					"Tone": "soft"}, {"Text": "31"}},
			{{"Text": "Sealer B", "Href": "/S/B"}, {"Text": "Check due", "Tone": "due"},
				{"Text": "used yesterday, not checked today"}, {"Text": "nobody yet", "Tone": "soft"},
				{"Text": ""}},
			{{"Text": "Sealer 4", "Href": "/S/4"}, {"Text": "Ready", "Tone": "ready"},
				{"Text": "calibration overdue since Friday; grace ends 30 March"},
				{"Text": "booked for Thursday", "Tone": "soft"}, {"Text": "0"}}}}
)

// aPlot has one of everything that a plot can have.
var aPlot = m{"Label": "Temperature by position", "W": 360, "H": 280, "Left": "48", "Right": "352",
	"Top": "44", "Bottom": "232",
	"Panes": []m{{"Y": "60", "H": "90", "Text": "Paper/film", "TextX": "54", "TextY": "76",
		"Anchor": "start"}},
	"Bands": []string{"M60 190L340 70L340 90L60 210Z"},
	"Lines": []m{{"D": "M60 200L340 80", "Kind": "a"}, {"D": "M60 210L340 90", "Kind": "b"}},
	"Dots": []m{{"X": "60", "Y": "200", "Kind": "a", "Low": "210", "High": "190"},
		{"X": "200", "Y": "150", "Kind": "b", "Low": ""}, {"X": "340", "Y": "90", "Kind": "c",
			"Low": ""}, {"X": "300", "Y": "120", "Kind": "d", "Low": ""}},
	"Marks": []m{{"X": "200", "Text": "7½"}},
	"Keys": []m{{"X": "58", "TextX": "70", "Text": "left", "Kind": "a"},
		{"X": "158", "TextX": "170", "Text": "middle", "Kind": "b"},
		{"X": "258", "TextX": "270", "Text": "right", "Kind": "c"}},
	"XTicks": []m{{"At": "60", "Text": "6"}, {"At": "340", "Text": "9"}},
	"YTicks": []m{{"At": "200", "Text": "170"}, {"At": "80", "Text": "190"}},
	"XTitle": "position of the control", "YTitle": "°C at the sealing face"}

var cells = m{"Caption": "What was measured", "Head": []string{"Dial", "Left", "Middle", "Look"},
	"Rows": [][]m{{
		{"Name": "position", "ID": "position-1", "Label": "position, row 1", "Value": "7 1/2"},
		{"Name": "left", "ID": "left-1", "Label": "left, row 1", "Value": "179.5"},
		{"Name": "middle", "ID": "middle-1", "Label": "middle, row 1", "Value": "1800", "Bad": true},
		{"Name": "look", "ID": "look-1", "Label": "look, row 1", "Value": "even",
			"Options": []m{{"Value": "", "Text": "–"}, {"Value": "even", "Text": "even"}}}}}}

func tile(name, state, word string) m {
	return m{"Name": "Sealer " + name, "Href": "/S/" + name, "Band": m{"State": state, "Word": word,
		"At": 58, "Fill": 46}}
}

func formData() m {
	kindsBad := m{"Name": "kind", "Legend": "What do you see?", "Kind": "checkbox",
		"Error": "Choose at least one.", "Items": kinds["Items"], "More": kinds["More"],
		"MoreOpen": true}
	photoBad := m{"Name": "photo", "Label": "Take a photograph", "Album": "Choose one instead",
		"Error": "This is not a photograph. Take it again, or send without one.",
		"Done":  "Photograph ready"}
	return m{
		"Summary": m{"Title": "Not sent yet. Please look at:", "Errors": []m{
			{"Field": "value", "Text": "Type the value as the dial shows it."},
			{"Field": "kind", "Text": "Choose at least one."},
			{"Text": "The sealer was taken out of service meanwhile."}}},
		"Fields": []m{
			{"Name": "value", "Label": "Dial", "Value": "",
				"Error": "Type the value as the dial shows it.",
				"Hint":  "7 1/2, or 180", "Must": true},
			{"Name": "shown", "Label": "Display", "Value": "356", "Unit": "°C", "Mode": "numeric"},
			{"Name": "on", "Label": "Date", "Value": "2026-01-13", "Type": "date"}},
		"Basis": m{"Name": "basis", "Label": "Basis", "Value": "ifu", "Options": []m{
			{"Value": "ifu", "Text": "The pouch's IFU"}, {"Value": "trial", "Text": "Ladder trial"}}},
		"Note": m{"Name": "note", "Label": "Note", "Value": "page 4 <b>",
			"Hint": "seen by leads only"},
		"Kinds": kindsBad, "Place": m{"Name": "place", "Value": "", "Legend": "Where?",
			"Error": "Choose a place."},
		"Photo": photoBad,
		"Actions": []m{{"Text": "Approve", "Tone": "main", "To": "/approve"}, {"Text": "Not now",
			"Skip": true}},
	}
}

// aBar has a crowd of faults, and one of which only the third is known.
var aBar = m{"Label": "Faults along the bar of sealer 2", "H": 106, "Y": 66,
	"Ticks":  []m{{"At": "16", "Text": "0"}, {"At": "125.3", "Text": "10"}, {"At": "234.7", "Text": "20"}, {"At": "344", "Text": "30"}},
	"Dots":   []m{{"X": "245.6", "Y": "38", "Kind": "a"}, {"X": "251", "Y": "26", "Kind": "a"}, {"X": "262", "Y": "38", "Kind": "a"}},
	"Crowd":  m{"X": "238", "W": "31", "Text": "3 of 3"},
	"Thirds": []m{{"At": "70.7", "Text": "left: 1"}}}
