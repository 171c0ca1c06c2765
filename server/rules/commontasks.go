package rules

import (
	"slices"

	"tidemark/server/record"
)

// CommonTasks are what a lead may start a plan of maintenance from. The intervals
// are common practice, no source, where a task names none: the IFU of the sealer,
// local policy and local codes decide. None is given to technicians: a lead does
// that, with the page of the IFU that lists it for users.
func CommonTasks(t record.SealerType) []record.Task {
	list := bars()
	switch t {
	case record.Impulse:
		list = append(list, record.Task{Code: "timer", Name: "Timer: measure the heating time", Months: 6, Grace: 14, Reading: "Heating time, s"},
			record.Task{Code: "cooling", Name: "Cooling: the jaw stays closed until the seal is cool", Months: 6, Grace: 14})
	case record.Continuous:
		list = feeds()
	}
	list = append(list, everySealer()...)
	for i := range list {
		list[i].Who = []record.Role{record.Lead, record.Engineering}
	}
	return list
}

// bars are the tasks of a sealer that closes a jaw.
func bars() []record.Task {
	return []record.Task{
		{Code: "jaw", Name: "Clean the jaw, cold and switched off", UseDays: 5, Days: 14, Grace: 2, Recheck: true},
		{Code: "cover", Name: "Look at the non-stick cover; replace it if burnt or worn", UseDays: 60, Months: 3, Grace: 7, Recheck: true},
		{Code: "pad", Name: "Look at the pad; replace it if hard or marked", Months: 6, Grace: 14, Recheck: true},
		{Code: "element", Name: "Turn or replace the sealing element", UseDays: 250, Months: 12, Grace: 14, Recheck: true},
	}
}

// feeds are the tasks of a continuous-feed sealer.
func feeds() []record.Task {
	return []record.Task{
		{Code: "guides", Name: "Clean and align the guides", UseDays: 20, Months: 1, Grace: 5, Recheck: true},
		{Code: "rollers", Name: "Rollers: clean, look for wear", Months: 3, Grace: 14, Recheck: true},
		{Code: "belts", Name: "Belts: look for wear and tension", Months: 3, Grace: 14, Recheck: true},
		{Code: "speed", Name: "Measure the feed speed", Months: 6, Grace: 14, Reading: "Speed, m/min"},
		{Code: "thermocouple", Name: "Thermocouple: seat and wiring, by qualified people", Months: 12, Grace: 30, Recheck: true},
	}
}

// everySealer are the tasks of every type.
func everySealer() []record.Task {
	return []record.Task{
		{Code: "pressure-print", Name: "Contact-pressure print along the whole bar", Months: 6, Grace: 14, Reading: "Even, or where it is faint"},
		{Code: "seal-width", Name: "Measure the seal width", Months: 3, Grace: 14, Reading: "Narrowest rib, mm"},
		{Code: record.CalibrationTask, Name: "Calibration", Months: 12, Grace: 30, Blocks: true, Recheck: true,
			Source: "Brazil, RDC 15/2012, art. 38: at least yearly. Local codes may ask for more"},
		{Code: "electrical-safety", Name: "Electrical safety, by qualified people", Months: 12, Grace: 30},
	}
}

// CommonTask is one of them, for a sealer type; ok is false if it is none.
func CommonTask(t record.SealerType, code string) (record.Task, bool) {
	list := CommonTasks(t)
	i := slices.IndexFunc(list, func(t record.Task) bool { return t.Code == code })
	if i < 0 {
		return record.Task{}, false
	}
	return list[i], true
}
