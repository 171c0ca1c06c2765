package record

// SealLook is what visual inspection of a whole seal found.
type SealLook string

const (
	Even  SealLook = "even"  // closed and even
	Open  SealLook = "open"  // channel, gap or unsealed area
	Burnt SealLook = "burnt" //
	Torn  SealLook = "torn"  //
)

// LadderTrial is a trial of rising steps: test pouches of one lot sealed at each
// and tested.
type LadderTrial struct {
	Pouch ID           `json:"pouch"`
	Lot   string       `json:"lot,omitempty"`
	Kit   string       `json:"kit,omitempty"`   // lot of the dye
	Hold  string       `json:"hold,omitempty"`  // as in an approval
	Speed string       `json:"speed,omitempty"` // as in an approval
	Steps []LadderStep `json:"steps"`
}

// LadderStep is one seal at one setting. A seal that burned, tore or is open
// needs no test.
type LadderStep struct {
	Setting Quantity `json:"setting"`
	Dye     Outcome  `json:"dye,omitempty"` // pass or fail
	Peel    Outcome  `json:"peel,omitempty"`
	Look    SealLook `json:"look,omitempty"`
}

func (*LadderTrial) kind() (Kind, int) { return "ladder-trial", 1 }
