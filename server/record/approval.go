package record

// Basis is what an approval rests on.
type Basis string

const (
	FromIFU    Basis = "ifu"
	FromTable  Basis = "temperature-table"
	FromLadder Basis = "ladder-trial"
)

// ApprovalGiven is a lead's decision for one pouch on one sealer: the only
// number a technician sees. Value is as the control shows it.
type ApprovalGiven struct {
	Pouch       ID       `json:"pouch"`
	Value       string   `json:"value"`           // "7 1/2", "180"
	Unit        string   `json:"unit"`            // a sealing.Unit: "mark", "degC", "degF", "s"
	Hold        string   `json:"hold,omitempty"`  // "until the light goes out", "2 s"
	Speed       string   `json:"speed,omitempty"` // "8 m/min"
	Basis       Basis    `json:"basis"`
	IFU         Document `json:"ifu"`
	Table       *Seq     `json:"table,omitempty"`        // temperature table or ladder trial it rests on
	Provisional Date     `json:"provisional,omitzero"`   // good through this day only
	Confidence  string   `json:"confidence,omitempty"`   // probability of conformity as shown then, "97 %"
	FaceDegrees string   `json:"face_degrees,omitempty"` // predicted at the sealing face, "178 degC"
}

// ApprovalEnded takes an approval back.
type ApprovalEnded struct {
	Pouch ID     `json:"pouch"`
	Why   string `json:"why"`
}

// Doubt is why an approval is in question.
type Doubt string

const (
	DoubtTable Doubt = "new-table"        // a newer temperature table
	DoubtIFU   Doubt = "ifu-revised"      // another window
	DoubtFound Doubt = "out-of-tolerance" // as a calibration or a reading found it
)

// ApprovalQuestioned stands beside the record that showed an approved setting
// to lie outside the pouch's window: do not use it until a lead decides. Its Of
// is the id of that record, or shares it. The texts are as shown then.
type ApprovalQuestioned struct {
	Pouch      ID     `json:"pouch"`
	Approval   Seq    `json:"approval"`
	Why        Doubt  `json:"why"`
	Face       string `json:"face"`                 // at the sealing face, "132.1 °C"
	Window     string `json:"window"`               // of the pouch, "120.0 °C to 130.0 °C"
	Confidence string `json:"confidence,omitempty"` // probability of conformity, "2.1 %"
}

func (*ApprovalGiven) kind() (Kind, int)      { return "approval-given", 1 }
func (*ApprovalEnded) kind() (Kind, int)      { return "approval-ended", 1 }
func (*ApprovalQuestioned) kind() (Kind, int) { return "approval-questioned", 1 }
