package desk

import "tidemark/server/fault"

func needName() error {
	return fault.Field("name", "Type your name: it is how others know who has seen it.")
}

func needNote() error { return fault.Field("note", "Type the note.") }

func badTime(field string) error { return fault.Field(field, "Type a date and time.") }

func waitsForAnswer() error {
	return fault.New(fault.Stale, "Earlier checks could not have seen this fault. A lead has to accept or decline the wider window first.")
}
