package web

import "strings"

// apiWords are the words for an address of the JSON interface.
type apiWords struct {
	name  string // of the operation
	text  string // what it does, one sentence
	use   string // in the desk's table of who may do what
	needs needs
	query []string
}

// needs is what an address wants to know of who asks.
type needs int

const (
	needsPerson needs = iota // a session on a device
	needsDevice              // a device that was let in
	needsNothing
)

// wordsOf finds the words for an offer. A test looks that none are missing.
func wordsOf(o offer) apiWords {
	for _, table := range apiTables {
		if w, ok := table[o.method+" "+o.path]; ok {
			return w
		}
	}
	return apiWords{name: o.method + strings.NewReplacer("/", "-", ":", "").Replace(o.path), use: "Look"}
}

// apiTables have the words for every address between them.
var apiTables = []map[string]apiWords{apiTable, apiProblems, apiPost, apiSetUp}

// apiTable has the words for what is done at a sealer, in the order of routes.go.
var apiTable = map[string]apiWords{
	"POST /begin":            {name: "begin", text: "Open the first department, with the one-time set-up link's token.", needs: needsNothing},
	"POST /devices/let-in":   {name: "letDeviceIn", text: "Let this device in with a code that a lead made; answers the token it keeps.", needs: needsNothing},
	"GET /people/colleagues": {name: "colleagues", text: "Who can sign in on this device.", needs: needsDevice},
	"POST /sign-in":          {name: "signIn", text: "Begin a session of a shift with a PIN; answers its token.", needs: needsDevice},
	"POST /sign-out":         {name: "signOut", text: "End this session.", use: "Look"},
	"POST /pin":              {name: "choosePIN", text: "Choose the PIN of the person who is signed in.", use: "Look"},

	"GET /board": {name: "board", text: "Which sealer for which pouch, what needs somebody, every sealer.", use: "Look"},

	"GET /sealers/:code":            {name: "sealer", text: "Where a sealer stands, its approved setting, what is next.", use: "Look", query: []string{"pouch"}},
	"POST /sealers/:code/checks":    {name: "check", text: "Record a check of a sealer.", use: "Check"},
	"POST /sealers/:code/bad-seals": {name: "reportBadSeal", text: "Report a bad seal; what follows depends on its kind.", use: "ReportBadSeal"},

	"GET /questions":           {name: "questions", text: "Patterns in the records that a lead may want to ask about; no person is named.", use: "Questions"},
	"GET /answers":             {name: "answers", text: "What surveyors ask, answered from the records of one sealer or of all.", use: "Look", query: []string{"sealer"}},
	"GET /sealers/:code/where": {name: "where", text: "Where a sealer's faults were, what they have in common, how sure it is that there are none.", use: "Where"},

	"GET /boxes":  {name: "boxes", text: "The boxes of dye, seal indicator sheets and pouches in use.", use: "Look"},
	"POST /boxes": {name: "openBox", text: "Say that a new box is in use; checks carry its lot from then on.", use: "OpenBox"},

	"GET /sealers/:code/settings":         {name: "settings", text: "What the settings of a sealer rest on: tables, trials, readings, validations, decisions.", use: "Settings"},
	"GET /sealers/:code/settings/:pouch":  {name: "advice", text: "What is known and proposed for one pouch on a sealer; value weighs one, ladder names a trial.", use: "Settings", query: []string{"value", "ladder"}},
	"POST /sealers/:code/settings/:pouch": {name: "approveFrom", text: "Approve a setting on the newest temperature table or on a ladder trial.", use: "ApproveFrom"},
	"POST /sealers/:code/tables":          {name: "enterTable", text: "Record a temperature table; it approves nothing.", use: "EnterTable"},
	"GET /sealers/:code/tables/:seq":      {name: "table", text: "A temperature table, its curve and how well that is known.", use: "Settings"},
	"POST /sealers/:code/ladders":         {name: "recordLadder", text: "Record a ladder trial, whatever came of it.", use: "RecordLadder"},
	"GET /sealers/:code/ladders/:seq":     {name: "ladder", text: "A ladder trial and what it shows.", use: "Settings"},
	"POST /sealers/:code/readings":        {name: "recordReading", text: "Record a temperature measured at the sealing face, one of a series.", use: "RecordReading"},
	"POST /sealers/:code/strength":        {name: "testStrength", text: "Record a test of seal strength.", use: "TestStrength"},
	"POST /sealers/:code/width":           {name: "measureWidth", text: "Record the width of a seal.", use: "MeasureWidth"},
	"POST /sealers/:code/sterilized":      {name: "testSterilized", text: "Record a test of seals before and after sterilizing.", use: "TestSterilized"},

	"POST /sealers/:code/stand-in":        {name: "standIn", text: "Say which sealer this one stands in for, by number; empty for none.", use: "StandIn"},
	"POST /sealers/:code/away":            {name: "sendAway", text: "Record that a sealer left for another site or for a vendor.", use: "SendAway"},
	"POST /sealers/:code/back":            {name: "bringBack", text: "Record that a sealer is here again; a check is due.", use: "BringBack"},
	"POST /sealers/:code/card":            {name: "takeCardDown", text: "Record that the old card beside a sealer is down.", use: "TakeCardDown"},
	"GET /documents":                      {name: "documents", text: "Documents of the department: titles and where they are kept.", use: "Look"},
	"POST /documents":                     {name: "fileDocument", text: "Name a document of the department.", use: "FileDocument"},
	"POST /documents/ended":               {name: "endDocument", text: "Take a document of the department off the list.", use: "EndDocument"},
	"GET /sealers/:code/documents":        {name: "documentsOfSealer", text: "Documents of a sealer: titles and where they are kept.", use: "Look"},
	"POST /sealers/:code/documents":       {name: "fileDocumentOfSealer", text: "Name a document of a sealer.", use: "FileDocument"},
	"POST /sealers/:code/documents/ended": {name: "endDocumentOfSealer", text: "Take a document of a sealer off the list.", use: "EndDocument"},

	"GET /calendars":                {name: "calendars", text: "The calendars that were made; their addresses are not kept.", use: "Calendars"},
	"POST /calendars":               {name: "makeCalendar", text: "Make a secret address under which a calendar program reads what is due; told once.", use: "MakeCalendar"},
	"POST /calendars/:calendar/end": {name: "endCalendar", text: "End a calendar: its address answers no more.", use: "EndCalendar"},

	"POST /import/:what/preview": {name: "previewImport", text: "Read a file and tell of each row what would become of it; nothing is written.", use: "Import"},
	"POST /import/:what":         {name: "takeImport", text: "Take in sealers, pouches, people or past records from a file.", use: "Import"},

	"GET /training":                       {name: "training", text: "Who is signed off for what, by type of sealer.", use: "Training"},
	"POST /training":                      {name: "askTraining", text: "Ask for sign-offs, or stop asking.", use: "AskTraining"},
	"POST /people/:person/training":       {name: "signOff", text: "Sign a person off for types of sealers.", use: "SignOff"},
	"POST /people/:person/training/end":   {name: "endSignOff", text: "Take sign-offs of a person back.", use: "EndSignOff"},
	"POST /sealers/:code/accepted-checks": {name: "acceptCheck", text: "Let a good check count whose maker was not signed off.", use: "AcceptCheck"},
	"GET /completeness":                   {name: "completeness", text: "What became of each sealer's check on each day, the problems and the late entries of a period.", use: "Look", query: []string{"from", "to"}},
	"GET /records":                        {name: "records", text: "Everything that was recorded, in order, a page at a time.", use: "Look", query: []string{"after", "limit"}},
	"GET /record-pack":                    {name: "recordPack", text: "A record pack: PDF, tables, the records and their proof.", use: "RecordPack", query: []string{"from", "to", "sealer", "size"}},
	"GET /record-pack/:section":           {name: "recordPackSection", text: "One section of a record pack.", use: "RecordPack", query: []string{"from", "to", "sealer", "size"}},

	"POST /queue": {name: "sendKept", needs: needsDevice,
		text: "Send an entry that a phone kept: the fields of a form, when it was made, and the ticket of who was signed in."},
	"POST /queue/photographs":         {name: "sendKeptPhotograph", text: "Send a photograph that a phone kept, after its report.", needs: needsDevice},
	"GET /waiting":                    {name: "waiting", text: "What phones sent that a lead has to take or leave out, and what they made that did not come.", use: "AcceptKept"},
	"POST /waiting/:report/take":      {name: "takeWaiting", text: "Take an entry that waits, for the person who is said to have made it.", use: "AcceptKept"},
	"POST /waiting/:report/leave-out": {name: "leaveOutWaiting", text: "Leave an entry out that waits, with the reason.", use: "LeaveOutKept"},

	"GET /due":                               {name: "due", text: "What is due on every sealer or comes within a week, by place.", use: "Look"},
	"GET /sealers/:code/due":                 {name: "dueHere", text: "Every task of a sealer and when it is due.", use: "Look"},
	"POST /sealers/:code/tasks/:task/done":   {name: "doTask", text: "Record that a task of a sealer was done.", use: "DoTask"},
	"POST /sealers/:code/tasks/:task/skip":   {name: "skipTask", text: "Leave a task out this time, with the reason.", use: "SkipTask"},
	"POST /sealers/:code/tasks/:task/extend": {name: "extendTask", text: "Let a task wait until a day, with a lead's name.", use: "ExtendTask"},
	"POST /sealers/:code/calibrations":       {name: "calibrate", text: "Record a calibration as found and as left; each pouch's window is judged, and packs are held where it was missed.", use: "Calibrate"},
	"GET /sealers/:code/calibrations/:seq":   {name: "calibration", text: "A calibration, how far the display was off, and what it means for each pouch.", use: "Look"},
	"POST /problems/:problem/assess":         {name: "assessInBulk", text: "Give all packs of a calibration's hold an end, as the first of two names.", use: "AssessInBulk"},
	"POST /problems/:problem/confirm":        {name: "confirmBulk", text: "Confirm an assessment in bulk as the second person; the packs are settled.", use: "ConfirmBulk"},
	"GET /sealers/:code/held":                {name: "held", text: "What came after each repair, fix and changed part of a sealer: faults at the same place and elsewhere.", use: "Settings"},
	"GET /maintenance/:type":                 {name: "maintenance", text: "The maintenance plan of a type of sealer.", use: "Look"},
	"POST /maintenance/:type":                {name: "startMaintenance", text: "Start a maintenance plan from what is common in the trade.", use: "SetMaintenance"},
	"POST /maintenance/:type/tasks/:task":    {name: "setTask", text: "Change a task of a maintenance plan, add one (new) or take one out.", use: "SetMaintenance"},
	"GET /pack-lists":                        {name: "packLists", text: "Lists of packs that came in from the department's own system.", use: "PackLists"},
	"GET /pack-lists/:list":                  {name: "packList", text: "A list that came in: how it was read, and whether it was taken back.", use: "PackLists"},
	"POST /pack-lists/:list/take-back":       {name: "takePackListBack", text: "Have no hold list look into a list any more; the same file can come in again.", use: "TakeListBack"},
	"POST /pack-lists/files":                 {name: "storePackFile", text: "Store a list of packs, delimited text, at most 20 MB; nothing is recorded of it yet.", use: "ImportPacks"},
	"POST /pack-lists/preview":               {name: "previewPacks", text: "How a stored list would be read; records nothing.", use: "ImportPacks"},
	"POST /pack-lists":                       {name: "importPacks", text: "Record a stored list of packs; the same file again changes nothing.", use: "ImportPacks"},

	"POST /photographs":    {name: "addPhotograph", text: "Add a photograph to something that is on record.", use: "AddPhotograph"},
	"GET /photographs/:id": {name: "photograph", text: "A photograph, by the record that names it.", use: "Look"},

	"GET /entries/:seq":          {name: "entry", text: "One entry and its corrections.", use: "Look"},
	"POST /entries/:seq/correct": {name: "correctEntry", text: "Say how an entry should read; it stays and is shown beside the correction. Never makes a sealer ready.", use: "Correct"},
	"POST /entries/:seq/void":    {name: "takeEntryBack", text: "Take an entry back that should never have been made; one that took a sealer out of service waits for a second name.", use: "Void"},
	"POST /entries/:seq/confirm": {name: "agreeToTakeBack", text: "Put the second name under the wish to take an entry back.", use: "ConfirmVoid"},
	"GET /care":                  {name: "care", text: "What was removed for good, and whether the server's clock is behind.", use: "Erase"},
	"POST /care/removals":        {name: "removePrivate", text: "Remove the name of a person who left, or the note and photographs of one record, for good.", use: "Erase"},
	"POST /care/clock":           {name: "correctClock", text: "Say that the server's clock had run ahead and is right now.", use: "CorrectClock"},
}

var pathWords = map[string]string{
	"code":     "The code of the sealer's label, as printed under the square.",
	"problem":  "The id of the problem.",
	"pouch":    "The id of the pouch.",
	"person":   "The id of the person.",
	"device":   "The id of the device.",
	"id":       "The id of the record.",
	"seq":      "The number of the record.",
	"calendar": "The id of the calendar.",
	"list":     "The number of the record of the list.",
	"what":     "sealers, pouches, people or past.",
	"report":   "The id under which an entry or a report waits.",
	"poster":   "The code of the poster.",
	"hook":     "The id of the webhook.",
	"task":     "The code of the task.",
	"token":    "The last part of the link in a mail.",
	"type":     "The type of sealer: bar-dial, bar-display, impulse or continuous.",
	"section":  "The section: scope, tests, equipment, settings, completeness, failures, upkeep, people, late, checks.",
}

var queryWords = map[string]string{
	"pouch":  "The id of the pouch in hand.",
	"before": "Records older than this one.",
	"after":  "Records after this one: next of the page before; from the first on without.",
	"limit":  "How many at most, 1 to 1000; 100 without.",
	"from":   "The first operating day, as 2026-01-31; 30 days before the last without.",
	"to":     "The last operating day.",
	"sealer": "The code of a sealer's label, several times for several; all of them without.",
	"size":   "Of the ledger: as it was when it held so many records.",
	"value":  "A setting to weigh, as the control shows it.",
	"ladder": "The number of the record of a ladder trial; the newest if there is none.",
}

const apiIntroduction = "What can be done and asked on the pages, for programs. " +
	"A command carries an id that its sender makes: sent again, it is one record and one receipt. " +
	"It carries the size of the ledger that the sender had seen: what changed since is told with 409, " +
	"and keep=true records what did happen all the same. Nothing is recorded by GET. " +
	"Every answer shows the size and root of the ledger (" + sizeHeader + ", " + rootHeader + ") and a token of both (" + sightHeader + "): " +
	"send the last one back in that header, so that a server that was set back to older records is noticed. " +
	"Fields that are not described are refused; answers may gain fields. " +
	"The IFU, local policy and local codes come first."

// securitySchemes are the two ways to say who asks: the cookies of a browser,
// or two headers.
var securitySchemes = map[string]any{
	"session": map[string]any{"type": "http", "scheme": "bearer", "description": "The token of a session."},
	"device": map[string]any{"type": "apiKey", "in": "header", "name": deviceHeader,
		"description": "The token of a device that was let in."},
	"sessionCookie": map[string]any{"type": "apiKey", "in": "cookie", "name": sessionCookie,
		"description": "As session; over TLS the name begins with __Host-."},
	"deviceCookie": map[string]any{"type": "apiKey", "in": "cookie", "name": deviceCookie,
		"description": "As device; over TLS the name begins with __Host-."},
}

var security = map[needs][]map[string][]string{
	needsPerson:  {{"session": {}, "device": {}}, {"sessionCookie": {}, "deviceCookie": {}}},
	needsDevice:  {{"device": {}}, {"deviceCookie": {}}},
	needsNothing: {},
}
