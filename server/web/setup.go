package web

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

type setUpPage struct {
	Page
	V      *desk.SetUpView
	Steps  []step // to the first Ready
	Later  []step // what can wait
	Places []Link // lists of the department
}

// step is a line of a checklist: see static/templates/partials/lists.html.
type step struct{ Text, State, Href, Note string }

func (h *house) askSetUp(c echo.Context) (*desk.SetUpView, error) {
	return h.desk.SetUp(caller(c))
}

// drawSetUp draws the checklist. The first step that is not done is the one to
// take now; what can wait is never it.
func (h *house) drawSetUp(c echo.Context, v *desk.SetUpView) error {
	p := setUpPage{Page: h.page(c, &v.Frame, "Set-up"), V: v, Steps: firstSteps(v),
		Later: laterSteps(v), Places: may(&v.Frame, departmentPlaces)}
	for i := range p.Steps {
		if p.Steps[i].State == "todo" {
			p.Steps[i].State = "now"
			break
		}
	}
	for _, steps := range [][]step{p.Steps, p.Later} {
		for i := range steps {
			if !opens(&v.Frame, steps[i].Href) {
				steps[i].Href = ""
			}
		}
	}
	return h.render(c, http.StatusOK, "setup", p)
}

// setUpUses are what one must be able to do to get on from a step of the checklist.
var setUpUses = []place{{use: "AddPouch", href: "/pouches"}, {use: "AddSealer", href: "/sealers"}, {use: "AddSealer", href: "/labels"},
	{use: "ManagePeople", href: "/people"}, {use: "SetRoute", href: "/set-up/route"}, {use: "ManagePoster", href: "/poster"},
	{use: "ChangeDepartment", href: "/set-up/department"}, {use: "SetPlan", href: "/set-up/plans"},
	{use: "SetMaintenance", href: "/set-up/maintenance"}}

// opens reports whether a step's page is one for this person.
func opens(f *desk.Frame, href string) bool {
	if strings.HasSuffix(href, "/approve") {
		return f.Can("Approve")
	}
	for _, p := range setUpUses {
		if strings.HasPrefix(href, p.href) {
			return f.Can(p.use)
		}
	}
	return true
}

func firstSteps(v *desk.SetUpView) []step {
	return []step{
		{Text: "Department", State: "done", Href: "/set-up/department", Note: v.Place},
		pouchStep(v), sealerStep(v), approvalStep(v), labelStep(v), checkStep(v),
	}
}

func pouchStep(v *desk.SetUpView) step {
	s := step{Text: "First pouch", State: done(v.Pouches > 0), Href: "/pouches/new",
		Note: "its name and its IFU, no more"}
	if v.Pouches > 0 {
		s.Text, s.Href, s.Note = "Pouches", "/pouches", itoa(v.Pouches)+" so far"
	}
	return s
}

func sealerStep(v *desk.SetUpView) step {
	s := step{Text: "First sealer", State: done(len(v.Sealers) > 0), Href: "/sealers/new",
		Note: "the number that stands on every pack, and how it is set"}
	if len(v.Sealers) > 0 {
		s.Text, s.Href, s.Note = "Sealers", "/sealers", itoa(len(v.Sealers))+" so far"
	}
	return s
}

func approvalStep(v *desk.SetUpView) step {
	s := step{Text: "Approved settings", State: "todo",
		Note: "from the IFU, as the control shows it"}
	var missing []string
	for _, o := range v.Sealers {
		if o.Approved {
			continue
		}
		if missing = append(missing, o.Number); s.Href == "" {
			s.Href = "/S/" + o.Code + "/approve"
		}
	}
	switch {
	case len(v.Sealers) == 0 || v.Pouches == 0:
		s.Href = ""
	case len(missing) == 0:
		s.State, s.Href, s.Note = "done", "/sealers", "every sealer has one"
	default:
		s.Note = "still to do: " + sealersLine(missing)
	}
	return s
}

// labelStep counts as done with the first check: printing leaves no record.
func labelStep(v *desk.SetUpView) step {
	s := step{Text: "Labels and cards", State: "todo", Note: "stick, then scan"}
	if approved, checked := progress(v); approved > 0 {
		s.Href, s.State = "/labels", done(checked > 0)
	}
	return s
}

func checkStep(v *desk.SetUpView) step {
	approved, checked := progress(v)
	s := step{Text: "First checks", State: done(checked > 0 && checked == approved),
		Note: "a good check makes a sealer ready"}
	var missing []string
	for _, o := range v.Sealers {
		if !o.Approved || o.Checked {
			continue
		}
		if missing = append(missing, o.Number); s.Href == "" {
			s.Href = "/S/" + o.Code
		}
	}
	if len(missing) > 0 {
		s.Note = "still to do: " + sealersLine(missing)
	}
	return s
}

func progress(v *desk.SetUpView) (approved, checked int) {
	for _, o := range v.Sealers {
		if o.Approved {
			approved++
		}
		if o.Checked {
			checked++
		}
	}
	return approved, checked
}

func laterSteps(v *desk.SetUpView) []step {
	later := []step{
		{Text: "People", State: done(v.People > 1), Href: "/people",
			Note: "each with a PIN of their own"},
		{Text: "Whom to tell", State: done(v.Route), Href: "/set-up/route",
			Note: "of a sealer out of service: who, in which order, when"},
		{Text: "Poster for bad packs", State: done(v.Poster), Href: "/poster",
			Note: "for operating rooms and stores, without an account"},
		{Text: "Devices", State: done(v.Devices > 1), Href: "/people#devices",
			Note: "phones, tablets and bench computers"},
	}
	for _, p := range v.Plans {
		note := "as set by the department"
		if !p.Own {
			note = "common practice so far: look at it once"
		}
		later = append(later, step{Text: "Check plan: " + typeWords[p.Type], State: done(p.Own),
			Href: "/set-up/plans/" + string(p.Type), Note: note})
		later = append(later, maintenanceStep(v, p.Type))
	}
	return append(later, step{Text: "What to do when no sealer is ready",
		State: done(v.Fallback != ""),
		Href:  "/set-up/department#fallback"})
}

func maintenanceStep(v *desk.SetUpView, t record.SealerType) step {
	_, own := v.Dept.Upkeep[t]
	note := "as set by the department"
	if !own {
		note = "none yet: start from what is common"
	}
	return step{Text: "Maintenance plan: " + typeWords[t], State: done(own), Href: "/set-up/maintenance/" + string(t), Note: note}
}

func done(yes bool) string {
	if yes {
		return "done"
	}
	return "todo"
}

func sealersLine(numbers []string) string {
	if len(numbers) == 1 {
		return "sealer " + numbers[0]
	}
	return "sealers " + strings.Join(numbers, ", ")
}
