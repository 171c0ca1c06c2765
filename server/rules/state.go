package rules

import (
	"encoding/json"
	"fmt"
	"slices"

	"tidemark/server/record"
)

// Shape is the number of this layout of the state. Raise it by hand with every
// change to the structs here or to Evolve: snapshots of another shape are
// ignored and the records replayed. A test keeps the sum of the structs.
const Shape = 13

// Site is the state of the whole installation.
type Site struct {
	Departments []record.ID          `json:"departments"`
	Codes       map[string]record.ID `json:"codes"`   // label code, also a replaced one, to sealer
	Numbers     map[string]record.ID `json:"numbers"` // sealer number in use to sealer
	Problems    int                  `json:"problems"`
	Erased      []Erasure            `json:"erased,omitempty"` // private values that were removed
}

// Erasure says whose private values were removed, by which record and when.
type Erasure struct {
	Records []record.Seq `json:"records"`
	By      record.Seq   `json:"by"`
	On      record.Date  `json:"on"`
}

// Department is the state of one department.
type Department struct {
	ID   record.ID `json:"id"`
	Name string    `json:"name"`
	record.DepartmentSettings
	Plans   map[record.SealerType]record.Plan `json:"plans"`
	Sealers []record.ID                       `json:"sealers"`
	Pouches []record.ID                       `json:"pouches"`
	People  []record.ID                       `json:"people"`
	Devices map[record.ID]Device              `json:"devices"`
	Open    []record.ID                       `json:"open"`     // problems not closed
	LastDay record.Date                       `json:"last_day"` // newest operating day seen
	NotUsed []NotUsed                         `json:"not_used"` // the newest 64
	Boxes   []Box                             `json:"boxes,omitempty"`
	Lists   []PackList                        `json:"lists,omitempty"`
	Route   *record.RouteSet                  `json:"route"` // nil: all of clinical engineering at once
	Upkeep  map[record.SealerType]Upkeep      `json:"upkeep"`
	Hooks   map[record.ID]Hook                `json:"hooks"`
	// AskTraining is true if a good check counts only from who was signed off.
	AskTraining bool       `json:"ask_training,omitempty"`
	Documents   []Document `json:"documents,omitempty"`
}

// Hook is a webhook that was named.
type Hook struct {
	Name record.Commitment `json:"name"`
	URL  record.Commitment `json:"url"`
	Off  bool              `json:"off,omitempty"`
}

// Device is a phone, tablet or computer that was let in.
type Device struct {
	Name    record.Commitment `json:"name"`
	Revoked bool              `json:"revoked,omitempty"`
}

// PackList is a list of packs that came in.
type PackList struct {
	Seq    record.Seq `json:"seq"`
	SHA256 string     `json:"sha256"`
	Gone   record.Seq `json:"gone"` // the record that took it back, 0 if it counts
}

// NotUsed says that sealers were not used, or the department was closed.
type NotUsed struct {
	Sealers  []record.ID `json:"sealers"`
	From, To record.Date
	Seq      record.Seq `json:"seq"`
}

// Person is the state of a person.
type Person struct {
	ID        record.ID         `json:"id"`
	Dept      record.ID         `json:"dept"`
	Roles     []record.Role     `json:"roles"`
	FirstLine bool              `json:"first_line,omitempty"`
	Left      bool              `json:"left,omitempty"`
	Name      record.Commitment `json:"name"`
	Mail      record.Commitment `json:"mail"`
	Trained   []Training        `json:"trained,omitempty"`
}

// Has reports whether the person has one of the roles and has not left.
func (p *Person) Has(roles ...record.Role) bool {
	return !p.Left && slices.ContainsFunc(roles, func(r record.Role) bool { return slices.Contains(p.Roles, r) })
}

// Pouch is the state of a pouch.
type Pouch struct {
	ID   record.ID `json:"id"`
	Dept record.ID `json:"dept"`
	record.PouchFacts
	Recheck record.Seq            `json:"recheck"` // approvals before this record do not stand; None
	Facts   record.Seq            `json:"facts"`   // the record its facts come from
	Held    map[string]record.Seq `json:"held"`    // lots on hold
}

// Approval is an approval that was given and not ended.
type Approval struct {
	record.ApprovalGiven
	Seq record.Seq  `json:"seq"`
	By  record.ID   `json:"by"`
	On  record.Date `json:"on"`
}

// Good is the last good check of a pouch.
type Good struct {
	Pouch record.ID   `json:"pouch"`
	Seq   record.Seq  `json:"seq"`
	Began record.Time `json:"began"`
	By    record.ID   `json:"by"`
}

// Touch is a record that takes, decides or checks on a sealer.
type Touch struct {
	Seq   record.Seq  `json:"seq"`
	Dev   record.ID   `json:"dev"`
	DevN  int64       `json:"dev_n"`
	From  record.Time `json:"from"`
	To    record.Time `json:"to"`
	Takes bool        `json:"takes,omitempty"`
	Gives record.ID   `json:"gives,omitzero"` // the pouch it made the sealer ready for
	Day   record.Date `json:"day,omitzero"`   // through which operating day
	Until record.Time `json:"until,omitzero"` // and until when, with a check per shift
}

const keptTouches = 16

// Sealer is the state of a sealer.
type Sealer struct {
	ID   record.ID `json:"id"`
	Dept record.ID `json:"dept"`
	record.SealerFacts
	Code      string           `json:"code"`
	Since     record.Date      `json:"since"`
	Begins    record.Time      `json:"begins"` // no record of it is older
	Approvals []Approval       `json:"approvals"`
	Readiness record.Readiness `json:"readiness"`
	Good      []Good           `json:"good"`
	Touches   []Touch          `json:"touches"`   // the newest, oldest first
	TakenTo   record.Time      `json:"taken_to"`  // latest end of a take that is no longer among Touches
	Forgotten record.Seq       `json:"forgotten"` // newest touch no longer among Touches, None
	Problems  []record.ID      `json:"problems"`  // all, oldest first
	Fixes     []Fix            `json:"fixes"`     // first-line fixes, the newest 16
	Doubts    []Doubt          `json:"doubts,omitempty"`
	Filed     Filed            `json:"filed"`
	Tally     Tally            `json:"tally"`
	Numbers   []Numbered       `json:"numbers"`           // that it has had, oldest first
	Waiting   []record.Seq     `json:"waiting,omitempty"` // good checks that a lead may accept, the newest 8
	Upkept
	Identity
	Versions Versions `json:"versions,omitempty"` // of its records that were corrected
}

// Numbered is a number that a sealer has had from a time on.
type Numbered struct {
	Number string      `json:"number"`
	From   record.Time `json:"from"` // 0: always
}

// Doubt says that an approval is not to be used until a lead decides.
type Doubt struct {
	Pouch    record.ID    `json:"pouch"`
	Approval record.Seq   `json:"approval"`
	Why      record.Doubt `json:"why"`
	Seq      record.Seq   `json:"seq"` // the record that says so
}

// Filed are the newest records of what was decided, measured and tried out on a
// sealer's settings, oldest first; keptFiled of each.
type Filed struct {
	Decisions   []record.Seq `json:"decisions,omitempty"` // approvals given, ended, questioned
	Tables      []record.Seq `json:"tables,omitempty"`
	Ladders     []record.Seq `json:"ladders,omitempty"`
	Readings    []record.Seq `json:"readings,omitempty"`
	Validations []record.Seq `json:"validations,omitempty"`
}

const keptFiled = 64

// Table is the newest temperature table, None if there is none.
func (f *Filed) Table() record.Seq {
	if len(f.Tables) == 0 {
		return record.None
	}
	return f.Tables[len(f.Tables)-1]
}

// Fix is a first-line fix.
type Fix struct {
	Cause   string      `json:"cause"`
	At      record.Time `json:"at"`
	Problem record.ID   `json:"problem"`
}

// GetSite returns the site, an empty one at the very start.
func GetSite(v record.View) *Site { return get(v, record.TheSite, &Site{}) }

// GetDepartment returns a department or nil.
func GetDepartment(v record.View, id record.ID) *Department {
	return get[*Department](v, record.Subject{Type: record.Department, ID: id}, nil)
}

// GetSealer returns a sealer or nil.
func GetSealer(v record.View, id record.ID) *Sealer {
	return get[*Sealer](v, record.Subject{Type: record.Sealer, ID: id}, nil)
}

// GetPouch returns a pouch or nil.
func GetPouch(v record.View, id record.ID) *Pouch {
	return get[*Pouch](v, record.Subject{Type: record.Pouch, ID: id}, nil)
}

// GetPerson returns a person or nil.
func GetPerson(v record.View, id record.ID) *Person {
	return get[*Person](v, record.Subject{Type: record.Person, ID: id}, nil)
}

// GetProblem returns a problem or nil.
func GetProblem(v record.View, id record.ID) *Problem {
	return get[*Problem](v, record.Subject{Type: record.Problem, ID: id}, nil)
}

func get[T any](v record.View, s record.Subject, none T) T {
	if value, ok := v.Value(s).(T); ok {
		return value
	}
	return none
}

// Decode reads a value of the state back from a snapshot.
func Decode(t record.Type, b []byte) (any, error) {
	var value any
	switch t {
	case record.Site:
		value = new(Site)
	case record.Department:
		value = new(Department)
	case record.Sealer:
		value = new(Sealer)
	case record.Pouch:
		value = new(Pouch)
	case record.Person:
		value = new(Person)
	case record.Problem:
		value = new(Problem)
	default:
		return nil, fmt.Errorf("decode state: no subject of type %q", t)
	}
	return value, json.Unmarshal(b, value)
}
