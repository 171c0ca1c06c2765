package record

// SealerType is how a heat sealer makes its heat and how it is set.
type SealerType string

const (
	BarDial    SealerType = "bar-dial"    // constant-heat bar with a dial or switch
	BarDisplay SealerType = "bar-display" // constant-heat bar with a temperature display
	Impulse    SealerType = "impulse"     // impulse bar with a timer: its dial is heating time
	Continuous SealerType = "continuous"  // continuous-feed, temperature and speed
)

// SealerTypes lists the types in the order of a form.
func SealerTypes() []SealerType { return []SealerType{BarDial, BarDisplay, Impulse, Continuous} }

// SealerFacts are what is known of a sealer. Number is short and unique in the
// hospital: it stands on every pack.
type SealerFacts struct {
	Number   string     `json:"number"`
	Type     SealerType `json:"type"`
	Asset    string     `json:"asset,omitempty"`
	Serial   string     `json:"serial,omitempty"`
	Model    string     `json:"model,omitempty"`
	Place    string     `json:"place,omitempty"`
	WidthCM  int        `json:"width_cm,omitempty"` // sealing width
	Contract string     `json:"contract,omitempty"`
	Loaner   bool       `json:"loaner,omitempty"`
	IFU      Document   `json:"ifu"`
}

// SealerAdded brings a sealer into a department. Code is that of its label.
type SealerAdded struct {
	SealerFacts
	Code string `json:"code"`
}

// SealerChanged replaces a sealer's facts or, with Code, its label.
type SealerChanged struct {
	SealerFacts
	Code   string `json:"code,omitempty"`
	Reason string `json:"reason,omitempty"`
}

// SealerMoved says that a sealer stands elsewhere now.
type SealerMoved struct {
	Place      string `json:"place"`
	Department ID     `json:"department,omitzero"`
}

// SealerRetired ends a sealer's service for good.
type SealerRetired struct {
	Why string `json:"why,omitempty"`
}

func (*SealerAdded) kind() (Kind, int)   { return "sealer-added", 1 }
func (*SealerChanged) kind() (Kind, int) { return "sealer-changed", 1 }
func (*SealerMoved) kind() (Kind, int)   { return "sealer-moved", 1 }
func (*SealerRetired) kind() (Kind, int) { return "sealer-retired", 1 }
