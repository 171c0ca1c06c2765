package record

// CalibrationTask is the code of the task that a Calibrated answers.
const CalibrationTask = "calibration"

// Calibrated holds a sealer's control against a reference instrument. Found is
// before anything was adjusted; no Left: nothing was.
type Calibrated struct {
	For         Date         `json:"for,omitzero"` // the due day that it answers
	Found       []TablePoint `json:"found"`
	Left        []TablePoint `json:"left,omitempty"`
	Apart       bool         `json:"apart,omitempty"` // a switch: nothing between its positions
	Uncertainty Uncertainty  `json:"uncertainty"`
	Tolerance   Quantity     `json:"tolerance,omitzero"` // how far a display may be off, a difference
	Instrument  Instrument   `json:"instrument"`
	Report      string       `json:"report,omitempty"` // number of the calibration report
	Firm        string       `json:"firm,omitempty"`   // who came, if not the hospital's own people
}

// Verdict is what a measured temperature means for the window of a pouch.
type Verdict string

const (
	Kept     Verdict = "kept"     // within, and known well enough
	Missed   Verdict = "missed"   // outside: its packs are to be held
	Unclear  Verdict = "unclear"  // within, but not surely: a lead decides
	Unjudged Verdict = "unjudged" // no window, or beyond what was measured
)

// FoundJudged stands beside a Calibrated, one for each approved pouch: whether
// its window was met as found, and is met as left. The texts are as shown then.
type FoundJudged struct {
	Pouch      ID       `json:"pouch"`
	Approval   Seq      `json:"approval"`
	Setting    Quantity `json:"setting"`
	Window     string   `json:"window,omitempty"`     // of the pouch, "120.0 °C to 130.0 °C"
	Found      Verdict  `json:"found"`                //
	Face       string   `json:"face,omitempty"`       // as found, at the place that decides
	Place      Place    `json:"place,omitempty"`      //
	Confidence string   `json:"confidence,omitempty"` // probability that the window was met
	Left       Verdict  `json:"left"`
	LeftFace   string   `json:"left_face,omitempty"`
	LeftSure   string   `json:"left_sure,omitempty"`
	Since      Time     `json:"since,omitzero"` // missed since then at the most: the last good calibration
}

// BulkAssessed is the first of two names under an end for all packs of a hold.
type BulkAssessed struct {
	End    string `json:"end"` // as of PackSettled
	Reason string `json:"reason"`
	From   Time   `json:"from"`
	To     Time   `json:"to"`
	Digest string `json:"digest"` // SHA-256 of the hold list
	Size   int64  `json:"size"`   // of the ledger it was drawn from
	Packs  int    `json:"packs"`
}

// BulkConfirmed is the second name, of another person; only now it holds.
type BulkConfirmed struct {
	Assessed Seq    `json:"assessed"` // the first name's record
	Digest   string `json:"digest"`   // of the list as the second person saw it
}

func (*Calibrated) kind() (Kind, int)    { return "calibrated", 1 }
func (*FoundJudged) kind() (Kind, int)   { return "found-judged", 1 }
func (*BulkAssessed) kind() (Kind, int)  { return "bulk-assessed", 1 }
func (*BulkConfirmed) kind() (Kind, int) { return "bulk-confirmed", 1 }
