package web

import (
	"strings"

	"tidemark/server/desk"
	"tidemark/server/record"
)

var whiches = []string{record.TimeSealed, record.TimePrinted, record.TimeSterilized}

var whichWords = map[string]string{record.TimeSealed: "sealing", record.TimePrinted: "printing", record.TimeSterilized: "sterilizing"}

var whichLong = map[string]string{record.TimeSealed: "when it was sealed", record.TimePrinted: "when its label was printed",
	record.TimeSterilized: "when its load was sterilized"}

var orderChoices = []choice{{Value: "ymd", Text: "2026-02-05: year first"}, {Value: "dmy", Text: "05.02.2026: day first"},
	{Value: "mdy", Text: "02/05/2026: month first"}}

var encodingChoices = []choice{{Value: "utf-8", Text: "UTF-8"}, {Value: "windows-1252", Text: "Windows-1252"},
	{Value: "iso-8859-1", Text: "ISO 8859-1"}, {Value: "utf-16", Text: "UTF-16"}}

func leftOutText(rows int) string {
	switch rows {
	case 0:
		return ""
	case 1:
		return "1 row left out"
	}
	return itoa(rows) + " rows left out"
}

// columnChoices ask for each thing in which column it stands.
func columnChoices(v *desk.PackPreview, wrong map[string]string) (list []columnChoice) {
	in := &v.In
	for _, of := range []struct {
		name, label, hint, value string
		must                     bool
	}{{"sealer_column", "Sealer", "its number, as on the pack", in.Sealer, true},
		{"date_column", "Date, or date and time", "", in.Date, true},
		{"clock_column", "Time of day", "if it has a column of its own", in.Clock, false},
		{"pouch_column", "Pouch", "", in.Pouch, false}, {"load_column", "Load", "", in.Load, false},
		{"pack_column", "The pack's own number", "tells packs apart that are in two lists", in.Pack, false},
		{"count_column", "How many packs", "without it a row is one pack", in.Count, false}} {
		c := columnChoice{Name: of.name, Label: of.label, Hint: of.hint, Value: of.value, Error: wrong[of.name]}
		if of.must {
			c.Options = append(c.Options, choice{Text: "choose"})
		} else {
			c.Options = append(c.Options, choice{Text: "not in this list"})
		}
		for _, name := range v.Header {
			c.Options = append(c.Options, choice{Value: name, Text: name})
		}
		list = append(list, c)
	}
	return list
}

// sameSealers ask which sealer is meant by cells that name none here.
func sameSealers(v *desk.PackPreview) (list []sameSealer) {
	options := []choice{{Text: "none of ours"}}
	for _, n := range v.Numbers {
		options = append(options, choice{Value: n, Text: "Sealer " + n})
	}
	for i, cell := range v.In.Cells {
		if i < len(v.In.Numbers) && v.In.Numbers[i] != "" {
			list = append(list, sameSealer{Cell: cell, Label: cell, Value: v.In.Numbers[i], Options: options})
		}
	}
	for _, s := range v.Strange {
		list = append(list, sameSealer{Cell: s.Cell, Label: s.Cell + ", " + rowsText(s.Rows), Options: options})
	}
	return list
}

func rowsText(n int) string {
	if n == 1 {
		return "1 row"
	}
	return itoa(n) + " rows"
}

func previewCallouts(v *desk.PackPreview) (list []Callout) {
	f := &v.Frame
	if v.Here != 0 {
		list = append(list, Callout{Tone: "due", Lead: "This very file came in before,", Text: dated(f, v.Here) + ". Taking it again changes nothing."})
	}
	if v.Rows > 0 {
		list = append(list, Callout{Tone: "ready", Lead: packsText(v.Packs) + " in " + rowsText(v.Rows) + ",",
			Text: "sealed from " + dated(f, v.From) + " to " + dated(f, v.To) + "."})
	}
	if v.Bad > 0 {
		list = append(list, Callout{Tone: "out", Lead: rowsText(v.Bad) + " cannot be read.",
			Text: "Their packs would be on no hold list. The lines and reasons stand below."})
	}
	return list
}

// rawTable are the first rows as they are.
func rawTable(v *desk.PackPreview) *table {
	t := &table{Caption: "The first rows, as they are"}
	for _, name := range v.Header {
		t.Head = append(t.Head, head{Text: name})
	}
	for _, row := range v.First {
		cells := make([]cell, len(t.Head))
		for i := range cells {
			if i < len(row) {
				cells[i].Text = shortened(row[i])
			}
		}
		t.Rows = append(t.Rows, cells)
	}
	if len(t.Rows) == 0 || len(t.Head) == 0 {
		return nil
	}
	return t
}

// shortened keeps a cell from filling the page.
func shortened(s string) string {
	if r := []rune(strings.TrimSpace(s)); len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return s
}

// readTable are the first rows as they are understood.
func readTable(v *desk.PackPreview) *table {
	f := &v.Frame
	t := &table{Caption: "The same rows, as they are read", Head: []head{{Text: "Line", Num: true}, {Text: "Sealer"}, {Text: "Sealed"}, {Text: "Pouch"},
		{Text: "Load"}, {Text: "Pack"}, {Text: "Packs", Num: true}}}
	for _, r := range v.Read {
		pouch := r.Pouch
		if pouch != "" && !r.Known {
			pouch += " (none of ours)"
		}
		t.Rows = append(t.Rows, []cell{{Text: itoa(r.Line)}, {Text: r.Sealer}, {Text: spread(f, r.From, r.To)}, {Text: shortened(pouch)},
			{Text: shortened(r.Load)}, {Text: shortened(r.Pack)}, {Text: itoa(r.Count)}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// spread is a span, a moment if it is less than a minute.
func spread(f *desk.Frame, from, to record.Time) string {
	if to-from < 60_000 {
		return dated(f, from)
	}
	return dated(f, from) + " to " + dated(f, to)
}

func badTable(v *desk.PackPreview) *table {
	t := &table{Caption: "Rows that cannot be read", Head: []head{{Text: "Line", Num: true}, {Text: "Why"}}}
	for _, b := range v.BadRows {
		t.Rows = append(t.Rows, []cell{{Text: itoa(b.Line)}, {Text: b.Why}})
	}
	if more := v.Bad - len(v.BadRows); more > 0 {
		t.Caption += ", the first " + itoa(len(v.BadRows)) + " of " + itoa(v.Bad)
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}
