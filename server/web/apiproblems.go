package web

// apiProblems has the words for whatever else happens to a sealer, and for a
// problem from its beginning to its three endings.
var apiProblems = map[string]apiWords{
	"GET /sealers/:code/history":       {name: "history", text: "A sealer's records, the newest first.", use: "Look", query: []string{"before"}},
	"POST /sealers/:code/changeovers":  {name: "changeOver", text: "Record that a sealer is being set for another pouch; a check follows.", use: "Changeover"},
	"POST /sealers/:code/disturbances": {name: "disturb", text: "Record something after which the last check of a sealer proves nothing.", use: "Disturb"},
	"POST /disturbances":               {name: "disturbSeveral", text: "Record the same of several sealers, or of all, as a power cut.", use: "Disturb"},
	"POST /sealers/:code/packs":        {name: "logPacks", text: "Count packs that were sealed.", use: "LogPacks"},
	"POST /not-used":                   {name: "notUsed", text: "Say on which days sealers are not used, or the department is closed.", use: "NotUsed"},

	"GET /problems":                     {name: "problems", text: "Problems that are open, then closed ones.", use: "Look", query: []string{"before"}},
	"GET /problems/:problem":            {name: "problem", text: "A problem: what is known, what is next, what happened.", use: "Look"},
	"POST /problems/:problem/tag":       {name: "tag", text: "Say that the sealer was tagged and switched off.", use: "Tag"},
	"POST /problems/:problem/judgement": {name: "judge", text: "Say whether the place or the heat is to blame; the hold list follows it.", use: "Judge"},
	"POST /problems/:problem/fix":       {name: "fix", text: "Record a first-line fix; return checks follow.", use: "FirstLineFix"},
	"POST /problems/:problem/close":     {name: "close", text: "Close a problem whose sealer is back and whose packs are settled.", use: "CloseProblem"},
	"POST /problems/:problem/notes":     {name: "addNote", text: "Add a note to a problem.", use: "AddNote"},

	"GET /problems/:problem/evidence": {name: "evidence", text: "All that clinical engineering has to see of a fault.", use: "Look"},
	"GET /problems/:problem/lot":      {name: "lot", text: "A pouch lot on hold: what was seen, on which sealers it may lie, who was told.", use: "Look"},
	"GET /seen/:token/evidence":       {name: "linkEvidence", text: "The same by a one-time link: no photographs, nobody's name.", needs: needsNothing},
	"POST /problems/:problem/marks":   {name: "markPhoto", text: "Mark where on a photograph the fault is.", use: "MarkPhoto"},
	"GET /problems/:problem/hold":     {name: "hold", text: "The hold list of a problem.", use: "Look"},
	"POST /problems/:problem/packs":   {name: "settlePacks", text: "Record what became of packs on hold.", use: "SettlePacks"},
	"POST /problems/:problem/located": {name: "locatePacks", text: "Record where packs on hold are, before they have an end.", use: "LocatePacks"},
	"POST /problems/:problem/told":    {name: "tellOfHold", text: "Record who was told of packs on hold.", use: "TellOfHold"},
	"POST /problems/:problem/window":  {name: "changeHold", text: "Widen or narrow the time whose packs are on hold, with the reason.", use: "ChangeHold"},
	"POST /problems/:problem/answer":  {name: "answerHold", text: "Accept or decline the wider hold, with the reason.", use: "AnswerHold"},
	"POST /problems/:problem/settled": {name: "finishPacks", text: "Say that every pack on hold has an end.", use: "FinishPacks"},

	"GET /queue":                        {name: "queue", text: "What waits for clinical engineering.", use: "Look"},
	"POST /problems/:problem/seen":      {name: "markSeen", text: "Say that clinical engineering knows of a problem.", use: "MarkSeen"},
	"POST /problems/:problem/work":      {name: "work", text: "Say that clinical engineering is at work, or that a vendor was called.", use: "Work"},
	"POST /problems/:problem/hand-back": {name: "handBack", text: "Hand a sealer back with finding and action; return checks follow.", use: "HandBack"},

	"GET /seen/:token":            {name: "link", text: "A problem, by the one-time link of a mail. Looking records nothing.", needs: needsNothing},
	"POST /seen/:token/seen":      {name: "markSeenByLink", text: "Say by link that clinical engineering knows, with a name.", needs: needsNothing},
	"POST /seen/:token/work":      {name: "workByLink", text: "Say by link that somebody is at work, or that a vendor was called.", needs: needsNothing},
	"POST /seen/:token/hand-back": {name: "handBackByLink", text: "Hand a sealer back by link; the link ends with it.", needs: needsNothing},

	"GET /hand-over": {name: "handOver", text: "What the next shift has to know.", use: "Look"},
	"GET /letters":   {name: "letters", text: "In a demo: the mails that were kept instead of sent.", use: "Look"},
}
