package web

import "github.com/labstack/echo/v4"

// said turns the codes that a redirect carries into messages. A code that is not
// here says nothing, so an address can never put words on a page.
func said(c echo.Context) []Message {
	var list []Message
	code := c.QueryParam("said")
	m, ok := saidWords[code]
	if !ok {
		m, ok = saidOfPost[code]
	}
	if ok && c.QueryParam("nothing") == "" {
		list = append(list, m)
	}
	if m, ok := nothingWords[c.QueryParam("nothing")]; ok {
		list = append(list, m)
	}
	if m, ok := photoWords[c.QueryParam("photo")]; ok {
		list = append(list, m)
	}
	return list
}

var saidWords = map[string]Message{
	"removed":    {"", "Removed for good. The records stay."},
	"clock":      {"ready", "The clock counts as right from now on."},
	"corrected":  {"", "Corrected. The entry stays beside it."},
	"taken-back": {"", "Taken back. It does not count any more."},
	"asked-back": {"due", "Asked to take it back. A second person has to agree on this page."},
	"pass":       {"ready", "Good check recorded."},
	"fail":       {"out", "Recorded. The sealer is out of service: tag it and switch it off."},
	"not-ready":  {"due", "Recorded as not ready. No fail was counted."},
	"not-valid":  {"due", "Recorded. Test two fresh pouches; both must be good."},
	"bad-seal":   {"out", "Recorded. Thank you for stopping."},
	"changeover": {"due", "Changeover recorded."},
	"disturbed":  {"due", "Recorded. A check is due."},
	"not-used":   {"ready", "Recorded as not used."},
	"unready":    {"out", "The sealer was not ready for these packs then: they are on hold. Repackage them; nobody is blamed."},
	"packs":      {"ready", "Packs counted."},
	"tagged":     {"ready", "Tagged and switched off. Thank you."},
	"saved":      {"ready", "Recorded."},
	"doubted":    {"out", "Recorded. An approved setting lies outside its window: not to be used until the lead decides."},

	"assessed":      {"due", "Recorded, the first of two names. Another person confirms it."},
	"task-done":     {"ready", "Recorded as done. Thank you."},
	"seen":          {"ready", "Recorded: seen. The department knows."},
	"fixed":         {"due", "Recorded. Return checks are next."},
	"handed-back":   {"ready", "Handed back. Sterile processing makes the return checks."},
	"packs-ended":   {"ready", "Recorded for these packs."},
	"located":       {"ready", "Recorded: kept aside there. They have no end yet."},
	"listed":        {"ready", "The list is in. Hold lists have its packs."},
	"unlisted":      {"due", "The list is taken back. No hold list looks into it."},
	"listed-before": {"due", "This very file came in before. Nothing was changed."},
	"told":          {"ready", "Recorded: told."},
	"window":        {"ready", "Recorded. The hold list is drawn anew."},
	"settled":       {"ready", "Packs settled."},
	"back":          {"due", "Recorded. A check is due."},
	"card-down":     {"ready", "Recorded: the old card is down."},
	"closed":        {"ready", "Problem closed."},

	"taken":    {"ready", "Taken: it is on record, in your name for whoever made it."},
	"left-out": {"ready", "Left out. The reason is on record."},

	"approved":   {"ready", "Approved. Technicians see it from now on; a check is due."},
	"ended":      {"due", "The approval has ended. Nobody may seal this pouch here."},
	"opened":     {"ready", "The new box is in use. Checks carry its lot."},
	"released":   {"ready", "The lot is released."},
	"shut-out":   {"ready", "The device is shut out."},
	"signed-out": {"ready", "Signed out."},
	"pin":        {"ready", "Your new PIN counts from now on."},
}

var nothingWords = map[string]Message{
	"doubtful-time":     {"due", "Kept on record. The time is doubtful, so it gives no readiness: test again."},
	"not-confirmed":     {"due", "Kept on record, not confirmed: it gives no readiness."},
	"something-since":   {"due", "Kept on record. Something happened since that this page had not seen: test again."},
	"taken-since":       {"due", "Kept on record. Something was done to the sealer since: test again."},
	"not-waiting":       {"due", "Kept on record. The sealer was not waiting for this check."},
	"other-approval":    {"due", "Kept on record. The approved setting is another one now: test again."},
	"earlier-day":       {"due", "Kept on record for its day. Today's check is still due."},
	"not-all-places":    {"due", "Kept on record. Not all places were tested."},
	"too-early":         {"due", "Kept on record. It was made before the sealer had settled."},
	"other-pouch":       {"due", "Kept on record. The sealer was set up for another pouch."},
	"not-signed-off":    {"due", "Kept on record. Who made it is not signed off for this type of sealer: a lead can let it count."},
	"kit-expired":       {"due", "Kept on record. The test box was past its date: open a new one and test again."},
	"answered-by-check": {"ready", "Kept on record. A good check came after it."},
}

var photoWords = map[string]Message{
	"kept":        {"ready", "The photograph is with it."},
	"blurred":     {"due", "The photograph is kept, but looks blurred. You can add another one."},
	"unsupported": {"due", "That file is not a photograph that can be read. The report is kept without it."},
	"too-large":   {"due", "That photograph is too large. The report is kept without it."},
	"invalid":     {"due", "That photograph is damaged. The report is kept without it."},
	"unread":      {"due", "The photograph did not arrive. The report is kept without it."},
	"busy":        {"due", "Too many photographs at once. The report is kept; add the photograph again."},
	"full":        {"due", "There was no room for the photograph. The report is kept without it."},
}
