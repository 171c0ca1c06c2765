package web

import (
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// calibrateForm asks what a calibration measured, as found and as left.
type calibrateForm struct {
	Page
	hidden
	V           *desk.FactsView
	In          desk.CalibrationIn
	Found, Left cells
	LeftOpen    bool // something was typed as left
	Display     bool
	Switch      bool
	Scales      []choice
	Stated      []choice
	Sure        bool
	Due         string
	Actions     []Action
	Err         map[string]string
	Summary     *Summary
}

func (h *house) newCalibration(c echo.Context) error {
	return h.calibrateForm(c, http.StatusOK, desk.CalibrationIn{}, nil)
}

// moreCalibrationRows draws the form with more rows; nothing is recorded.
func (h *house) moreCalibrationRows(c echo.Context) error {
	var in desk.CalibrationIn
	if err := readForm(c, &in); err != nil {
		return err
	}
	return h.calibrateForm(c, http.StatusOK, in, nil)
}

func (h *house) calibrateAgain(c echo.Context, in desk.CalibrationIn, err error) error {
	return h.calibrateForm(c, status(err), in, err)
}

func (h *house) calibrateForm(c echo.Context, code int, in desk.CalibrationIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return viewErr
	}
	if !sealingTable(v) {
		return fault.New(fault.Unknown, "The control of this kind of sealer shows no degrees. "+
			"Tell the calibration as a task done, with its report.")
	}
	p := calibrateForm{Page: h.page(c, &v.Frame, "Calibration"), hidden: formFor(&v.Frame, in.From, ""), V: v, In: in,
		Display: v.Type != record.BarDial, Switch: v.Type == record.BarDial, Err: fieldErrors(err), Summary: summaryOf(err),
		Due: c.FormValue("due")}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/due", Text: "Due on sealer " + v.Number}
	p.Sure = in.Sure || p.Err["sure"] != ""
	p.Scales = chosen(scales, scaleChosen(&v.Frame, in.Scale))
	p.Stated = chosen(statements, orText(in.Stated, string(sealing.Accuracy)))
	rows := 3
	if asked := c.FormValue("rows"); asked != "" {
		rows = rowsAsked(asked)
	}
	p.Found = newCells("As found, before anything is adjusted", rows, badField(err), p.columns("", in.Position, in.FoundLeft,
		in.FoundMiddle, in.FoundRight, in.FoundWhole)...)
	p.Left = newCells("As left, after adjusting", rows, badField(err), p.columns("after_", in.AfterPosition, in.AfterLeft,
		in.AfterMiddle, in.AfterRight, in.AfterWhole)...)
	p.LeftOpen = typedRows(in.AfterPosition) > 0
	p.Actions = []Action{{Text: "Record the calibration", Tone: "main", Big: true},
		{Text: "More rows", Skip: true, To: "/S/" + v.Code + "/calibrate/rows", Name: "rows", Value: itoa(rows + moreRows)}}
	return h.render(c, code, "calibrate", p)
}

// columns are those of three places, or one for the whole bar.
func (p *calibrateForm) columns(prefix string, position, left, middle, right, whole []string) []column {
	first := column{name: prefix + "position", head: "Dial", values: position}
	if p.Display {
		first.head = "Display"
	}
	if p.V.Type == record.Continuous {
		return []column{first, {name: prefix + "whole", head: "Face", values: whole}}
	}
	return []column{first, {name: prefix + "left", head: "Left", values: left},
		{name: prefix + "middle", head: "Middle", values: middle}, {name: prefix + "right", head: "Right", values: right}}
}

func afterCalibration(c echo.Context, _ desk.CalibrationIn, done desk.Done) string {
	return "/S/" + c.Param("code") + "/calibrations/" + seqText(done.Seq) + "?said=saved"
}

// calibrationPage is a calibration and what it means, pouch by pouch.
type calibrationPage struct {
	Page
	V        *desk.CalibrationView
	Callouts []Callout
	Facts    []fact
	Pouches  table
	Measured table
	After    *table
	Links    []row
	Note     string
}

func (h *house) askCalibration(c echo.Context) (*desk.CalibrationView, error) {
	code, err := codeOf(c)
	if err != nil {
		return nil, err
	}
	seq, err := seqOf(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Calibration(caller(c), code, seq)
}

func (h *house) drawCalibration(c echo.Context, v *desk.CalibrationView) error {
	p := calibrationPage{Page: h.page(c, &v.Frame, "Calibration"), V: v, Note: v.Line.Note, Callouts: calibrationCallouts(v)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	p.Facts = known([]fact{{Term: "When", Text: v.Clock(v.Line.From)}, {Term: "By", Text: listed(v.Line.Who, v.Said.Firm)},
		{Term: "Reference", Text: instrumentText(v.Said.Instrument)}, {Term: "Report", Text: v.Said.Report},
		{Term: "Tolerance", Text: v.Tolerance}})
	p.Pouches = judgedTable(v)
	p.Measured = offTable("As found", v.Found)
	if len(v.Left) > 0 {
		after := offTable("As left", v.Left)
		p.After = &after
	}
	for i := range v.Pouches {
		if b := &v.Pouches[i]; b.Problem != nil {
			p.Links = append(p.Links, row{Text: "Problem " + itoa(b.Problem.Number), Note: "the packs of " + b.Name,
				Href: problemPath(b.Problem.ID)})
		}
	}
	if v.Table != record.None && v.Can("Settings") {
		p.Links = append(p.Links, row{Text: "What the new temperature table says of each pouch",
			Note: "it proposes; a lead decides", Href: "/S/" + v.Code + "/settings"})
	}
	return h.render(c, http.StatusOK, "calibration", p)
}

func calibrationCallouts(v *desk.CalibrationView) (list []Callout) {
	missed := false
	for i := range v.Pouches {
		b := &v.Pouches[i]
		switch {
		case b.Found == record.Missed:
			missed = true
			since := "all of them, because no good calibration is on record before"
			if b.Since != 0 {
				since = "those since the last good calibration, " + dated(&v.Frame, b.Since)
			}
			list = append(list, Callout{Tone: "out", Lead: b.Name + ": the window was missed as found.",
				Text: b.Face + " at the sealing face, window " + b.Window + ". Its packs were put on hold: " + since + "."})
		case b.Found == record.Unclear:
			list = append(list, Callout{Tone: "due", Lead: b.Name + ": within, but not surely.",
				Text: "Probability that the window was met: " + b.Confidence + ". A lead decides; nothing is on hold."})
		}
	}
	if !missed {
		text := "No pack has to be held for it."
		if v.Over {
			text = "The display was off by more than its tolerance, and the windows were kept all the same: no pack has to be held for it."
		}
		list = append(list, Callout{Tone: "ready", Lead: "No pouch's window was missed as found.", Text: text})
	}
	return append(list, Callout{Text: "The good checks of the days between tell of ways through the seal. A dye test sees no overheating."})
}

var foundVerdicts = map[record.Verdict]string{record.Kept: "kept", record.Missed: "missed", record.Unclear: "within, not surely",
	record.Unjudged: "cannot be told"}

var foundTones = map[record.Verdict]string{record.Kept: "ready", record.Missed: "out", record.Unclear: "due"}

func judgedTable(v *desk.CalibrationView) table {
	list := table{Caption: "What it means for each pouch", Head: []head{{Text: "Pouch"}, {Text: "Set to"}, {Text: "Window"},
		{Text: "As found"}, {Text: "Probability"}, {Text: "As left"}}}
	for i := range v.Pouches {
		b := &v.Pouches[i]
		left := cell{Text: listed(foundVerdicts[b.Left], b.LeftFace), Tone: foundTones[b.Left]}
		if b.Left == record.Unjudged && b.LeftFace == "" && b.Found != record.Unjudged {
			left = cell{Text: "this setting had ended"}
		}
		list.Rows = append(list.Rows, []cell{{Text: b.Name}, {Text: settingText(b.Setting.Value, b.Setting.Unit)},
			{Text: orText(b.Window, "none written down")},
			{Text: listed(foundVerdicts[b.Found], b.Face, placeWords[b.Place]), Tone: foundTones[b.Found]},
			{Text: orText(b.Confidence, "–")}, left})
	}
	return list
}

// offTable has a row for each position: what was measured at each place, and how
// much hotter that is than the display shows.
func offTable(caption string, rows []desk.OffRow) table {
	list := table{Caption: caption, Head: []head{{Text: "Position"}}}
	var places []record.Place
	var positions []string
	at := map[string]map[record.Place]string{}
	for _, r := range rows {
		if !slices.Contains(places, r.Place) {
			places = append(places, r.Place)
			list.Head = append(list.Head, head{Text: capital(orText(placeWords[r.Place], "whole bar"))})
		}
		if at[r.Position] == nil {
			positions, at[r.Position] = append(positions, r.Position), map[record.Place]string{}
		}
		text := r.Face
		if r.Off != "" {
			text += " (" + r.Off + ")"
		}
		at[r.Position][r.Place] = listed(at[r.Position][r.Place], text)
	}
	for _, p := range positions {
		line := []cell{{Text: p}}
		for _, place := range places {
			line = append(line, cell{Text: orText(at[p][place], "–")})
		}
		list.Rows = append(list.Rows, line)
	}
	return list
}
