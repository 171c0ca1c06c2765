package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// notHere tells who scans the label of a sealer that is gone what stands there
// now.
func (p *sealerPage) notHere(v *desk.SealerView) {
	w := &v.Where
	gone := Callout{Lead: "Not in use any more.", Text: "Its records stay.", Href: "/S/" + v.Code + "/history", Link: "Records of sealer " + v.Number}
	if w.Away != "" {
		gone.Lead, gone.Text = "It is at "+w.Away+".", "Its records stay here."
		if w.BackOn != 0 {
			gone.Text = "Expected back " + dateText(w.BackOn) + ". Its records stay here."
		}
	}
	p.Callouts = append(p.Callouts, gone)
	p.whereabouts(v)
	if w.StandIn == nil {
		p.Callouts = append(p.Callouts, Callout{Text: "No other sealer was named in its place.", Href: "/", Link: "Which sealer for which pouch"})
	}
	if w.Away != "" && v.Can("BringBack") {
		p.Actions = []Action{{Text: "It is back", Tone: "main", Href: "/S/" + v.Code + "/move"}}
	}
}

// whereabouts name the sealer that stands in, the one it stands in for, and an
// old card that may still hang. Never a setting: that is on each one's own label.
func (p *sealerPage) whereabouts(v *desk.SealerView) {
	w := &v.Where
	if w.StandIn != nil {
		p.Callouts = append(p.Callouts, Callout{Tone: "ready", Lead: "Sealer " + w.StandIn.Text + " stands in for it.", Text: "Scan its label."})
	}
	if w.StandFor != nil {
		p.Callouts = append(p.Callouts, Callout{Text: "Stands in for sealer " + w.StandFor.Text + ". Its packs carry its own number, " + v.Number + "."})
	}
	if w.OldCard != 0 && w.Away == "" && v.Standing.State != record.Retired && v.Can("TakeCardDown") {
		p.Callouts = append(p.Callouts, Callout{Tone: "due", Lead: "An old card may hang here.", Text: "What this page shows counts.",
			Href: "/S/" + v.Code + "/card", Link: "Take it down"})
	}
}

func standsFor(w *desk.Whereabouts) string {
	if w.StandFor == nil {
		return ""
	}
	return "sealer " + w.StandFor.Text
}

func awayText(w *desk.Whereabouts) string {
	return listed(w.Away, with("expected back", dateText(w.BackOn)))
}

func oldCardRows(v *desk.HandOverView) (rows []row) {
	for _, s := range v.OldCards {
		rows = append(rows, row{Text: "Sealer " + s.Text, Note: "its settings changed: take the old card down, print the new one",
			Href: "/S/" + s.Code + "/card"})
	}
	return rows
}

func afterBack(_ echo.Context, in desk.MoveIn, _ desk.Done) string {
	return "/S/" + in.Code + "?said=back"
}

func afterCard(_ echo.Context, in desk.CardDownIn, _ desk.Done) string {
	return "/S/" + in.Code + "/card?said=card-down"
}

var docWords = map[string]string{record.DocIFU: "IFU", record.DocCertificate: "certificate", record.DocPolicy: "policy",
	record.DocOther: "other"}

// documentsPage lists documents by title and where they are kept.
type documentsPage struct {
	Page
	hidden
	Rows    []documentRow
	In      desk.DocumentIn
	Kinds   []choice
	Action  string
	CanFile bool
	Err     map[string]string
	Summary *Summary
}

type documentRow struct {
	hidden
	Title, Note, Link, Sum string
	Seq                    record.Seq
}

func (h *house) askDocuments(c echo.Context) (*desk.DocumentsView, error) {
	code := c.Param("code")
	if code != "" {
		read, err := labels.ParseCode(code)
		if err != nil {
			return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
		}
		code = string(read)
	}
	return h.desk.Documents(caller(c), code)
}

func (h *house) drawDocuments(c echo.Context, v *desk.DocumentsView) error {
	return h.documentsPage(c, http.StatusOK, v, desk.DocumentIn{}, nil)
}

func (h *house) documentsAgain(c echo.Context, in desk.DocumentIn, err error) error {
	v, viewErr := h.askDocuments(c)
	if viewErr != nil {
		return err
	}
	return h.documentsPage(c, status(err), v, in, err)
}

func (h *house) documentsPage(c echo.Context, code int, v *desk.DocumentsView, in desk.DocumentIn, err error) error {
	p := documentsPage{Page: h.page(c, &v.Frame, "Documents"), hidden: formFor(&v.Frame, in.From, ""), In: in,
		Kinds: chosen(choices(record.Documents(), docWords), in.What), Action: "/documents", CanFile: v.Can("FileDocument"),
		Err: fieldErrors(err), Summary: summaryOf(err)}
	for i, k := range p.Kinds {
		p.Kinds[i].Text = capital(k.Text)
	}
	p.Sub, p.Back = "of the department", &Link{Href: "/set-up", Text: "Set-up"}
	if v.Sealer != nil {
		p.Sub, p.Action = "sealer "+v.Sealer.Text, "/S/"+v.Sealer.Code+"/documents"
		p.Back = &Link{Href: "/S/" + v.Sealer.Code + "/facts", Text: "Sealer " + v.Sealer.Text}
	}
	for i := range v.Documents {
		d := &v.Documents[i]
		p.Rows = append(p.Rows, documentRow{hidden: formFor(&v.Frame, desk.From{}, "end "+itoa(int(d.Seq))), Title: d.Title,
			Note: sentences(listed(docWords[d.What], with("revision", d.Revision), with("page", d.Page), dateText(d.Date)),
				with("good until", dateText(d.Until)), unlessFalse(d.Over, "it is good no longer")), Link: d.Link, Sum: d.SHA256, Seq: d.Seq})
	}
	return h.render(c, code, "documents", p)
}

func afterDocument[In any](c echo.Context, _ In, _ desk.Done) string {
	if code := c.Param("code"); code != "" {
		return "/S/" + code + "/documents?said=saved"
	}
	return "/documents?said=saved"
}
