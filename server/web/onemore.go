package web

import (
	"github.com/labstack/echo/v4"

	"tidemark/server/desk"
	"tidemark/server/record"
)

// A plan may ask for one more check on a sealer that is ready: before a
// changeover, or when sealing ends.

// mayCheckMore reports whether the plan asks for one and the person can make it.
func mayCheckMore(v *desk.SealerView) bool {
	return v.Unproved != nil && v.Can("Check") && !v.Training.Missing
}

// checkMore is the address at which the check is made though the sealer is ready.
func checkMore(v *desk.SealerView) string {
	return "/S/" + v.Code + "?pouch=" + v.Standing.Pouch.String() + "&check=now"
}

// checkingMore reports whether such a check is being made.
func checkingMore(c echo.Context, v *desk.SealerView) bool {
	return v.Standing.State == record.Ready && v.Pouch != nil && v.Pouch.Ready && v.Can("Check") && !v.Training.Missing &&
		(c.QueryParam("check") == "now" || c.FormValue("check") == "now")
}

// restsOn says what would be in doubt, should the next check fail.
func restsOn(v *desk.SealerView) string {
	since := "the check of " + v.Clock(v.Unproved.Since)
	if v.Unproved.Packs == 0 {
		return "What was sealed since rests on " + since + "."
	}
	return packsText(v.Unproved.Packs) + " rest on " + since + "."
}

// closing reminds of the closing check.
func closing(v *desk.SealerView) Callout {
	return Callout{Lead: "When sealing ends: the closing check.",
		Text: restsOn(v) + " If the next check fails, only what is sealed after the closing check is in doubt.",
		Href: checkMore(v), Link: "Make it now"}
}

// beforeChange asks for the check before a changeover.
func beforeChange(v *desk.SealerView) Callout {
	return Callout{Tone: "due", Lead: "First a check of " + pouchOf(v, v.Standing.Pouch) + ".",
		Text: "The plan asks for one before each changeover: afterwards nothing can prove what was sealed until now. " + restsOn(v),
		Href: checkMore(v), Link: "Make it now"}
}
