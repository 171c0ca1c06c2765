package record

// Tagged says that a sealer out of service was tagged and switched off.
type Tagged struct {
	SwitchedOff bool `json:"switched_off"`
}

// Seen says that clinical engineering knows of a problem. By link, the name
// that was typed is sealed as "name".
type Seen struct{}

// Work is a step of clinical engineering before it hands back.
type Work struct {
	Stage    string `json:"stage"`           // at-work | vendor
	Order    string `json:"order,omitempty"` // work-order number
	Vendor   string `json:"vendor,omitempty"`
	Expected Date   `json:"expected,omitzero"`
	Loaner   string `json:"loaner,omitempty"` // number of the loaner given
}

// Stages of Work.
const (
	AtWork = "at-work"
	Vendor = "vendor"
)

// Findings of HandedBack, in the order of a form.
func Findings() []string {
	return []string{"element", "cover", "pad", "pressure", "temperature-control", "controller", "use", "none-found"}
}

// HandedBack ends clinical engineering's work; return checks follow.
type HandedBack struct {
	Finding string `json:"finding"` // one of Findings
	Action  string `json:"action"`  // replaced | adjusted | cleaned | nothing
	Order   string `json:"order,omitempty"`
	Parts   string `json:"parts,omitempty"`
	Safety  string `json:"safety,omitempty"` // electrical safety: ok | not-needed
	Wiped   bool   `json:"wiped,omitempty"`
}

// FirstLineFix is what a lead, or a person trained for it, did before return
// checks without calling clinical engineering.
type FirstLineFix struct {
	Did   []string `json:"did"`   // set | warmed-up | jaw-cleaned | new-kit | new-lot
	Cause string   `json:"cause"` // what it was taken to be: setting | warm-up | dirt | kit | pouch
}

// Blame is what a fault comes from, as far as packs are concerned.
type Blame string

const (
	BlamePlace Blame = "place" // element, cover, pad: every pouch sealed between
	BlameHeat  Blame = "heat"  // the pouch whose window was missed
	BlameBoth  Blame = "unknown"
)

// Judged is the lead's word on where a fault comes from.
type Judged struct {
	Blame Blame `json:"blame"`
}

// HoldChanged widens or narrows a hold window; Reason is required to narrow.
type HoldChanged struct {
	From   Time   `json:"from"`
	To     Time   `json:"to"`
	Reason string `json:"reason"`
}

// HoldAnswered is the lead's answer to the difference between the proposed and
// the possible window.
type HoldAnswered struct {
	Accept bool   `json:"accept"` // the wider one counts
	Reason string `json:"reason"`
}

// PackSettled settles some packs of a hold.
type PackSettled struct {
	Packs  ID     `json:"packs,omitzero"` // the log entry they were counted in, if any
	Count  int    `json:"count"`
	Where  string `json:"where,omitempty"` // cart | chamber | store | issued
	End    string `json:"end"`             // repackaged | discarded | used | released | not-found
	Reason string `json:"reason,omitempty"`
}

// PacksSettled says that every pack of a hold has an end.
type PacksSettled struct {
	From   Time   `json:"from"`
	To     Time   `json:"to"`
	Digest string `json:"digest"` // SHA-256 of the hold list
	Size   int64  `json:"size"`   // of the ledger it was drawn from
	Packs  int    `json:"packs"`
	Reason string `json:"reason,omitempty"`
}

// ProblemClosed is the third ending.
type ProblemClosed struct {
	Reason string `json:"reason,omitempty"`
}

// Note is free text about a subject, sealed as "text".
type Note struct{}

func (*Tagged) kind() (Kind, int)        { return "tagged", 1 }
func (*Seen) kind() (Kind, int)          { return "seen", 1 }
func (*Work) kind() (Kind, int)          { return "work", 1 }
func (*HandedBack) kind() (Kind, int)    { return "handed-back", 1 }
func (*FirstLineFix) kind() (Kind, int)  { return "first-line-fix", 1 }
func (*Judged) kind() (Kind, int)        { return "judged", 1 }
func (*HoldChanged) kind() (Kind, int)   { return "hold-changed", 1 }
func (*HoldAnswered) kind() (Kind, int)  { return "hold-answered", 1 }
func (*PackSettled) kind() (Kind, int)   { return "pack-settled", 1 }
func (*PacksSettled) kind() (Kind, int)  { return "packs-settled", 1 }
func (*ProblemClosed) kind() (Kind, int) { return "problem-closed", 1 }
func (*Note) kind() (Kind, int)          { return "note", 1 }
