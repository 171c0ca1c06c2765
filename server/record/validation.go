package record

// SealsMade is what the seals of a validation were made of and at.
type SealsMade struct {
	Pouch   ID       `json:"pouch"`
	Setting Quantity `json:"setting"`
	Lot     string   `json:"lot,omitempty"`
}

// StrengthTested tells the greatest force of each strip that was pulled, in the
// order of pulling, and the least that the pouch asks for.
type StrengthTested struct {
	SealsMade
	Strips  []string `json:"strips"`
	Unit    string   `json:"unit"` // of the strips
	Minimum Quantity `json:"minimum"`
	Method  string   `json:"method,omitempty"`
}

// WidthMeasured tells how wide each rib of a seal is, and the least width in all.
type WidthMeasured struct {
	SealsMade
	Ribs  []string `json:"ribs"`
	Unit  string   `json:"unit"` // of the ribs
	Least Quantity `json:"least"`
}

// AfterSterilizing tells how many seals were tested before and after a
// sterilization process, and how many of them were good.
type AfterSterilizing struct {
	SealsMade
	Process    string `json:"process"`
	Load       string `json:"load,omitempty"`
	Before     int    `json:"before"`
	BeforeGood int    `json:"before_good"`
	After      int    `json:"after"`
	AfterGood  int    `json:"after_good"`
}

func (*StrengthTested) kind() (Kind, int)   { return "strength-tested", 1 }
func (*WidthMeasured) kind() (Kind, int)    { return "width-measured", 1 }
func (*AfterSterilizing) kind() (Kind, int) { return "after-sterilizing", 1 }
