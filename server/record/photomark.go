package record

// PhotoMarked says where on a photograph the fault is, in thousandths of its
// width from the left and of its height from the top.
type PhotoMarked struct {
	Photo ID  `json:"photo"` // id of the Photograph
	X     int `json:"x"`
	Y     int `json:"y"`
}

func (*PhotoMarked) kind() (Kind, int) { return "photo-marked", 1 }
