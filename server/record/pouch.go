package record

// Material is what a pouch is made of, as far as sealing goes.
type Material string

const (
	PaperFilm Material = "paper-film" // paper and transparent film
	Nonwoven  Material = "nonwoven"   // HDPE nonwoven and transparent film
	Gusseted  Material = "gusseted"   // paper/film with side folds
)

// PouchAdded describes a pouch as its IFU does. Numbers are kept as typed, with
// their unit.
type PouchAdded struct {
	PouchFacts
}

// PouchRevised says that a pouch's IFU was revised.
type PouchRevised struct {
	PouchFacts
	Recheck bool   `json:"recheck,omitempty"` // approvals and checks made before do not stand
	Reason  string `json:"reason,omitempty"`
}

// PouchFacts are what is known of a pouch.
type PouchFacts struct {
	Name        string   `json:"name"`
	Material    Material `json:"material"`
	Low         string   `json:"low,omitempty"`          // sealing temperature from, "165 °C"
	High        string   `json:"high,omitempty"`         // sealing temperature to
	Dwell       string   `json:"dwell,omitempty"`        // "1.5 s"
	Pressure    string   `json:"pressure,omitempty"`     // "0.4 N/mm2"
	SealWidth   string   `json:"seal_width,omitempty"`   // "6 mm"
	MinStrength string   `json:"min_strength,omitempty"` // "1.5 N/15mm"
	Processes   []string `json:"processes,omitempty"`    // steam, hydrogen peroxide, ethylene oxide
	IFU         Document `json:"ifu"`
	Retired     bool     `json:"retired,omitempty"`
}

// Document is where a statement stands.
type Document struct {
	Title    string `json:"title"`
	Revision string `json:"revision,omitempty"`
	Page     string `json:"page,omitempty"`
	Date     Date   `json:"date,omitzero"`
}

// LotHeld puts a lot of a pouch on hold on every sealer.
type LotHeld struct {
	Lot     string `json:"lot"`
	Problem ID     `json:"problem,omitzero"`
	Why     string `json:"why,omitempty"`
}

// LotReleased ends a hold of a lot.
type LotReleased struct {
	Lot string `json:"lot"`
	Why string `json:"why"`
}

func (*PouchAdded) kind() (Kind, int)   { return "pouch-added", 1 }
func (*PouchRevised) kind() (Kind, int) { return "pouch-revised", 1 }
func (*LotHeld) kind() (Kind, int)      { return "lot-held", 1 }
func (*LotReleased) kind() (Kind, int)  { return "lot-released", 1 }
