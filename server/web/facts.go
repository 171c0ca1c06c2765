package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

type factsPage struct {
	Page
	V       *desk.FactsView
	Facts   []fact
	CanEdit bool
	Print   []Link
}

// askFacts reads the code from the address.
func (h *house) askFacts(c echo.Context) (*desk.FactsView, error) {
	code, err := labels.ParseCode(c.Param("code"))
	if err != nil {
		return nil, fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	return h.desk.Facts(caller(c), string(code))
}

func (h *house) drawFacts(c echo.Context, v *desk.FactsView) error {
	p := factsPage{Page: h.page(c, &v.Frame, "Sealer "+v.Number), V: v, Facts: sealerFactList(v),
		CanEdit: v.Can("ChangeSealer") && v.Standing.State != record.Retired}
	p.Sub, p.Back = "facts", &Link{Href: "/S/" + v.Code, Text: "Sealer " + v.Number}
	base := "/S/" + v.Code
	p.Print = []Link{{Href: "/labels/" + v.Code, Text: "Label"}, {Href: base + "/card", Text: "Card"},
		{Href: base + "/tag", Text: "Tag"}, {Href: base + "/downtime", Text: "Downtime form"}}
	return h.render(c, http.StatusOK, "facts", p)
}

func sealerFactList(v *desk.FactsView) []fact {
	width := ""
	if v.WidthCM > 0 {
		width = itoa(v.WidthCM) + " cm"
	}
	list := []fact{{Term: "State", Text: stateWord(&v.Frame, v.Standing)}, {Term: "Label",
		Text: labels.Code(v.Code).Grouped()},
		{Term: "Here since", Text: dateText(v.Since)}}
	for _, f := range []fact{{Term: "Type", Text: typeWords[v.Type]}, {Term: "Stands at",
		Text: v.SealerFacts.Place},
		{Term: "Asset tag", Text: v.Asset}, {Term: "Serial number", Text: v.Serial}, {Term: "Model",
			Text: v.Model},
		{Term: "Sealing width", Text: width}, {Term: "Contract", Text: v.Contract},
		{Term: "Loaner", Text: unlessFalse(v.Loaner, "yes")}, {Term: "Stands in for", Text: standsFor(&v.Where)},
		{Term: "Where it is", Text: awayText(&v.Where)}, {Term: "IFU",
			Text: documentText(v.IFU)}} {
		if f.Text != "" {
			list = append(list, f)
		}
	}
	return list
}

func (h *house) changeSealer(c echo.Context) error {
	v, err := h.askFacts(c)
	if err != nil {
		return err
	}
	in := desk.SealerIn{Number: v.Number, Type: v.Type, Asset: v.Asset, Serial: v.Serial,
		Model: v.Model, Place: v.SealerFacts.Place,
		WidthCM: v.WidthCM, Contract: v.Contract, Loaner: v.Loaner, IFUIn: ifuOf(v.IFU)}
	width := ""
	if v.WidthCM > 0 {
		width = itoa(v.WidthCM)
	}
	return h.changeSealerForm(c, http.StatusOK, v, in, width, nil)
}

func (h *house) changeSealerAgain(c echo.Context, in desk.SealerIn, err error) error {
	v, viewErr := h.askFacts(c)
	if viewErr != nil {
		return err
	}
	return h.changeSealerForm(c, status(err), v, in, c.FormValue("width_cm"), err)
}

// changeSealerForm asks for the facts again. The type cannot change once a
// setting is approved, since its number would mean something else.
func (h *house) changeSealerForm(c echo.Context, code int, v *desk.FactsView, in desk.SealerIn,
	width string, err error) error {
	p := sealerForm{Page: h.page(c, &v.Frame, "Change sealer "+v.Number), hidden: formFor(&v.Frame,
		in.From, ""), In: in,
		Action: "/S/" + v.Code + "/facts", Width: width, MoreOpen: true, Err: fieldErrors(err),
		Summary: summaryOf(err)}
	p.Back = &Link{Href: p.Action, Text: "Sealer " + v.Number}
	if v.Card == record.None {
		p.Types = chosen(choices(sealerTypes, controlWords), string(in.Type))
	}
	return h.render(c, code, "sealerform", p)
}

func afterFacts[In any](c echo.Context, _ In, _ desk.Done) string {
	return "/S/" + c.Param("code") + "/facts?said=saved"
}
