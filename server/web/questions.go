package web

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/rules"
)

// questionsPage is the lead's alone: it asks, it does not accuse, and it goes into
// no record pack.
type questionsPage struct {
	Page
	Rows []row
	Days int
}

func (h *house) askQuestions(c echo.Context) (*desk.QuestionsView, error) {
	return h.desk.Questions(caller(c))
}

func (h *house) drawQuestions(c echo.Context, v *desk.QuestionsView) error {
	p := questionsPage{Page: h.page(c, &v.Frame, "Worth asking"), Days: v.Days}
	for i := range v.Questions {
		p.Rows = append(p.Rows, questionRow(&v.Frame, &v.Questions[i]))
	}
	return h.render(c, http.StatusOK, "questions", p)
}

func questionRow(f *desk.Frame, q *desk.QuestionRow) row {
	about := sealersLine(refTexts(q.About))
	r := row{Href: "/S/" + q.About[0].Code + "/history"}
	switch q.What {
	case rules.AskBurst:
		r.Text = f.Clock(q.From) + ": " + itoa(len(q.About)) + " sealers checked within " + itoa(int(q.To.Sub(q.From)/time.Second)) + " seconds"
		r.Note = capital(about) + ". Were all test pouches sealed and tested, or was it written down afterwards?"
	case rules.AskSame:
		r.Text = capital(about) + ": the same reading " + itoa(q.Times) + " times"
		r.Note = q.Same + " from " + f.Clock(q.From) + " to " + f.Clock(q.To) + ". What is measured scatters a little: was it read each time?"
	}
	return r
}

func refTexts(refs []desk.Ref) (texts []string) {
	for _, r := range refs {
		texts = append(texts, r.Text)
	}
	return texts
}
