package web

// apiSetUp has the words for what a department sets up.
var apiSetUp = map[string]apiWords{
	"GET /set-up":       {name: "setUp", text: "How far a department is on its way to the first sealer ready.", use: "Look"},
	"GET /department":   {name: "department", text: "The department's name and settings.", use: "Look"},
	"POST /department":  {name: "changeDepartment", text: "Change the department's name or settings.", use: "ChangeDepartment"},
	"GET /plans/:type":  {name: "plan", text: "How sealers of a type are checked, and who set it.", use: "Look"},
	"POST /plans/:type": {name: "setPlan", text: "Say how sealers of a type are checked.", use: "SetPlan"},

	"GET /people":              {name: "people", text: "The people and devices of the department.", use: "ManagePeople"},
	"POST /people":             {name: "addPerson", text: "Add a person; answers a PIN, to be told once.", use: "ManagePeople"},
	"GET /people/:person":      {name: "person", text: "A person and what they may do.", use: "ManagePeople"},
	"POST /people/:person":     {name: "changePerson", text: "Change what a person may do, or say that they left.", use: "ManagePeople"},
	"POST /people/:person/pin": {name: "resetPIN", text: "Make a new PIN for a person, to be told once.", use: "ManagePeople"},
	"POST /devices":            {name: "inviteDevice", text: "Make a code that lets one device in; good for ten minutes.", use: "ManageDevices"},
	"POST /devices/:device":    {name: "revokeDevice", text: "Shut a device out.", use: "ManageDevices"},

	"GET /pouches":                  {name: "pouches", text: "The pouches of the department.", use: "Look"},
	"POST /pouches":                 {name: "addPouch", text: "Add a pouch; a name and what it is made of are enough.", use: "AddPouch"},
	"GET /pouches/:pouch":           {name: "pouch", text: "A pouch, its IFU, its lots on hold.", use: "Look"},
	"POST /pouches/:pouch":          {name: "revisePouch", text: "Record what changed about a pouch or its IFU.", use: "RevisePouch"},
	"POST /pouches/:pouch/releases": {name: "releaseLot", text: "End the hold of a pouch lot, with the reason.", use: "ReleaseLot"},

	"GET /sealers":                      {name: "sealers", text: "Every sealer, those that are not in use any more too.", use: "Look"},
	"POST /sealers":                     {name: "addSealer", text: "Add a sealer; answers the code of its label.", use: "AddSealer"},
	"GET /sealers/:code/facts":          {name: "facts", text: "The facts and approved settings of a sealer.", use: "Look"},
	"POST /sealers/:code/facts":         {name: "changeSealer", text: "Change facts of a sealer, or make a new label for it.", use: "ChangeSealer"},
	"POST /sealers/:code/move":          {name: "moveSealer", text: "Record that a sealer stands elsewhere; a check is due.", use: "MoveSealer"},
	"POST /sealers/:code/retire":        {name: "retireSealer", text: "Take a sealer out of use for good; its records stay.", use: "RetireSealer"},
	"POST /sealers/:code/approvals":     {name: "approve", text: "Approve the setting of a pouch on a sealer; technicians see it.", use: "Approve"},
	"POST /sealers/:code/approvals/end": {name: "endApproval", text: "Take an approval back, with the reason.", use: "EndApproval"},
}
