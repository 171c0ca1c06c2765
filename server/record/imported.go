package record

// FileImported says that a file of sealers, pouches, people or past records was
// taken in. Rows are those that the file has; each that could be taken is a
// record of its own.
type FileImported struct {
	What string `json:"what"`
	File string `json:"file"` // SHA-256 in hex
	Rows int    `json:"rows"`
}

// Past records of a file: what was done.
const (
	PastCheck       = "check"
	PastMaintenance = "maintenance"
	PastRepair      = "repair"
	PastCalibration = "calibration"
	PastOther       = "other"
)

// Pasts lists them in the order of a form.
func Pasts() []string {
	return []string{PastCheck, PastMaintenance, PastRepair, PastCalibration, PastOther}
}

// How precisely a past record tells when it happened.
const (
	ToTheMinute = "minute"
	ToTheDay    = "day"
)

// Imported is a row of a file of past records of a sealer. It tells what was
// written elsewhere and proves nothing here: it gives no readiness, ends no
// problem and bounds no hold. Who did it is sealed as "done_by", as the file says.
type Imported struct {
	What      string `json:"what"`
	Outcome   string `json:"outcome,omitempty"` // as the file says
	Pouch     string `json:"pouch,omitempty"`   // as the file says
	Precision string `json:"precision"`
	File      string `json:"file"` // SHA-256 in hex
	Row       int    `json:"row"`  // line of the file, its first being 1
}

func (*FileImported) kind() (Kind, int) { return "file-imported", 1 }
func (*Imported) kind() (Kind, int)     { return "imported", 1 }
