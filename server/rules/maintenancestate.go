package rules

import "tidemark/server/record"

// Upkeep is what is done to sealers of one type. Begun tells for each task since
// when the plan has it.
type Upkeep struct {
	Tasks []record.Task          `json:"tasks"`
	Begun map[string]record.Date `json:"begun"`
	Set   record.Seq             `json:"set"`
	By    record.ID              `json:"by"`
}

// Upkept is what was done to one sealer.
type Upkept struct {
	Kept       []Kept    `json:"kept,omitempty"`        // a row for each task
	Unused     []DaySpan `json:"unused,omitempty"`      // days without use, the newest keptUnused spans
	UnusedGone int       `json:"unused_gone,omitempty"` // days without use that are no longer among Unused
	Calibrated []Good    `json:"calibrated,omitempty"`  // last calibration that left a pouch's window kept
}

// Kept is when a task was last done on a sealer, or left out.
type Kept struct {
	Task    string      `json:"task"`
	Day     record.Date `json:"day"`               // operating day, 0: never
	At      record.Time `json:"at"`                //
	For     record.Date `json:"for,omitzero"`      // the due day that it answered
	Seq     record.Seq  `json:"seq"`               //
	By      record.ID   `json:"by"`                //
	Skipped bool        `json:"skipped,omitempty"` //
	Unused  int         `json:"unused,omitempty"`  // days without use since Day that the sealer forgot
	Until   record.Date `json:"until,omitzero"`    // a lead lets it wait through this day
}

// kept is the row of a task, nil if it was never done.
func (s *Sealer) kept(task string) *Kept {
	for i := range s.Kept {
		if s.Kept[i].Task == task {
			return &s.Kept[i]
		}
	}
	return nil
}
