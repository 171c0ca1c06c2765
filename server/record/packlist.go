package record

// PacksListed says that a list of packs came in from the department's own
// system: one file, kept under its SHA-256, one record. It gives nothing and
// bounds no hold; what it adds is packs to look for.
type PacksListed struct {
	SHA256  string      `json:"sha256"`
	Bytes   int64       `json:"bytes"`
	Rows    int         `json:"rows"`               // that were taken
	Packs   int         `json:"packs"`              // in them
	LeftOut int         `json:"left_out,omitempty"` // rows that could not be read
	First   Time        `json:"first"`              // no pack of it was sealed before
	Last    Time        `json:"last"`               // nor after
	Sealers []string    `json:"sealers"`            // numbers of the sealers in it
	Columns PackColumns `json:"columns"`
}

// PackColumns tell how a list of packs is to be read: the names of its columns,
// as its first line has them, and what its times mean.
type PackColumns struct {
	Sealer    string       `json:"sealer"`
	Date      string       `json:"date"`            // date, or date and time
	Clock     string       `json:"clock,omitempty"` // time of day, where it has a column of its own
	Pouch     string       `json:"pouch,omitempty"`
	Load      string       `json:"load,omitempty"`
	Pack      string       `json:"pack,omitempty"`  // the pack's own number
	Count     string       `json:"count,omitempty"` // packs of a row; one without it
	Order     string       `json:"order"`           // ymd | dmy | mdy
	Which     string       `json:"which"`           // one of the Time... below
	Zone      string       `json:"zone"`            // of times that do not bring their own
	Before    int          `json:"before"`          // minutes that a pack may have been sealed before the time
	After     int          `json:"after"`           // or after it
	Encoding  string       `json:"encoding"`        // utf-8 | utf-16 | windows-1252 | iso-8859-1
	Separator string       `json:"separator"`       // , ; | or a tab
	Same      []SealerName `json:"same,omitempty"`  // what sealers are called in it
}

// SealerName is what a list calls a sealer.
type SealerName struct {
	Cell   string `json:"cell"`
	Number string `json:"number"`
}

// What the time of a row is the time of.
const (
	TimeSealed     = "sealing"
	TimePrinted    = "printing"    // of the pack's label
	TimeSterilized = "sterilizing" // of its load
)

// PacksTurnedUp says that a list that came in later holds packs of a hold that
// counted as settled.
type PacksTurnedUp struct {
	List  ID  `json:"list"` // id of the PacksListed
	Packs int `json:"packs"`
}

// PacksUnlisted takes a list back that was read by the wrong columns, or is not the
// department's: no hold looks into it any more. The file is kept, as the record is.
type PacksUnlisted struct {
	List Seq    `json:"list"` // the PacksListed
	Why  string `json:"why"`
}

func (*PacksUnlisted) kind() (Kind, int) { return "packs-unlisted", 1 }
func (*PacksListed) kind() (Kind, int)   { return "packs-listed", 1 }
func (*PacksTurnedUp) kind() (Kind, int) { return "packs-turned-up", 1 }
