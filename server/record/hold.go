package record

// PacksLocated says where packs of a hold are that have no end yet. Of several about
// the same packs and the same place the newest counts.
type PacksLocated struct {
	Packs ID     `json:"packs,omitzero"` // the log entry they were counted in, if any
	Count int    `json:"count"`
	Where string `json:"where"` // one of Places
}

// HoldTold says who was told of a hold, and under which number they keep it.
type HoldTold struct {
	Whom      string `json:"whom"` // one of Whom
	Reference string `json:"reference,omitempty"`
}

// Where packs of a hold can be, in the order in which they are looked for: what
// is still in the department first.
const (
	OnCart    = "cart"    // cart and bench
	InChamber = "chamber" // chamber and cooling
	InStore   = "store"
	Issued    = "issued" // has left
)

// Wheres lists them.
func Wheres() []string { return []string{OnCart, InChamber, InStore, Issued} }

// InfectionPrevention is told where packs of a hold were used.
const InfectionPrevention = "infection-prevention"

// Whom lists who is told of a hold: for each place of Wheres who has the packs
// there, and who looks into what follows.
func Whom() []string {
	return []string{"bench", "sterilizers", "store", "units", InfectionPrevention, "supplier", "risk"}
}

func (*PacksLocated) kind() (Kind, int) { return "packs-located", 1 }
func (*HoldTold) kind() (Kind, int)     { return "hold-told", 1 }
