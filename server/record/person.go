package record

// Role is what a person may do. People can have several.
type Role string

const (
	Technician    Role = "technician"
	Lead          Role = "lead"
	Engineering   Role = "engineering"
	Surveyor      Role = "surveyor" // reads only
	Administrator Role = "administrator"
)

// PersonAdded brings a person into a department. Their name is sealed as
// "name", a mail address, if any, as "mail".
type PersonAdded struct {
	Roles     []Role `json:"roles"`
	FirstLine bool   `json:"first_line,omitempty"` // trained for the first-line fix
}

// PersonChanged replaces what a person may do. Sealed fields that are named
// replace those before.
type PersonChanged struct {
	Roles     []Role `json:"roles"`
	FirstLine bool   `json:"first_line,omitempty"`
	Left      bool   `json:"left,omitempty"`
	Why       string `json:"why,omitempty"`
}

func (*PersonAdded) kind() (Kind, int)   { return "person-added", 1 }
func (*PersonChanged) kind() (Kind, int) { return "person-changed", 1 }
