package record

// Quantity is a number as it was typed and its unit, named as in package
// sealing: 7 1/2 and "mark", 313 and "degF".
type Quantity struct {
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// Uncertainty is how well a temperature is known: a difference, and how it was
// stated: "standard", "expanded" (k = 2) or "accuracy" (limits of a maker).
type Uncertainty struct {
	Quantity
	Stated string `json:"stated"`
}

// Instrument is a reference instrument. Due is the day its certificate ends.
type Instrument struct {
	Name        string `json:"name"`
	Certificate string `json:"certificate,omitempty"`
	Due         Date   `json:"due,omitzero"`
}
