package record

// Erased says that the private values of some records were removed for good: names,
// notes, photographs. The records stay, and so does their proof.
type Erased struct {
	Records []Seq  `json:"records"`
	Why     string `json:"why"`
}

func (*Erased) kind() (Kind, int) { return "erased", 1 }
