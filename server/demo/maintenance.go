package demo

import (
	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// calibrated is how many days before today each sealer was last calibrated, as the
// stickers on them say.
var calibrated = map[sealer]int{one: 371, two: 250, four: 201, feed: 140}

// undone is for how many days nobody has done any maintenance: some of it waits.
const undone = 6

// upkeep gives each type of sealer a plan of maintenance, enters from the stickers
// when each was last calibrated, and has people do what is due before the first
// check of the day.
func (h *house) upkeep() {
	h.at(h.day(Days), "08:32", h.planUpkeep)
	h.at(h.day(Days), "08:36", h.readStickers)
	h.at(h.day(Days), "08:38", func() { h.as(brannock).calibrates(true5, nil, "K-21004/1") })
	for back := Days - 1; back > undone; back-- {
		if day := h.day(back); !weekend(day) {
			h.at(day, "05:06", func() { h.as(pellamy).doWhatIsDue() })
			h.at(day, "05:14", func() { h.as(brannock).doWhatIsDue() })
		}
	}
}

func (h *house) planUpkeep() {
	lead := h.as(castellune)
	for _, t := range []record.SealerType{record.BarDial, record.BarDisplay, record.Impulse, record.Continuous} {
		set, err := h.desk.StartMaintenance(h.ctx, lead.caller, desk.CommonIn{From: lead.from(0), SealerType: t, Plan: record.None})
		h.keep("start plan of maintenance", err)
		task := "jaw"
		if t == record.Continuous {
			task = "guides"
		}
		h.giveToTechnicians(t, task, set.Seq)
	}
}

// giveToTechnicians says on which page of the IFU users are told to do a task.
func (h *house) giveToTechnicians(t record.SealerType, code string, plan record.Seq) {
	lead := h.as(castellune)
	task, _ := rules.CommonTask(t, code)
	_, err := h.desk.SetTask(h.ctx, lead.caller, desk.TaskSetIn{From: lead.from(0), SealerType: t, Code: code, Plan: plan,
		Name: task.Name, Days: task.Days, Months: task.Months, UseDays: task.UseDays, Grace: task.Grace, Recheck: task.Recheck,
		Who:    []record.Role{record.Technician, record.Lead, record.Engineering},
		Source: "IFU of the sealer, care by the user", Reason: "the IFU lists it for users"})
	h.keep("set task", err)
}

func (h *house) readStickers() {
	lead := h.as(castellune)
	for s := range sealers {
		days, known := calibrated[sealer(s)]
		if !known {
			continue
		}
		in := desk.TaskIn{From: lead.from(0), Code: h.codes[s], Task: record.CalibrationTask, Report: "K-" + sealers[s].Asset}
		in.Happened = h.day(days).String() + "T10:00"
		_, err := h.desk.DoTask(h.ctx, lead.caller, in)
		h.keep("enter calibration of sealer "+sealers[s].Number, err)
	}
}

// doWhatIsDue goes from sealer to sealer.
func (p hand) doWhatIsDue() {
	for s := range sealers {
		page, err := p.desk.DueHere(p.caller, p.codes[s])
		if !p.keep("look what is due", err) {
			return
		}
		for _, t := range page.Tasks {
			if !t.Open() || !t.Mine || t.Code == record.CalibrationTask {
				continue
			}
			_, err := p.desk.DoTask(p.ctx, p.caller, desk.TaskIn{From: p.from(page.Size), Code: p.codes[s], Task: t.Code,
				For: t.Due, Reading: readings[t.Code]})
			p.keep("do "+t.Code+" on sealer "+sealers[s].Number, err)
		}
	}
}

// readings are what people read off, made up.
var readings = map[string]string{"pressure-print": "even", "seal-width": "8.2 mm", "speed": "8.0 m/min", "timer": "1.4 s"}
