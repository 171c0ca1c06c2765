package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type approvalsPage struct {
	Page
	V       *desk.FactsView
	Lines   []approvalLine
	Actions []Action
}

// approvalLine is a pouch's setting on the sealer, and what can be done about it.
type approvalLine struct {
	Block   *settingBlock
	Basis   string
	Actions []Action
}

// drawApprovals lists what is approved on a sealer and says what to do next: the
// next sealer without a setting, or its label.
func (h *house) drawApprovals(c echo.Context, v *desk.FactsView) error {
	p := approvalsPage{Page: h.page(c, &v.Frame, "Approved settings"), V: v}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	may := v.Can("Approve") && v.Standing.State != record.Retired
	var open []*desk.PouchSetting
	for i := range v.Settings {
		s := &v.Settings[i]
		if s.Setting == nil && s.Missing == "no-approval" {
			open = append(open, s)
			continue
		}
		line := approvalLine{Block: settingOf(v.SealerFacts, &s.PouchHere, nil)}
		if s.Setting != nil {
			line.Basis = listed(basisWords[s.Setting.Basis], documentText(s.Setting.IFU))
		}
		if may {
			query := "?pouch=" + s.ID.String()
			line.Actions = []Action{{Text: "Approve another", Half: true, Href: "/S/" + v.Code +
				"/approve" + query},
				{Text: "End this one", Tone: "bad", Half: true, Href: "/S/" + v.Code +
					"/approvals/end" + query}}
		}
		p.Lines = append(p.Lines, line)
	}
	if may {
		p.Actions = nextApproval(v, open)
	}
	return h.render(c, http.StatusOK, "approvals", p)
}

// nextApproval is the quickest way through a morning of approving.
func nextApproval(v *desk.FactsView, open []*desk.PouchSetting) []Action {
	var list []Action
	if len(open) == len(v.Settings) {
		return []Action{{Text: "Approve a setting", Tone: "main", Big: true, Href: "/S/" + v.Code +
			"/approve"}}
	}
	if len(v.Unapproved) > 0 {
		next, query := v.Unapproved[0], ""
		for _, s := range v.Settings {
			if s.Setting != nil {
				query = "?pouch=" + s.ID.String()
			}
		}
		list = append(list, Action{Text: "Next: sealer " + next.Text, Note: "approve a setting",
			Tone: "main", Big: true,
			Href: "/S/" + next.Code + "/approve" + query})
	} else {
		list = append(list, Action{Text: "Labels and cards", Tone: "main", Big: true,
			Href: "/labels"})
	}
	for _, s := range open {
		list = append(list, Action{Text: "Approve for " + s.Name, Href: "/S/" + v.Code +
			"/approve?pouch=" + s.ID.String()})
	}
	return append(list, Action{Text: "Check sealer " + v.Number, Href: "/S/" + v.Code})
}

type endPage struct {
	Page
	hidden
	V       *desk.FactsView
	In      desk.EndApprovalIn
	Block   *settingBlock
	Err     map[string]string
	Summary *Summary
}

func (h *house) endApproval(c echo.Context) error {
	pouch, _ := record.ParseID(c.QueryParam("pouch")) // none is refused below
	return h.endPage(c, http.StatusOK, desk.EndApprovalIn{Pouch: pouch}, nil)
}

func (h *house) endAgain(c echo.Context, in desk.EndApprovalIn, err error) error {
	return h.endPage(c, status(err), in, err)
}

func (h *house) endPage(c echo.Context, code int, in desk.EndApprovalIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return viewErr
	}
	line := settingOfPouch(v, in.Pouch)
	if line == nil {
		return fault.New(fault.Unknown, "There is no such pouch here.")
	}
	p := endPage{Page: h.page(c, &v.Frame, "End an approval"), hidden: formFor(&v.Frame, in.From,
		""), V: v, In: in,
		Block: settingOf(v.SealerFacts, &line.PouchHere, nil), Err: fieldErrors(err),
		Summary: summaryOf(err)}
	p.Sub, p.Back = "sealer "+v.Number, &Link{Href: "/S/" + v.Code + "/approvals",
		Text: "Approved settings"}
	return h.render(c, code, "endapproval", p)
}

func afterEnd(c echo.Context, _ desk.EndApprovalIn, _ desk.Done) string {
	return "/S/" + c.Param("code") + "/approvals?said=ended"
}
