package record

// MaintenanceSet says what is done to sealers of one type, and how often. It
// replaces the plan before.
type MaintenanceSet struct {
	SealerType SealerType `json:"sealer_type"`
	Tasks      []Task     `json:"tasks"`
	Reason     string     `json:"reason,omitempty"`
}

// Task is one thing that is done again and again. Of its intervals the one that
// ends first makes it due. Its code stays while its name may change.
type Task struct {
	Code    string `json:"code"`
	Name    string `json:"name"`
	Days    int    `json:"days,omitempty"`
	Months  int    `json:"months,omitempty"`
	UseDays int    `json:"use_days,omitempty"` // operating days in use
	Grace   int    `json:"grace,omitempty"`    // days after the due day that are not yet overdue
	Fixed   bool   `json:"fixed,omitempty"`    // days and months count from From, not from the last time
	From    Date   `json:"from,omitzero"`
	Recheck bool   `json:"recheck,omitempty"` // a check is due after it
	Blocks  bool   `json:"blocks,omitempty"`  // overdue: do not seal until it is done or extended
	Who     []Role `json:"who"`               // who may do it
	Reading string `json:"reading,omitempty"` // what may be read off, with its unit
	Source  string `json:"source,omitempty"`  // IFU or code behind it; none: common practice
}

// TaskDone says that a task was done. A note is sealed as "note"; photographs
// are records of their own.
type TaskDone struct {
	Task    string `json:"task"`
	For     Date   `json:"for,omitzero"` // the due day that it answers
	Reading string `json:"reading,omitempty"`
	Part    string `json:"part,omitempty"` // what was put in
	Report  string `json:"report,omitempty"`
}

// TaskSkipped leaves a task out this time.
type TaskSkipped struct {
	Task   string `json:"task"`
	For    Date   `json:"for,omitzero"`
	Reason string `json:"reason"`
}

// TaskExtended lets a task wait, with a lead's name under it.
type TaskExtended struct {
	Task   string `json:"task"`
	Until  Date   `json:"until"` // the last day
	Reason string `json:"reason"`
}

func (*MaintenanceSet) kind() (Kind, int) { return "maintenance-set", 1 }
func (*TaskDone) kind() (Kind, int)       { return "task-done", 1 }
func (*TaskSkipped) kind() (Kind, int)    { return "task-skipped", 1 }
func (*TaskExtended) kind() (Kind, int)   { return "task-extended", 1 }
