package desk

import (
	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// Caller is who asks: a person of a department on a device, or the bearer of a
// one-time link. The zero Caller is a stranger.
type Caller struct {
	Person  record.ID
	Dept    record.ID
	Device  record.ID
	Via     record.Via
	Link    record.ID // the problem a link is for
	Queued  bool      // what a phone kept and sends now
	session string
	sender  *sender // of what a phone kept
}

// use is one thing that can be done.
type use string

// uses tells who may do what. Administrators see to people and devices; they
// do no sterile processing by that role alone. A use that is not here is
// refused; a test walks the desk's methods.
var uses = map[use][]record.Role{
	"Look":             {record.Technician, record.Lead, record.Engineering, record.Surveyor, record.Administrator},
	"Check":            {record.Technician, record.Lead},
	"Changeover":       {record.Technician, record.Lead},
	"Disturb":          {record.Technician, record.Lead, record.Engineering},
	"LogPacks":         {record.Technician, record.Lead},
	"NotUsed":          {record.Technician, record.Lead},
	"OpenBox":          {record.Technician, record.Lead},
	"ReportBadSeal":    {record.Technician, record.Lead, record.Engineering},
	"AddPhotograph":    {record.Technician, record.Lead, record.Engineering},
	"Tag":              {record.Technician, record.Lead, record.Engineering},
	"FirstLineFix":     {record.Technician, record.Lead},
	"SettlePacks":      {record.Technician, record.Lead},
	"LocatePacks":      {record.Technician, record.Lead},
	"ImportPacks":      {record.Lead},
	"TakeListBack":     {record.Lead},
	"PackLists":        {record.Lead, record.Surveyor},
	"TellOfHold":       {record.Technician, record.Lead},
	"MarkPhoto":        {record.Technician, record.Lead, record.Engineering},
	"AddNote":          {record.Technician, record.Lead, record.Engineering},
	"MarkSeen":         {record.Engineering, record.Lead}, // a lead on behalf of somebody
	"Work":             {record.Engineering, record.Lead},
	"HandBack":         {record.Engineering, record.Lead},
	"SetRoute":         {record.Lead, record.Administrator},
	"ManageHooks":      {record.Administrator},
	"AddHook":          {record.Administrator},
	"ChangeHook":       {record.Administrator},
	"RenewSecret":      {record.Administrator},
	"TryHook":          {record.Administrator},
	"Outbox":           {record.Lead, record.Administrator},
	"DecideMessages":   {record.Lead, record.Administrator},
	"TakeFound":        {record.Technician, record.Lead},
	"RecordFound":      {record.Technician, record.Lead},
	"NotOurs":          {record.Technician, record.Lead},
	"ManagePoster":     {record.Lead, record.Administrator},
	"MakePoster":       {record.Lead, record.Administrator},
	"AcceptKept":       {record.Lead},
	"LeaveOutKept":     {record.Lead},
	"Judge":            {record.Lead},
	"ChangeHold":       {record.Lead},
	"AnswerHold":       {record.Lead},
	"FinishPacks":      {record.Lead},
	"CloseProblem":     {record.Lead},
	"Erase":            {record.Administrator},
	"CorrectClock":     {record.Administrator},
	"Correct":          {record.Lead},
	"Void":             {record.Lead},
	"ConfirmVoid":      {record.Technician, record.Lead, record.Engineering}, // a second person
	"Approve":          {record.Lead},
	"EndApproval":      {record.Lead},
	"ApproveFrom":      {record.Lead},
	"RecordPack":       {record.Lead, record.Surveyor},
	"Settings":         {record.Lead, record.Engineering, record.Surveyor},
	"Where":            {record.Lead, record.Engineering},
	"Questions":        {record.Lead},
	"EnterTable":       {record.Lead, record.Engineering},
	"RecordReading":    {record.Lead, record.Engineering},
	"RecordLadder":     {record.Lead, record.Engineering},
	"TestStrength":     {record.Lead, record.Engineering},
	"MeasureWidth":     {record.Lead, record.Engineering},
	"TestSterilized":   {record.Lead, record.Engineering},
	"MakeCalendar":     {record.Lead},
	"EndCalendar":      {record.Lead},
	"Calendars":        {record.Lead},
	"Import":           {record.Lead},
	"StandIn":          {record.Lead},
	"SendAway":         {record.Lead},
	"BringBack":        {record.Lead},
	"TakeCardDown":     {record.Technician, record.Lead},
	"FileDocument":     {record.Lead, record.Engineering},
	"EndDocument":      {record.Lead, record.Engineering},
	"SignOff":          {record.Lead},
	"EndSignOff":       {record.Lead},
	"AskTraining":      {record.Lead},
	"AcceptCheck":      {record.Lead},
	"Training":         {record.Lead, record.Surveyor, record.Administrator},
	"AddPouch":         {record.Lead},
	"RevisePouch":      {record.Lead},
	"ReleaseLot":       {record.Lead},
	"AddSealer":        {record.Lead},
	"ChangeSealer":     {record.Lead},
	"MoveSealer":       {record.Lead},
	"RetireSealer":     {record.Lead},
	"SetPlan":          {record.Lead},
	"SetMaintenance":   {record.Lead},
	"DoTask":           {record.Technician, record.Lead, record.Engineering}, // and as the plan says
	"SkipTask":         {record.Technician, record.Lead, record.Engineering},
	"ExtendTask":       {record.Lead},
	"Calibrate":        {record.Lead, record.Engineering},
	"AssessInBulk":     {record.Lead},
	"ConfirmBulk":      {record.Lead, record.Engineering}, // another person than the first
	"ChangeDepartment": {record.Lead, record.Administrator},
	"ManagePeople":     {record.Lead, record.Administrator},
	"ManageDevices":    {record.Lead, record.Administrator},
}

// RolesFor returns who may do something; nobody, if it is not in the table.
func RolesFor(what string) []record.Role { return uses[use(what)] }

// unsigned lists what TakeKept takes of somebody whom nobody has confirmed: it can
// stop a sealer or make it wait for a check, and gives nothing.
var unsigned = map[use]bool{"Check": true, "ReportBadSeal": true, "AddPhotograph": true, "Changeover": true,
	"Disturb": true, "LogPacks": true}

// may looks whether the caller may do something and returns the person, nil for
// one whom nobody has confirmed. A session whose person has left, or has another
// department, is over.
func (d *Desk) may(who Caller, what use) (*rules.Person, error) {
	if who.sender != nil && who.Via == record.ViaNone && unsigned[what] {
		return nil, nil
	}
	if who.Person.IsZero() || !who.Link.IsZero() {
		return nil, fault.New(fault.SignIn, "Sign in first.")
	}
	p := d.person(who.Person)
	if p == nil || p.Left || p.Dept != who.Dept {
		return nil, fault.New(fault.SignIn, "This sign-in is over. Sign in again.")
	}
	if !p.Has(uses[what]...) {
		d.refused(who, string(what))
		return nil, fault.New(fault.Forbidden, "This is not among what you do here. A lead can change that.")
	}
	return p, nil
}

// refused keeps a refusal in the rolling log; what strangers try must not grow
// the ledger.
func (d *Desk) refused(who Caller, what string) {
	r := people.Refusal{At: d.clock(), Person: who.Person, Device: who.Device, What: what}
	if err := d.people.LogRefusal(r); err != nil {
		d.log.Warn("log refusal", "error", err)
	}
}

func (d *Desk) person(id record.ID) (p *rules.Person) {
	d.ledger.View(func(v record.View) { p = rules.GetPerson(v, id) })
	return p
}

func (d *Desk) department(id record.ID) (dept *rules.Department) {
	d.ledger.View(func(v record.View) { dept = rules.GetDepartment(v, id) })
	return dept
}

// sealerOf returns a sealer of the caller's department by the code of its label.
// An unknown code and one of another department look alike.
func (d *Desk) sealerOf(who Caller, code string) (s *rules.Sealer, err error) {
	if who.Dept.IsZero() {
		return nil, fault.New(fault.SignIn, "Sign in first.")
	}
	d.ledger.View(func(v record.View) {
		s = rules.GetSealer(v, rules.GetSite(v).Codes[code])
	})
	if s == nil || s.Dept != who.Dept {
		return nil, fault.New(fault.Unknown, "No sealer here has this label. Type the code under the square, or look for the sealer on the board.")
	}
	return s, nil
}

// problemOf returns a problem of the caller's department, or the one that the
// caller's link is for.
func (d *Desk) problemOf(who Caller, id record.ID) (p *rules.Problem, err error) {
	d.ledger.View(func(v record.View) { p = rules.GetProblem(v, id) })
	if p == nil || p.Dept != who.Dept || !who.Link.IsZero() && p.ID != who.Link {
		return nil, fault.New(fault.Unknown, "There is no such problem here.")
	}
	return p, nil
}
