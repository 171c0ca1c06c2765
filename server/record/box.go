package record

// BoxOpened says that a new box is in use from now on: opened once, it is the
// default of every check until the next one.
type BoxOpened struct {
	What    Supply `json:"what"`
	Pouch   ID     `json:"pouch,omitzero"` // whose box it is, of a box of pouches
	Lot     string `json:"lot"`
	Expires Date   `json:"expires,omitzero"` // the last day it may be used
}

// Supply is what comes in boxes with a lot and a date.
type Supply string

const (
	PouchBox     Supply = "pouch"
	DyeBox       Supply = "dye"       // kit of the dye penetration test
	IndicatorBox Supply = "indicator" // seal indicator sheets
)

func (*BoxOpened) kind() (Kind, int) { return "box-opened", 1 }
