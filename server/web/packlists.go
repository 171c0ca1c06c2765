package web

import (
	"errors"
	"io"
	"mime"
	"net/http"
	"reflect"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

// packListsPage takes a list of packs and shows those that came in.
type packListsPage struct {
	Page
	Can       bool
	List      *table
	FileError string
	Summary   *Summary
}

func (h *house) askPackLists(c echo.Context) (*desk.PackListsView, error) {
	return h.desk.PackLists(caller(c))
}

func (h *house) drawPackLists(c echo.Context, v *desk.PackListsView) error {
	return h.packListsPage(c, v, nil)
}

func (h *house) packListsPage(c echo.Context, v *desk.PackListsView, err error) error {
	p := packListsPage{Page: h.page(c, &v.Frame, "Lists of packs"), Can: v.Can("ImportPacks"), Summary: summaryOf(err),
		FileError: fieldError(err, "file")}
	p.Back = &Link{Href: "/set-up", Text: "Set-up"}
	t := &table{Caption: "What came in", Head: []head{{Text: "When"}, {Text: "By"}, {Text: "Packs", Num: true}, {Text: "Sealed"},
		{Text: "Sealers"}, {Text: "Its times"}, {Text: "Rows left out", Num: true}, {Text: ""}}}
	for _, l := range v.Lists {
		state := ""
		if l.Back != nil {
			state = "taken back"
		}
		t.Rows = append(t.Rows, []cell{{Text: dated(&v.Frame, l.At), Href: packListPath(l.Seq)}, {Text: l.By}, {Text: itoa(l.Packs)},
			{Text: dated(&v.Frame, l.First) + " to " + dated(&v.Frame, l.Last)}, {Text: joined(", ", l.Sealers)},
			{Text: whichWords[l.Columns.Which]}, {Text: itoa(l.LeftOut)}, {Text: state}})
	}
	if len(t.Rows) > 0 {
		p.List = t
	}
	return h.render(c, code(err), "packlists", p)
}

// postPackFile takes the file of a form, streamed: it is never whole in memory.
func (h *house) postPackFile(c echo.Context) error {
	file, err := filePart(c)
	if err == nil {
		var stored desk.PackFile
		if stored, err = h.desk.StorePackFile(c.Request().Context(), caller(c), file); err == nil {
			return c.Redirect(http.StatusSeeOther, "/pack-lists/new?file="+stored.SHA256)
		}
	}
	if fault.Is(err, fault.SignIn) || fault.Is(err, fault.Forbidden) {
		return err
	}
	v, viewErr := h.askPackLists(c)
	if viewErr != nil {
		return viewErr
	}
	return h.packListsPage(c, v, err)
}

// filePart finds the file in a form.
func filePart(c echo.Context) (io.Reader, error) {
	form, err := c.Request().MultipartReader()
	if err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "Send a form with a file in it.")
	}
	for {
		part, err := form.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return nil, fault.Field("file", "Choose a file.")
		case err != nil:
			return nil, fault.Wrap(err, fault.Invalid, "The file did not arrive whole. Send it again.")
		case part.FormName() == "file" && part.FileName() != "":
			return part, nil
		}
	}
}

// takePackFile binds the address of the JSON interface to which a list is sent as
// it is.
func (h *house) takePackFile(e *router) {
	e.offers = append(e.offers, offer{http.MethodPost, packFiles, reflect.TypeFor[delimited](), reflect.TypeFor[desk.PackFile]()})
	e.POST(apiRoot+packFiles, func(c echo.Context) error {
		kind, _, err := mime.ParseMediaType(c.Request().Header.Get("Content-Type"))
		if err != nil || kind != "text/csv" {
			return fault.New(fault.Unsupported, "Send the list as it is, with Content-Type text/csv.")
		}
		out, err := h.desk.StorePackFile(c.Request().Context(), caller(c), c.Request().Body)
		if err != nil {
			return err
		}
		return c.JSON(http.StatusCreated, out)
	})
}

// packListPage says how a stored list is to be read, and shows how it would be.
type packListPage struct {
	Page
	hidden
	V         *desk.PackPreview
	Columns   []columnChoice
	Orders    []choice
	Whiches   []choice
	Zones     []choice
	Encodings []choice
	Same      []sameSealer
	Callouts  []Callout
	Raw       *table
	Read      *table
	BadRows   *table
	Actions   []Action
	Summary   *Summary
	Err       map[string]string
}

// columnChoice asks which column is meant.
type columnChoice struct {
	Name, Label, Hint, Value, Error string
	Options                         []choice
}

// sameSealer asks which sealer a cell means.
type sameSealer struct {
	Cell, Label, Value string
	Options            []choice
}

func (h *house) previewPacks(c echo.Context, in desk.PackListIn) (*desk.PackPreview, error) {
	return h.desk.PreviewPacks(caller(c), in)
}

// packPreview draws the form for a list that was just stored, or again as stated
// so far.
func (h *house) packPreview(c echo.Context) error {
	in := desk.PackListIn{File: c.QueryParam("file")}
	if c.Request().Method == http.MethodPost {
		if err := readForm(c, &in); err != nil {
			return err
		}
	}
	return h.packListPage(c, in, nil)
}

func (h *house) importAgain(c echo.Context, in desk.PackListIn, err error) error {
	if in.File == "" || fault.Is(err, fault.Forbidden) {
		return err
	}
	return h.packListPage(c, in, err)
}

func afterImport(_ echo.Context, _ desk.PackListIn, out desk.Done) string {
	if out.Count == 0 {
		return "/pack-lists?said=listed-before"
	}
	return "/pack-lists?said=listed"
}

func (h *house) packListPage(c echo.Context, in desk.PackListIn, err error) error {
	asked := in.Order == "" && in.Which == "" // nothing was stated yet
	v, viewErr := h.desk.PreviewPacks(caller(c), in)
	if viewErr != nil {
		return viewErr
	}
	wrong := err
	if wrong == nil && v.Problem != "" && !asked {
		wrong = fault.Field(v.Field, "%s", v.Problem)
	}
	p := packListPage{Page: h.page(c, &v.Frame, "How to read this list"), hidden: formFor(&v.Frame, in.From, ""), V: v,
		Summary: summaryOf(wrong), Err: fieldErrors(wrong)}
	p.Back = &Link{Href: "/pack-lists", Text: "Lists of packs"}
	p.Columns = columnChoices(v, p.Err)
	p.Orders = chosen(orderChoices, v.In.Order)
	p.Whiches = chosen(choices(whiches, capitals(whichLong)), v.In.Which)
	zone := v.In.Zone
	if zone == "" {
		zone = v.Dept.Zone
	}
	p.Zones = chosen([]choice{{Value: v.Dept.Zone, Text: "Local time (" + v.Dept.Zone + ")"}, {Value: "UTC", Text: "UTC"}}, zone)
	p.Encodings = chosen(encodingChoices, v.In.Encoding)
	p.Same = sameSealers(v)
	p.Callouts = previewCallouts(v)
	p.Raw, p.Read, p.BadRows = rawTable(v), readTable(v), badTable(v)
	look := Action{Text: "Show how it is read", To: "/pack-lists/preview"}
	if v.Rows > 0 && v.Problem == "" {
		p.Actions = []Action{{Text: "Take " + packsText(v.Packs), Tone: "main", Big: true}, look}
	} else {
		look.Tone, look.Big = "main", true
		p.Actions = []Action{look}
	}
	return h.render(c, code(err), "packlist", p)
}
