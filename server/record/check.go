package record

// Place is where on the bar, as one stands at the sealer.
type Place string

const (
	Left    Place = "left"
	Middle  Place = "middle"
	Right   Place = "right"
	Whole   Place = "whole" // all along, or a pouch as wide as the bar
	NoPlace Place = ""      // not known
)

// Test is a way to look at a seal.
type Test string

const (
	Look      Test = "look"      // visual inspection of the whole seal
	Dye       Test = "dye"       // dye penetration test
	Indicator Test = "indicator" // seal indicator sheet
	Peel      Test = "peel"      //
)

// Outcome is how a check ended.
type Outcome string

const (
	Pass     Outcome = "pass"
	Fail     Outcome = "fail"
	NotYet   Outcome = "not-ready" // the sealer was still heating, cooling or not as it should be
	NotValid Outcome = "not-valid" // the test says nothing
)

// Check is a test of a sealer with test pouches of one pouch at its approved
// setting.
type Check struct {
	Pouch    ID      `json:"pouch"`
	Approval Seq     `json:"approval"` // the approval it was made at
	Outcome  Outcome `json:"outcome"`
	Places   []Place `json:"places"` // where test pouches were laid
	Tests    []Test  `json:"tests"`
	Shown    string  `json:"shown,omitempty"`    // what the display read
	Set      string  `json:"set,omitempty"`      // where the control was found, if not as approved
	Dwell    string  `json:"dwell,omitempty"`    //
	Speed    string  `json:"speed,omitempty"`    //
	Pressure string  `json:"pressure,omitempty"` //
	Kind     Fault   `json:"kind,omitempty"`     // of a fail
	Place    Place   `json:"place,omitempty"`    // of a fail
	AtCM     string  `json:"at_cm,omitempty"`    // of a fail, from the left
	Reason   string  `json:"reason,omitempty"`   // of a not-valid or not-ready: a code
	Kit      string  `json:"kit,omitempty"`      // lot of the dye or the sheets
	Lot      string  `json:"lot,omitempty"`      // lot of the test pouches
}

// Changeover makes a sealer ready for another pouch.
type Changeover struct {
	Pouch   ID  `json:"pouch"`
	Minutes int `json:"minutes,omitempty"` // until a check is possible, if the plan is not to decide
}

// Disturbance is anything after which the last check proves nothing.
type Disturbance struct {
	What    string `json:"what"`              // one of the Disturbed codes
	Minutes int    `json:"minutes,omitempty"` // until a check is possible, if the plan is not to decide
}

// Codes of Disturbance.What.
const (
	PowerOff   = "power-off"
	KnobMoved  = "knob-moved"
	Element    = "element-changed"
	Cover      = "cover-changed"
	Pad        = "pad-changed"
	Controller = "controller-changed"
	Moved      = "moved"
	Cleaned    = "cleaned"
	Other      = "other"
)

// Disturbances lists the codes in the order of a form.
func Disturbances() []string {
	return []string{PowerOff, KnobMoved, Element, Cover, Pad, Controller, Moved, Cleaned, Other}
}

func (*Check) kind() (Kind, int)       { return "check", 1 }
func (*Changeover) kind() (Kind, int)  { return "changeover", 1 }
func (*Disturbance) kind() (Kind, int) { return "disturbance", 1 }
