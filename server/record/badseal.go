package record

// Fault is a kind of seal fault, in the words of the trade.
type Fault string

const (
	Channel      Fault = "channel"
	Unsealed     Fault = "unsealed"
	Weak         Fault = "weak"
	Burn         Fault = "burn"
	Bubble       Fault = "bubble"
	DontKnow     Fault = "dont-know"
	Crease       Fault = "crease"
	TooClose     Fault = "too-close"
	Overfilled   Fault = "overfilled"
	Tear         Fault = "tear"
	Hole         Fault = "hole"
	Dirt         Fault = "dirt"
	Narrow       Fault = "narrow"
	Delamination Fault = "delamination"
	SecondSeal   Fault = "second-seal"
)

// Faults lists every fault in the order of a form.
func Faults() []Fault {
	return []Fault{Channel, Unsealed, Weak, Burn, Bubble, Crease, TooClose, Overfilled, Tear, Hole,
		Dirt, Narrow, Delamination, SecondSeal, DontKnow}
}

// Where a bad pack was found.
const (
	AtBench   = "bench"
	AtLoad    = "load" // before or after sterilization, still in the department
	AtStore   = "store"
	AtTheatre = "operating-room"
)

// BadSeal is a report of a bad seal on a pack.
type BadSeal struct {
	Kind       Fault  `json:"kind"`
	Place      Place  `json:"place,omitempty"`
	AtCM       string `json:"at_cm,omitempty"`
	MakersSeal bool   `json:"makers_seal,omitempty"` // the pouch maker's seal, not the department's
	Pouch      ID     `json:"pouch,omitzero"`
	Lot        string `json:"lot,omitempty"`       // of the pouch
	Load       string `json:"load,omitempty"`      // sterilizer load
	Found      string `json:"found,omitempty"`     // one of At...
	SealedAt   *Span  `json:"sealed_at,omitempty"` // when the pack was sealed, if not just now
}

// Packs counts packs sealed on a sealer, if the department keeps a pack log.
type Packs struct {
	Pouch ID     `json:"pouch"`
	Count int    `json:"count"`
	Load  string `json:"load,omitempty"`
	Set   string `json:"set,omitempty"` // setting they were sealed at, if not the approved one
}

// Photograph belongs to another record and names it; it arrives after it. The
// bytes lie in the photographs folder under their SHA-256.
type Photograph struct {
	Of        ID     `json:"of"` // id of the record it belongs to
	SHA256    string `json:"sha256"`
	Bytes     int    `json:"bytes"`
	Width     int    `json:"width"`
	Height    int    `json:"height"`
	Sharpness string `json:"sharpness"` // variance of the Laplacian, rounded
	Blurred   bool   `json:"blurred,omitempty"`
}

func (*BadSeal) kind() (Kind, int)    { return "bad-seal", 1 }
func (*Packs) kind() (Kind, int)      { return "packs", 1 }
func (*Photograph) kind() (Kind, int) { return "photograph", 1 }
