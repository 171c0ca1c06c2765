package record

// State is where a sealer stands, in the words of the screens.
type State string

const (
	Ready           State = "ready"
	CheckDue        State = "check-due"
	NotReady        State = "not-ready"
	OutOfService    State = "out-of-service"
	WithEngineering State = "with-engineering"
	Retired         State = "retired"
)

// Need is what a sealer that is not ready is waiting for.
type Need string

const (
	NeedNothing  Need = ""
	NeedCheck    Need = "check"         // the check of the day
	NeedTestSeal Need = "test-seal"     // one test seal after a crease or a tear
	NeedFresh    Need = "two-fresh"     // two fresh pouches after a test that was not valid
	NeedReturn   Need = "return-checks" // return-to-service checks
)

// Readiness is where a record left a sealer. It is the whole answer: evolve
// puts it in place of the one before.
type Readiness struct {
	State    State  `json:"state"`
	Pouch    ID     `json:"pouch,omitzero"`    // ready for, or being made ready for
	Approval Seq    `json:"approval"`          // the approval it rests on, None if none
	Day      Date   `json:"day,omitzero"`      // last operating day that a Ready counts for
	Need     Need   `json:"need,omitempty"`    //
	Good     int    `json:"good,omitempty"`    // good ones so far, of a need that wants several
	Of       int    `json:"of,omitempty"`      // how many it wants
	From     Time   `json:"from"`              // since when
	Until    Time   `json:"until,omitzero"`    // a check is not possible before
	Why      string `json:"why,omitempty"`     // a code for the reason
	Problem  ID     `json:"problem,omitzero"`  // the open problem that keeps it from sealing
	Check    Seq    `json:"check"`             // the check that gave Ready, None if none
	CheckAt  Time   `json:"check_at,omitzero"` // when that check began
	NotValid int    `json:"not_valid,omitempty"`
}

// Effect is what the rules made of a record.
type Effect struct {
	Sealer    ID         // whose readiness, if not the subject's
	Takes     bool       // it can take Ready away, whether or not there was one
	Readiness *Readiness // from here on; nil leaves it as it was
	Opens     int        // number of the problem that this record opens, 0 if none
	Joins     ID         // the problem it belongs to
	Code      string     // label code given to a sealer
	Nothing   string     // why a good fact gave nothing, as a code
}

func (r *Readiness) append(b []byte) []byte {
	o := open(b)
	o.str("state", string(r.State))
	o.id("pouch", r.Pouch)
	o.int("approval", int64(r.Approval))
	o.date("day", r.Day)
	o.str("need", string(r.Need))
	o.count("good", r.Good)
	o.count("of", r.Of)
	o.time("from", r.From)
	o.timeIf("until", r.Until)
	o.str("why", r.Why)
	o.id("problem", r.Problem)
	o.int("check", int64(r.Check))
	o.timeIf("check_at", r.CheckAt)
	o.count("not_valid", r.NotValid)
	return o.close()
}

func (e *Effect) append(b []byte) []byte {
	o := open(b)
	o.id("sealer", e.Sealer)
	o.yes("takes", e.Takes)
	if e.Readiness != nil {
		o.key("readiness")
		o.b = e.Readiness.append(o.b)
	}
	o.count("opens", e.Opens)
	o.id("joins", e.Joins)
	o.str("code", e.Code)
	o.str("nothing", e.Nothing)
	return o.close()
}
