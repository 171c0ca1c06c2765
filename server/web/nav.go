package web

import (
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

var notSetUp = fault.New(fault.Unknown, "Nothing is set up here yet. Open the one-time link that the server printed when it started.")

// nav is the menu: what this person can do, and no more. A lead has the pages that
// are not for every day behind Set-up.
func nav(c echo.Context, f *desk.Frame) []Link {
	links := []Link{{Href: "/", Text: "Which sealer for which pouch"}, {Href: "/problems", Text: "Problems"},
		{Href: "/queue", Text: f.EngineeringWord() + "'s queue"}, {Href: "/hand-over", Text: "Hand-over"},
		{Href: "/due", Text: "Maintenance due"}, {Href: "/records", Text: "Records"}, {Href: "/answers", Text: "What surveyors ask"}}
	links = append(links, may(f, []place{{"TakeFound", "/found", "Found elsewhere"}, {"AcceptKept", "/waiting", "Sent by phones"},
		{"Questions", "/questions", "Worth asking"}})...)
	if f.Can("AddSealer") {
		links = append(links, Link{Href: "/sealers", Text: "Sealers"}, Link{Href: "/set-up", Text: "Set-up and lists"})
	} else {
		links = append(links, may(f, departmentPlaces)...)
	}
	if f.Can("Erase") {
		links = append(links, Link{Href: "/care", Text: "Care of the records"})
	}
	if f.Demo {
		links = append(links, Link{Href: "/letters", Text: "Mails"})
	}
	links = append(links, Link{Href: "/pin", Text: "Change my PIN"}, Link{Href: "/sign-out", Text: "Sign out"})
	for i := range links {
		path := c.Request().URL.Path
		links[i].Here = path == links[i].Href || links[i].Href != "/" && strings.HasPrefix(path, links[i].Href+"/")
	}
	return links
}

// place is a page and what one must be able to do to find it in a list.
type place struct{ use, href, text string }

// departmentPlaces are the lists of a department that are not for every day.
var departmentPlaces = []place{
	{"AddSealer", "/sealers", "Sealers"},
	{"AddPouch", "/pouches", "Pouches"},
	{"OpenBox", "/boxes", "Boxes in use"},
	{"ManagePeople", "/people", "People and devices"},
	{"Training", "/training", "Training"},
	{"AddSealer", "/labels", "Labels"},
	{"AddSealer", "/stickers", "Stickers for packs"},
	{"AddSealer", "/import", "From a file"},
	{"PackLists", "/pack-lists", "Lists of packs"},
	{"Outbox", "/outbox", "Messages that went out or wait"},
	{"AddSealer", "/calendars", "Calendars of what is due"},
}

// may leaves the places that the person of a frame can use.
func may(f *desk.Frame, places []place) (links []Link) {
	for _, p := range places {
		if f.Can(p.use) {
			links = append(links, Link{Href: p.href, Text: p.text})
		}
	}
	return links
}

// ifMay is where a row leads for those who may go there, and nowhere for the others.
func ifMay(f *desk.Frame, what, href string) string {
	if f.Can(what) {
		return href
	}
	return ""
}
