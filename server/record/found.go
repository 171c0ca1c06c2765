package record

// Rang says that a report of a bad pack found elsewhere came in and the leads
// are told; at most one an hour, however many strangers write.
type Rang struct {
	Waiting int `json:"waiting"` // reports in the inbox then
}

// NotOurs says that somebody took a report found elsewhere and that it is not
// about a sealer of the department.
type NotOurs struct {
	Report ID     `json:"report"`
	Why    string `json:"why"`
}

func (*Rang) kind() (Kind, int)    { return "rang", 1 }
func (*NotOurs) kind() (Kind, int) { return "not-ours", 1 }
