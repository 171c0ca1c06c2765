package web

import (
	"strconv"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
)

// packListShown is a list that came in, how it was read, and the way to take it
// back if that was wrong.
type packListShown struct {
	Page
	hidden
	V       *desk.PackListView
	Facts   []fact
	Callout *Callout
	Can     bool
	Why     string
	Err     map[string]string
	Summary *Summary
}

func packListPath(list record.Seq) string { return "/pack-lists/" + strconv.FormatInt(int64(list), 10) }

func (h *house) askPackList(c echo.Context) (*desk.PackListView, error) {
	list, err := strconv.ParseInt(c.Param("list"), 10, 64)
	if err != nil {
		return nil, fault.New(fault.Unknown, "There is no such list here.")
	}
	return h.desk.PackList(caller(c), record.Seq(list))
}

func (h *house) drawPackList(c echo.Context, v *desk.PackListView) error {
	return h.packListShown(c, v, desk.UnlistIn{}, nil)
}

func (h *house) listBackAgain(c echo.Context, in desk.UnlistIn, err error) error {
	v, viewErr := h.askPackList(c)
	if viewErr != nil {
		return err
	}
	return h.packListShown(c, v, in, err)
}

func afterListBack(echo.Context, desk.UnlistIn, desk.Done) string { return "/pack-lists?said=unlisted" }

func (h *house) packListShown(c echo.Context, v *desk.PackListView, in desk.UnlistIn, err error) error {
	p := packListShown{Page: h.page(c, &v.Frame, "List of packs"), hidden: formFor(&v.Frame, in.From, ""), V: v, Why: in.Why,
		Can: v.Back == nil && v.Can("TakeListBack"), Err: fieldErrors(err), Summary: summaryOf(err)}
	p.Sub, p.Back = "came in "+dated(&v.Frame, v.At)+by(v.By), &Link{Href: "/pack-lists", Text: "Lists of packs"}
	if b := v.PackListRow.Back; b != nil {
		p.Callout = &Callout{Tone: "due", Lead: "Taken back: no hold list looks into it.",
			Text: sentences(b.By+", "+dated(&v.Frame, b.At), b.Why)}
	}
	k := &v.Columns
	p.Facts = known([]fact{
		{Term: "Packs", Text: packsText(v.Packs) + " in " + itoa(v.Rows) + " rows"},
		{Term: "Rows left out", Text: positive(v.LeftOut)},
		{Term: "Sealed", Text: dated(&v.Frame, v.First) + " to " + dated(&v.Frame, v.Last)},
		{Term: "Sealers", Text: joined(", ", v.Sealers)},
		{Term: "Its times are of", Text: whichWords[k.Which]},
		{Term: "Time zone", Text: k.Zone},
		{Term: "Column of the sealer", Text: k.Sealer},
		{Term: "Columns of the time", Text: listed(k.Date, k.Clock)},
		{Term: "Column of the pouch", Text: k.Pouch},
		{Term: "Column of the load", Text: k.Load},
		{Term: "Column of the pack", Text: k.Pack},
		{Term: "Column of the number of packs", Text: k.Count},
	})
	return h.render(c, code(err), "packlistshown", p)
}

// positive is a count, nothing for none.
func positive(n int) string {
	if n <= 0 {
		return ""
	}
	return itoa(n)
}
