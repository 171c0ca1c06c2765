package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

var skillWords = map[record.Skill]string{record.ToCheck: "Checks", record.ToFix: "First-line fix"}

// trainingPage tells who is signed off for what, people by types of sealers.
type trainingPage struct {
	Page
	hidden
	Table  table
	Ask    bool
	CanAsk bool
	Shut   []row // who could not check any more if sign-offs were asked for
	Reason string
	Err    map[string]string
}

func (h *house) askTraining(c echo.Context) (*desk.TrainingView, error) {
	return h.desk.Training(caller(c))
}

func (h *house) drawTraining(c echo.Context, v *desk.TrainingView) error {
	return h.trainingPage(c, http.StatusOK, v, desk.AskTrainingIn{}, nil)
}

func (h *house) trainingAgain(c echo.Context, in desk.AskTrainingIn, err error) error {
	v, viewErr := h.askTraining(c)
	if viewErr != nil {
		return err
	}
	return h.trainingPage(c, status(err), v, in, err)
}

func (h *house) trainingPage(c echo.Context, code int, v *desk.TrainingView, in desk.AskTrainingIn, err error) error {
	p := trainingPage{Page: h.page(c, &v.Frame, "Training"), hidden: formFor(&v.Frame, in.From, ""), Ask: v.Ask,
		CanAsk: v.Can("AskTraining"), Reason: in.Reason, Err: fieldErrors(err)}
	p.Sub = "on " + dateText(v.Day)
	p.Table = table{Caption: "Who is signed off for what", Head: []head{{Text: "Person"}}}
	for _, t := range v.Types {
		p.Table.Head = append(p.Table.Head, head{Text: capital(typeWords[t])})
	}
	for i := range v.Rows {
		r := &v.Rows[i]
		name := cell{Text: r.Person.Text}
		if v.Can("ManagePeople") {
			name.Href = "/people/" + r.Person.ID.String() + "/training"
		}
		cells := []cell{name}
		for _, at := range r.Cells {
			cells = append(cells, trainingCell(at))
		}
		p.Table.Rows = append(p.Table.Rows, cells)
		if types := withoutCheck(v, r); len(types) > 0 && !v.Ask {
			p.Shut = append(p.Shut, row{Text: r.Person.Text, Note: strings.Join(types, ", ")})
		}
	}
	return h.render(c, code, "training", p)
}

// trainingCell says in words what stands at one type, so that it reads the same
// in black on paper.
func trainingCell(at desk.TrainingCell) cell {
	c := cell{Text: sentences(signedOffText("checks", at.Check), signedOffText("first-line fix", at.Fix))}
	switch {
	case at.Check.On != 0 && at.Fix.On != 0 && at.Check.Due == at.Fix.Due:
		c.Text = signedOffText("checks and first-line fix", at.Check)
	case at.Check.On == 0 && at.Fix.On == 0:
		return cell{Text: "no", Tone: "soft"}
	}
	if at.Check.Over || at.Fix.Over {
		c.Tone = "due"
	}
	return c
}

func signedOffText(what string, s desk.SignedOff) string {
	switch {
	case s.On == 0:
		return ""
	case s.Over:
		return what + ": ran out " + dateText(s.Due)
	case s.Due != 0:
		return what + " until " + dateText(s.Due)
	}
	return what
}

func withoutCheck(v *desk.TrainingView, r *desk.TrainingRow) (types []string) {
	for i, t := range v.Types {
		if at := r.Cells[i].Check; at.On == 0 || at.Over {
			types = append(types, typeWords[t])
		}
	}
	return types
}

func afterTraining(_ echo.Context, _ desk.AskTrainingIn, _ desk.Done) string {
	return "/training?said=saved"
}

// signOffPage is one person's sign-offs, and the form for a new one.
type signOffPage struct {
	Page
	New, End   hidden
	Base       string
	Rows       []row
	Types      []choice
	For        []choice
	Colleagues []choice
	In         desk.TrainedIn
	Shown      string
	Assessed   string
	EndTypes   []choice
	EndFor     []choice
	Why        string
	CanSign    bool
	Err        map[string]string
	EndErr     map[string]string
	Summary    *Summary
}

func (h *house) signOffs(c echo.Context) error {
	v, err := h.askPerson(c)
	if err != nil {
		return err
	}
	return h.signOffPage(c, http.StatusOK, v, desk.TrainedIn{On: v.Day, For: []record.Skill{record.ToCheck}}, desk.EndSignOffIn{}, nil)
}

func (h *house) signOffAgain(c echo.Context, in desk.TrainedIn, err error) error {
	v, viewErr := h.askPerson(c)
	if viewErr != nil {
		return err
	}
	return h.signOffPage(c, status(err), v, in, desk.EndSignOffIn{}, err)
}

func (h *house) endSignOffAgain(c echo.Context, in desk.EndSignOffIn, err error) error {
	v, viewErr := h.askPerson(c)
	if viewErr != nil {
		return err
	}
	return h.signOffPage(c, status(err), v, desk.TrainedIn{On: v.Day}, in, err)
}

func (h *house) signOffPage(c echo.Context, code int, v *desk.PersonView, in desk.TrainedIn, end desk.EndSignOffIn, err error) error {
	p := signOffPage{Page: h.page(c, &v.Frame, v.Person.Name), New: formFor(&v.Frame, in.From, "sign-off"),
		End: formFor(&v.Frame, end.From, "end"), Base: "/people/" + v.Person.ID.String() + "/training", In: in, Why: end.Why,
		Types:      chosen(choices(sealerTypes, capitalTypes()), texts(in.Types)...),
		For:        chosen(choices(record.Skills(), skillWords), texts(in.For)...),
		Colleagues: []choice{{Text: "Somebody else: type the name"}}, CanSign: v.Can("SignOff"), Summary: summaryOf(err)}
	p.Sub, p.Back = "training", &Link{Href: "/training", Text: "Training"}
	if p.Err = fieldErrors(err); !end.ID.IsZero() {
		p.Err, p.EndErr = nil, p.Err
	}
	for _, o := range v.Others {
		p.Colleagues = append(p.Colleagues, choice{Value: o.ID.String(), Text: o.Text})
	}
	p.Shown, p.Assessed = idText(in.ShownBy), idText(in.AssessedBy)
	for _, s := range v.SignOffs {
		r := row{Text: skillWords[s.For] + ": " + typeWords[s.Type], Note: sentences(
			listed("since "+dateText(s.On), with("until", dateText(s.Due))), unlessFalse(s.Over, "has run out"),
			listed(with("shown by", s.ShownBy), with("assessed by", s.AssessedBy), with("entered by", s.EnteredBy)), s.Note)}
		p.Rows = append(p.Rows, r)
	}
	p.EndTypes, p.EndFor = held(v, end)
	return h.render(c, code, "signoffs", p)
}

// held are the choices of what can be taken back.
func held(v *desk.PersonView, end desk.EndSignOffIn) (types, skills []choice) {
	for _, t := range choices(sealerTypes, capitalTypes()) {
		for _, s := range v.SignOffs {
			if string(s.Type) == t.Value {
				types = append(types, t)
				break
			}
		}
	}
	for _, f := range choices(record.Skills(), skillWords) {
		for _, s := range v.SignOffs {
			if string(s.For) == f.Value {
				skills = append(skills, f)
				break
			}
		}
	}
	return chosen(types, texts(end.Types)...), chosen(skills, texts(end.For)...)
}

func capitalTypes() map[record.SealerType]string {
	words := map[record.SealerType]string{}
	for t, w := range typeWords {
		words[t] = capital(w)
	}
	return words
}

func idText(id record.ID) string {
	if id.IsZero() {
		return ""
	}
	return id.String()
}

func afterSignOff[In any](c echo.Context, _ In, _ desk.Done) string {
	return "/people/" + c.Param("person") + "/training?said=saved"
}

// acceptPage lets a lead say why a check counts although its maker was not signed
// off.
type acceptPage struct {
	Page
	hidden
	Code    string
	Check   record.Seq
	Text    string
	Reason  string
	Err     map[string]string
	Summary *Summary
}

func (h *house) acceptForm(c echo.Context) error {
	return h.acceptPage(c, http.StatusOK, desk.AcceptCheckIn{}, nil)
}

func (h *house) acceptAgain(c echo.Context, in desk.AcceptCheckIn, err error) error {
	return h.acceptPage(c, status(err), in, err)
}

func (h *house) acceptPage(c echo.Context, code int, in desk.AcceptCheckIn, err error) error {
	v, viewErr := h.askSealer(c)
	if viewErr != nil {
		return viewErr
	}
	if len(v.Training.Waiting) == 0 {
		return fault.New(fault.Gone, "No check waits here any more.")
	}
	w := v.Training.Waiting[len(v.Training.Waiting)-1]
	p := acceptPage{Page: h.page(c, &v.Frame, "Let a check count"), hidden: formFor(&v.Frame, in.From, ""), Code: v.Code,
		Check: w.Seq, Text: w.By + " recorded a good check " + v.Clock(w.At) + " and is not signed off for this type of sealer.",
		Reason: in.Reason, Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	return h.render(c, code, "accept", p)
}

func afterAccept(_ echo.Context, in desk.AcceptCheckIn, done desk.Done) string {
	if done.Nothing != "" {
		return "/S/" + in.Code + "?said=pass&nothing=" + escape(done.Nothing)
	}
	return "/S/" + in.Code + "?said=pass"
}

// trainingCallouts say on a sealer's page what its reader has to know of training
// before testing anything.
func (p *sealerPage) trainingCallouts(v *desk.SealerView) {
	t := &v.Training
	if v.Phone != nil && v.Dept.AskTraining { // the page names nobody, so it can say no more
		p.Callouts = append(p.Callouts, Callout{Tone: "due", Lead: "Signed off for it?",
			Text: "A good check counts only from somebody who is signed off for this type of sealer (" + typeWords[v.Type] + "). A bad seal counts from everybody."})
	}
	if t.Until != 0 {
		p.Callouts = append(p.Callouts, Callout{Text: "Your sign-off for this type of sealer ends " + dateText(t.Until) + "."})
	}
	for _, w := range t.Waiting {
		p.Callouts = append(p.Callouts, Callout{Tone: "due", Lead: "A good check waits for you.",
			Text: w.By + ", " + v.Clock(w.At) + ": not signed off for this type of sealer.",
			Href: "/S/" + v.Code + "/accept", Link: "Look at it"})
	}
}

// untrained is what stands in the place of the check's buttons for somebody whose
// good check would not count.
func (p *sealerPage) untrained(v *desk.SealerView) {
	p.Callouts = append(p.Callouts, Callout{Tone: "due", Lead: "You are not signed off for this type of sealer",
		Text: "(" + typeWords[v.Type] + "). Ask " + orList(v.Training.Ask) + " to make the check."})
	p.Lines = []string{"A bad seal counts from everybody."}
	p.Actions = []Action{{Text: "Report a bad seal", Tone: "bad", Big: true, Href: "/S/" + v.Code + "/bad-seal?pouch=" + v.Pouch.ID.String()}}
}

// orList is "A, B or C"; of many, the first three.
func orList(names []string) string {
	if len(names) == 0 {
		return "a lead"
	}
	names = names[:min(3, len(names))]
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return names[0]
}

func trainingRows(v *desk.HandOverView) (rows []row) {
	for _, t := range v.Training {
		r := row{Text: t.Person.Text, Note: strings.ToLower(skillWords[t.For]) + ", " + typeWords[t.Type] + ": ends " + dateText(t.Due)}
		if t.Over {
			r.Note = strings.ToLower(skillWords[t.For]) + ", " + typeWords[t.Type] + ": ran out " + dateText(t.Due)
		}
		if v.Can("SignOff") {
			r.Href = "/people/" + t.Person.ID.String() + "/training"
		}
		rows = append(rows, r)
	}
	return rows
}

func waitingRows(v *desk.HandOverView) (rows []row) {
	for _, s := range v.Waiting {
		rows = append(rows, row{Text: "Sealer " + s.Text, Note: "by somebody who is not signed off for its type", Href: "/S/" + s.Code})
	}
	return rows
}
