package record

// TableSource is where a temperature table comes from.
type TableSource string

const (
	Measured  TableSource = "measured" // at the sealing face, with a reference instrument
	FromMaker TableSource = "maker"    // as the maker of the sealer gives it
)

// Condition is when a calibration was measured.
type Condition string

const (
	AsFound Condition = "as-found" // before anything was adjusted
	AsLeft  Condition = "as-left"
)

// TemperatureTable says what the positions of a control mean in degrees at the
// sealing face. Uncertainty is that of every point that states none of its own.
type TemperatureTable struct {
	Source      TableSource  `json:"source"`
	Condition   Condition    `json:"condition,omitempty"`
	Apart       bool         `json:"apart,omitempty"` // a switch: nothing between its positions
	Points      []TablePoint `json:"points"`
	Uncertainty Uncertainty  `json:"uncertainty"`
	Instrument  Instrument   `json:"instrument,omitzero"`
	Document    Document     `json:"document,omitzero"` // of the maker
}

// TablePoint is one temperature of a table. Position is a mark, or what the
// display shows. No place: the table does not tell them apart.
type TablePoint struct {
	Place       Place       `json:"place,omitempty"`
	Position    Quantity    `json:"position"`
	Face        Quantity    `json:"face"`
	Uncertainty Uncertainty `json:"uncertainty,omitzero"`
}

// Reading is one temperature measured at the sealing face, at one setting: a
// point of a series over time. Set, shown and measured are three things.
type Reading struct {
	Set         Quantity    `json:"set"` // as on the control
	Shown       Quantity    `json:"shown,omitzero"`
	Place       Place       `json:"place,omitempty"`
	Face        Quantity    `json:"face"`
	Uncertainty Uncertainty `json:"uncertainty"`
	Instrument  Instrument  `json:"instrument"`
}

func (*TemperatureTable) kind() (Kind, int) { return "temperature-table", 1 }
func (*Reading) kind() (Kind, int)          { return "reading", 1 }
