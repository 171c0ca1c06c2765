package record

// DepartmentOpened is the first record of a department.
type DepartmentOpened struct {
	Name string `json:"name"`
	DepartmentSettings
}

// DepartmentChanged replaces a department's name and settings.
type DepartmentChanged struct {
	Name string `json:"name"`
	DepartmentSettings
	Reason string `json:"reason,omitempty"`
}

// DepartmentSettings are what a lead chooses for a department. Minutes are
// elapsed minutes.
type DepartmentSettings struct {
	Zone         string `json:"zone"`                  // IANA time zone
	DayStart     int    `json:"day_start"`             // minutes after local midnight
	EarlyMinutes int    `json:"early_minutes"`         // a check this long before day start covers the new day
	LateMinutes  int    `json:"late_minutes"`          // written down later than this is late
	Fallback     string `json:"fallback,omitempty"`    // what to do when no sealer is ready, in the department's words
	Engineering  string `json:"engineering,omitempty"` // its word for clinical engineering
	Fahrenheit   bool   `json:"fahrenheit,omitempty"`  // how temperatures are shown
	PackLog      bool   `json:"pack_log,omitempty"`    // packs are counted at the sealer
	MailTo       ID     `json:"mail_to,omitzero"`      // person of engineering who is told first
	FoundCode    string `json:"found_code,omitempty"`  // for the "found a bad pack" card
}

// PlanSet says how sealers of one type are checked in a department.
type PlanSet struct {
	SealerType SealerType `json:"sealer_type"`
	Plan
	Reason string `json:"reason,omitempty"`
}

// Plan is what a check consists of.
type Plan struct {
	Places      []Place `json:"places"`                 // where test pouches are laid
	Tests       []Test  `json:"tests"`                  // what is done to each seal
	ReturnGood  int     `json:"return_good"`            // good return checks wanted in a row
	AskShown    bool    `json:"ask_shown,omitempty"`    // ask what the display reads
	Changeover  bool    `json:"changeover,omitempty"`   // a check before each changeover, too
	Closing     bool    `json:"closing,omitempty"`      // a closing check
	PerShift    []int   `json:"per_shift,omitempty"`    // further check times, minutes after local midnight
	CoolMinutes int     `json:"cool_minutes,omitempty"` // to a lower setting
	WarmMinutes int     `json:"warm_minutes,omitempty"` // to a higher setting, or from cold
	Policy      string  `json:"policy,omitempty"`       // policy and IFU page behind the plan
}

// NotUsed says that sealers were not or will not be used on some days.
type NotUsed struct {
	Sealers []ID   `json:"sealers"` // empty: the whole department is closed
	From    Date   `json:"from"`
	To      Date   `json:"to"`
	Why     string `json:"why,omitempty"`
}

// DeviceLetIn admits a phone, tablet or computer to a department. Its name is
// sealed as "name".
type DeviceLetIn struct {
	Device ID `json:"device"`
}

// DeviceRevoked shuts a device out.
type DeviceRevoked struct {
	Device ID     `json:"device"`
	Why    string `json:"why,omitempty"`
}

// ClockCorrected says that the server's clock had run ahead and was put right.
type ClockCorrected struct {
	Was Time `json:"was"`
}

func (*DepartmentOpened) kind() (Kind, int)  { return "department-opened", 1 }
func (*DepartmentChanged) kind() (Kind, int) { return "department-changed", 1 }
func (*PlanSet) kind() (Kind, int)           { return "plan-set", 1 }
func (*NotUsed) kind() (Kind, int)           { return "not-used", 1 }
func (*DeviceLetIn) kind() (Kind, int)       { return "device-let-in", 1 }
func (*DeviceRevoked) kind() (Kind, int)     { return "device-revoked", 1 }
func (*ClockCorrected) kind() (Kind, int)    { return "clock-corrected", 1 }
