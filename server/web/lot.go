package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// lotPage is a pouch lot on hold; on paper it is the complaint to the supplier.
type lotPage struct {
	Page
	V        *desk.LotView
	Callouts []Callout
	Facts    []fact
	Photos   []evidenceShot
	Reports  *table
	Sealers  *table
	Told     *table
	Links    []Action
}

func (h *house) askLot(c echo.Context) (*desk.LotView, error) {
	id, err := problemID(c)
	if err != nil {
		return nil, err
	}
	return h.desk.Lot(caller(c), id)
}

func (h *house) drawLot(c echo.Context, v *desk.LotView) error {
	p := lotPage{Page: h.page(c, &v.Frame, "Pouch lot "+v.Lot), V: v, Facts: lotFacts(v)}
	p.Sub = v.Pouch.Name
	p.Back = &Link{Href: problemPath(v.ID), Text: "Problem " + itoa(v.Ref.Number)}
	if v.Held {
		p.Callouts = append(p.Callouts, Callout{Tone: "out", Lead: "On hold on every sealer.",
			Text: "Put every pouch of the lot aside, opened boxes, too. Packs made of it are looked for by the lot on the pouch."})
	} else {
		p.Callouts = append(p.Callouts, Callout{Tone: "ready", Lead: "Released.", Text: "The pouch's page says why, and by whom."})
	}
	for i, shot := range v.Photos {
		s := evidenceShot{Src: "/photographs/" + shot.ID.String(), Alt: "photograph " + itoa(i+1) + " of the maker's seal", Width: shotWidth, Height: shotWidth}
		if shot.Width > 0 {
			s.Height = max(1, shotWidth*shot.Height/shot.Width)
		}
		if shot.X >= 0 {
			s.Cut = s.Src + "/cut-out?x=" + itoa(shot.X) + "&y=" + itoa(shot.Y)
		}
		p.Photos = append(p.Photos, s)
	}
	p.Reports, p.Sealers, p.Told = lotReports(v), lotSealers(v), toldRows(&v.Frame, v.Told)
	p.Links = []Action{{Text: "Hold list: settle packs, say who was told", Href: problemPath(v.ID) + "/hold"}}
	if v.Held && v.Can("ReleaseLot") {
		p.Links = append(p.Links, Action{Text: "Release the lot", Href: "/pouches/" + v.PouchID.String()})
	}
	return h.render(c, http.StatusOK, "lot", p)
}

// lotFacts are what a supplier asks first.
func lotFacts(v *desk.LotView) []fact {
	return known([]fact{
		{Term: "Pouch", Text: listed(v.Pouch.Name, materialWords[v.Pouch.Material])},
		{Term: "Lot", Text: v.Lot},
		{Term: "Maker's document", Text: documentText(v.Pouch.IFU)},
		{Term: "What was seen", Text: "maker's seal: " + faultAt(v.Ref.Kind, v.Ref.Place, v.Ref.AtCM)},
		{Term: "Found", Text: dated(&v.Frame, v.Ref.At)},
		{Term: "Pouches with it", Text: "at least " + itoa(max(1, v.Found))},
		{Term: "Lot first named here", Text: dated(&v.Frame, v.First)},
		{Term: "Packs of this pouch since", Text: lotPacks(v)},
	})
}

func lotPacks(v *desk.LotView) string {
	const look = ", so look for it on every pack"
	switch {
	case v.Packs == 0:
		return "none known: look for the lot on every pack"
	case v.Listed == 0:
		return "at least " + itoa(v.Packs) + "; the pack log knows no lots" + look
	case v.Listed == v.Packs:
		return "at least " + itoa(v.Packs) + ", from lists that came in; they know no lots" + look
	}
	return itoa(v.Packs-v.Listed) + " in the pack log and " + itoa(v.Listed) +
		" in lists that came in, some perhaps in both; neither knows lots" + look
}

func lotReports(v *desk.LotView) *table {
	t := &table{Caption: "Reports of this lot", Head: []head{{Text: "When"}, {Text: "What"}, {Text: "Where on the seal"}, {Text: "Found"}, {Text: "Note"}}}
	for _, l := range v.Reports {
		if b, ok := l.Body.(*record.BadSeal); ok {
			t.Rows = append(t.Rows, []cell{{Text: dated(&v.Frame, l.From)}, {Text: faultWords[b.Kind]}, {Text: placeWords[b.Place]},
				{Text: foundPlaces[b.Found]}, {Text: l.Note}})
		}
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

func lotSealers(v *desk.LotView) *table {
	t := &table{Caption: "Sealers that seal this pouch", Head: []head{{Text: "Sealer"}, {Text: "Packs since", Num: true}, {Text: "Checks with the lot", Num: true}}}
	for _, s := range v.Sealers {
		t.Rows = append(t.Rows, []cell{{Text: s.Number, Href: "/S/" + s.Code}, {Text: itoa(s.Packs)}, {Text: itoa(s.Checks)}})
	}
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}
