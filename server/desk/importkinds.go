package desk

import (
	"context"
	"strconv"
	"strings"
	"time"

	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// importKind is what rows of a file can become.
type importKind struct {
	fields []importField
	plan   func(im *importing, line int, cells map[string]string) (*rowPlan, error)
}

// importField is something that a row tells. also are further names of its
// column: those of our own tables among them.
type importField struct {
	name string
	must bool
	also []string
}

// ImportKinds lists what can be taken from a file, in the order of doing it.
func ImportKinds() []string { return []string{"sealers", "pouches", "people", "past"} }

// ImportFields lists the names of what a row tells.
func ImportFields(what string) (names []string) {
	for _, f := range importKinds[what].fields {
		names = append(names, f.name)
	}
	return names
}

var importKinds = map[string]importKind{
	"sealers": {plan: planSealer, fields: []importField{
		{"number", true, []string{"sealer", "sealer number"}},
		{"type", true, nil},
		{"asset", false, []string{"asset tag"}},
		{"serial", false, []string{"serial number"}},
		{"model", false, nil},
		{"place", false, []string{"location"}},
		{"width_cm", false, []string{"width"}},
		{"contract", false, nil},
		{"loaner", false, nil},
		{"ifu", false, []string{"ifu_title", "manual"}},
		{"ifu_revision", false, []string{"revision"}},
		{"ifu_page", false, []string{"page"}},
	}},
	"pouches": {plan: planPouch, fields: []importField{
		{"name", true, []string{"pouch"}},
		{"material", true, nil},
		{"low", false, []string{"from"}},
		{"high", false, []string{"to"}},
		{"dwell", false, nil},
		{"seal_width", false, nil},
		{"ifu", false, []string{"ifu_title"}},
		{"ifu_revision", false, []string{"revision"}},
		{"ifu_page", false, []string{"page"}},
	}},
	"people": {plan: planPerson, fields: []importField{
		{"name", true, []string{"person"}},
		{"roles", true, []string{"role"}},
		{"mail", false, []string{"email", "mail address"}},
		{"first_line", false, nil},
	}},
	"past": {plan: planPast, fields: []importField{
		{"sealer", true, []string{"sealer number", "number"}},
		{"when", true, []string{"happened_from", "date"}},
		{"what", false, nil},
		{"outcome", false, []string{"result"}},
		{"pouch_name", false, []string{"pouch"}},
		{"done_by", false, []string{"who", "by"}},
		{"note", false, []string{"remark"}},
	}},
}

// typeCodes read the type of a sealer, by its code or in words.
var typeCodes = map[string]record.SealerType{
	"bardial": record.BarDial, "barwithadial": record.BarDial, "dial": record.BarDial, "constantheatbar": record.BarDial,
	"bardisplay": record.BarDisplay, "barwithadisplay": record.BarDisplay, "display": record.BarDisplay,
	"impulse": record.Impulse, "impulsebar": record.Impulse,
	"continuous": record.Continuous, "continuousfeed": record.Continuous, "rotary": record.Continuous,
}

var materialCodes = map[string]record.Material{
	"paperfilm": record.PaperFilm, "paper/film": record.PaperFilm, "paperplastic": record.PaperFilm, "paper/plastic": record.PaperFilm,
	"nonwoven": record.Nonwoven, "hdpenonwoven": record.Nonwoven,
	"gusseted": record.Gusseted, "gussetedpaper/film": record.Gusseted,
}

var roleCodes = map[string]record.Role{
	"technician": record.Technician, "lead": record.Lead, "qualitylead": record.Lead, "engineering": record.Engineering,
	"clinicalengineering": record.Engineering, "surveyor": record.Surveyor, "administrator": record.Administrator,
}

// yesOrNo reads a cell; empty is no.
func yesOrNo(field, cell string) (bool, error) {
	switch strings.ToLower(cell) {
	case "", "no", "n", "false", "0":
		return false, nil
	case "yes", "y", "true", "1", "x":
		return true, nil
	}
	return false, fault.Field(field, "Write yes or no.")
}

func planSealer(im *importing, line int, c map[string]string) (*rowPlan, error) {
	in := SealerIn{Number: c["number"], Type: typeCodes[plainName(c["type"])], Asset: c["asset"], Serial: c["serial"], Model: c["model"],
		Place: c["place"], Contract: c["contract"], IFUIn: IFUIn{Title: c["ifu"], Revision: c["ifu_revision"], Page: c["ifu_page"]}}
	var err error
	if in.Type == "" {
		return nil, fault.Field("type", "Write bar-dial, bar-display, impulse or continuous.")
	}
	if in.Loaner, err = yesOrNo("loaner", c["loaner"]); err != nil {
		return nil, err
	}
	if text := c["width_cm"]; text != "" {
		if in.WidthCM, err = strconv.Atoi(text); err != nil {
			return nil, fault.Field("width_cm", "Write whole centimetres.")
		}
	}
	facts := in.facts()
	return &rowPlan{key: facts.Number, subject: record.Subject{Type: record.Sealer, ID: im.id(line).Derive("sealer")},
		body: &record.SealerAdded{SealerFacts: facts},
		write: func(ctx context.Context, who Caller, from From) (string, error) {
			in.From = from
			_, err := im.d.AddSealer(ctx, who, in)
			return "", err
		}}, nil
}

func planPouch(im *importing, line int, c map[string]string) (*rowPlan, error) {
	in := PouchIn{Name: c["name"], Material: materialCodes[plainName(c["material"])], Low: c["low"], High: c["high"], Dwell: c["dwell"],
		SealWidth: c["seal_width"], IFUIn: IFUIn{Title: c["ifu"], Revision: c["ifu_revision"], Page: c["ifu_page"]}}
	if in.Material == "" {
		return nil, fault.Field("material", "Write paper-film, nonwoven or gusseted.")
	}
	return &rowPlan{key: strings.ToLower(in.Name), subject: record.Subject{Type: record.Pouch, ID: im.id(line).Derive("pouch")},
		body: &record.PouchAdded{PouchFacts: in.facts()},
		write: func(ctx context.Context, who Caller, from From) (string, error) {
			in.From = from
			_, err := im.d.AddPouch(ctx, who, in)
			return "", err
		}}, nil
}

func planPerson(im *importing, line int, c map[string]string) (*rowPlan, error) {
	in := PersonIn{Name: c["name"], Mail: c["mail"]}
	for _, word := range strings.FieldsFunc(c["roles"], func(r rune) bool { return strings.ContainsRune(",;/+", r) }) {
		role, ok := roleCodes[plainName(word)]
		if !ok {
			return nil, fault.Field("roles", "Write technician, lead, engineering, surveyor or administrator.")
		}
		in.Roles = append(in.Roles, role)
	}
	var err error
	if in.FirstLine, err = yesOrNo("first_line", c["first_line"]); err != nil {
		return nil, err
	}
	if im.named(in.Name) {
		return nil, fault.Field("name", "Somebody of this name is here already.")
	}
	return &rowPlan{key: strings.ToLower(in.Name), subject: personSubject(im.id(line).Derive("person")),
		body: &record.PersonAdded{Roles: in.Roles, FirstLine: in.FirstLine},
		write: func(ctx context.Context, who Caller, from From) (string, error) {
			in.From = from
			done, err := im.d.AddPerson(ctx, who, in)
			return done.PIN, err
		}}, nil
}

// named reports whether somebody who has not left carries a name.
func (im *importing) named(name string) (found bool) {
	im.d.ledger.View(func(v record.View) {
		for _, id := range im.dept.People {
			p := rules.GetPerson(v, id)
			found = found || p != nil && !p.Left && strings.EqualFold(im.d.reveal(p.Name), name)
		}
	})
	return found
}

// planPast makes a past record of a row. The sealer is the one that has the
// number now: the file knows no other.
func planPast(im *importing, line int, c map[string]string) (*rowPlan, error) {
	b := &record.Imported{What: strings.ToLower(c["what"]), Outcome: c["outcome"], Pouch: c["pouch_name"], File: im.sum, Row: line}
	if b.What == "" {
		b.What = im.in.AllAre
	}
	if b.What == "" {
		b.What = record.PastCheck
	}
	var sealer record.ID
	im.d.ledger.View(func(v record.View) { sealer = rules.GetSite(v).Numbers[strings.ToUpper(c["sealer"])] })
	if sealer.IsZero() {
		return nil, fault.Field("sealer", "No sealer here has this number. Add the sealers first.")
	}
	at, precision, err := im.pastTime(c["when"])
	if err != nil {
		return nil, err
	}
	b.Precision = precision
	subject := record.Subject{Type: record.Sealer, ID: sealer}
	return &rowPlan{subject: subject, body: b, at: at,
		write: func(ctx context.Context, who Caller, from From) (string, error) {
			from.Happened, from.HappenedTo, from.Note = at.From.Time().Format(time.RFC3339), at.To.Time().Format(time.RFC3339), c["note"]
			_, err := im.d.facts(ctx, who, "Import", from, subject, b, map[string]string{"done_by": c["done_by"]})
			return "", err
		}}, nil
}

// pastTime reads when something happened. A date alone is the operating day of
// that date, from its beginning to its end.
func (im *importing) pastTime(text string) (record.Span, string, error) {
	if day, err := record.ParseDate(text); err == nil {
		zone := rules.Zone(im.dept.Zone)
		from := rules.Begin(zone, im.dept.DayStart, day)
		return record.Span{From: from, To: rules.Begin(zone, im.dept.DayStart, day+1).Add(-time.Minute), Said: record.Typed}, record.ToTheDay, nil
	}
	text = strings.Replace(text, " ", "T", 1)
	for _, layout := range []string{"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(layout, text, rules.Zone(im.dept.Zone)); err == nil {
			at := record.TimeOf(t.Truncate(time.Second))
			return record.Span{From: at, To: at, Said: record.Typed}, record.ToTheMinute, nil
		}
	}
	return record.Span{}, "", fault.Field("when", "Write 2026-01-31 or 2026-01-31 06:05.")
}
