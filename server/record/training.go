package record

// Skill is what a person can be signed off for at a type of sealer.
type Skill string

const (
	ToCheck Skill = "check"      // makes the checks that a sealer's readiness rests on
	ToFix   Skill = "first-line" // makes the first-line fix
)

// Skills lists them in the order of a form.
func Skills() []Skill { return []Skill{ToCheck, ToFix} }

// Trained signs a person off for types of sealers. Somebody from outside who
// showed or assessed it is sealed as "shown_by" or "assessed_by".
type Trained struct {
	Types      []SealerType `json:"types"`
	For        []Skill      `json:"for"`
	ShownBy    ID           `json:"shown_by,omitzero"`
	AssessedBy ID           `json:"assessed_by,omitzero"`
	On         Date         `json:"on"`
	DueAgain   Date         `json:"due_again,omitzero"` // last day it counts; 0 for no end
}

// TrainingEnded takes a sign-off back.
type TrainingEnded struct {
	Types []SealerType `json:"types"`
	For   []Skill      `json:"for"`
	Why   string       `json:"why"`
}

// TrainingAsked says whether a department asks for a sign-off before somebody's
// good check counts. It does not until a lead says so.
type TrainingAsked struct {
	Ask    bool   `json:"ask"`
	Reason string `json:"reason,omitempty"`
}

// CheckAccepted is a lead's word for a good check that gave nothing because
// whoever made it was not signed off.
type CheckAccepted struct {
	Check  Seq    `json:"check"`
	Pouch  ID     `json:"pouch"`
	Reason string `json:"reason"`
}

func (*Trained) kind() (Kind, int)       { return "trained", 1 }
func (*TrainingEnded) kind() (Kind, int) { return "training-ended", 1 }
func (*TrainingAsked) kind() (Kind, int) { return "training-asked", 1 }
func (*CheckAccepted) kind() (Kind, int) { return "check-accepted", 1 }
