package web

import (
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/fault"
)

var notSetUp = fault.New(fault.Unknown, "Nothing is set up here yet. Open the one-time link that the server printed when it started.")

// nav is the menu: what this person can do, and no more.
func nav(c echo.Context, f *desk.Frame) []Link {
	links := []Link{{Href: "/", Text: "Which sealer for which pouch"}, {Href: "/problems", Text: "Problems"},
		{Href: "/queue", Text: f.EngineeringWord() + "'s queue"}, {Href: "/hand-over", Text: "Hand-over"},
		{Href: "/due", Text: "Maintenance due"}, {Href: "/records", Text: "Records"}, {Href: "/answers", Text: "What surveyors ask"}}
	if f.Can("TakeFound") {
		links = append(links, Link{Href: "/found", Text: "Found elsewhere"})
	}
	if f.Can("AddSealer") {
		links = append(links, Link{Href: "/sealers", Text: "Sealers"}, Link{Href: "/pouches", Text: "Pouches"},
			Link{Href: "/set-up", Text: "Set-up"})
	}
	if f.Can("AcceptKept") {
		links = append(links, Link{Href: "/waiting", Text: "Sent by phones"})
	}
	if f.Can("Questions") {
		links = append(links, Link{Href: "/questions", Text: "Worth asking"})
	}
	if f.Can("ManagePeople") {
		links = append(links, Link{Href: "/people", Text: "People and devices"})
	}
	if f.Can("Training") {
		links = append(links, Link{Href: "/training", Text: "Training"})
	}
	if f.Can("AddSealer") {
		links = append(links, Link{Href: "/labels", Text: "Labels"})
	}
	if f.Can("PackLists") {
		links = append(links, Link{Href: "/pack-lists", Text: "Lists of packs"})
	}
	if f.Can("Outbox") {
		links = append(links, Link{Href: "/outbox", Text: "Messages"})
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
