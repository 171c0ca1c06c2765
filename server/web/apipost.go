package web

// apiPost has the words for reports from elsewhere, and for whom to tell and how.
var apiPost = map[string]apiWords{
	"POST /posters/:poster/reports": {name: "foundElsewhere", needs: needsNothing,
		text: "Leave a report of a bad pack found elsewhere; it waits in the inbox and stops no sealer."},
	"GET /found":                   {name: "foundInbox", text: "Reports of bad packs found elsewhere that wait.", use: "TakeFound"},
	"GET /found/:report":           {name: "foundReport", text: "One of them, and the sealers that its number leads to.", use: "TakeFound"},
	"POST /found/:report/take":     {name: "takeFound", text: "Take a report in hand; with over, a lead takes it from somebody else.", use: "TakeFound"},
	"POST /found/:report/record":   {name: "recordFound", text: "Put a report on record as a bad seal of a sealer.", use: "RecordFound"},
	"POST /found/:report/not-ours": {name: "notOurs", text: "End a report that is not about a sealer here, with the reason.", use: "NotOurs"},
	"POST /seen/:token/note":       {name: "noteByLink", text: "Add a note by link, with a name.", needs: needsNothing},
	"POST /seen/:token/photographs": {name: "photographByLink", needs: needsNothing,
		text: "Add a photograph by link, of the problem or of what was recorded by the link before."},
	"GET /route":                  {name: "route", text: "Whom of clinical engineering to tell, in which order, and when.", use: "SetRoute"},
	"POST /route":                 {name: "setRoute", text: "Choose whom to tell, in which order, and when.", use: "SetRoute"},
	"GET /webhooks":               {name: "webhooks", text: "Programs that are told of changes.", use: "ManageHooks"},
	"POST /webhooks":              {name: "addWebhook", text: "Name a webhook; answers its secret, this once.", use: "AddHook"},
	"POST /webhooks/:hook":        {name: "changeWebhook", text: "Change a webhook's address, or end it.", use: "ChangeHook"},
	"POST /webhooks/:hook/secret": {name: "renewSecret", text: "Make a new secret for a webhook; answers it, this once.", use: "RenewSecret"},
	"POST /webhooks/:hook/test":   {name: "tryWebhook", text: "Send a test event to a webhook and tell whether it took it.", use: "TryHook"},
	"GET /outbox":                 {name: "outbox", text: "What waits to be delivered, what does not get through, what waits for a decision.", use: "Outbox"},
	"POST /outbox":                {name: "decideMessages", text: "Send parked messages again, or drop them.", use: "DecideMessages"},
	"GET /poster":                 {name: "poster", text: "The poster that operating rooms and stores write from.", use: "ManagePoster"},
	"POST /poster":                {name: "makePoster", text: "Give the poster a new code; those that hang lead nowhere then.", use: "MakePoster"},
}
