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
	NeedPlaces   Need = "all-places"    // left, middle and right, after a bad pack found elsewhere
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
	Arrived   Date       // operating day of arrival, if it is not the record's day
}

func (r *Readiness) fields(c *coder) {
	text(c, "state", &r.State)
	quoted(c, "pouch", &r.Pouch, false)
	whole(c, "approval", &r.Approval, 0, true)
	quoted(c, "day", &r.Day, false)
	text(c, "need", &r.Need)
	whole(c, "good", &r.Good, 0, false)
	whole(c, "of", &r.Of, 0, false)
	quoted(c, "from", &r.From, true)
	quoted(c, "until", &r.Until, false)
	text(c, "why", &r.Why)
	quoted(c, "problem", &r.Problem, false)
	whole(c, "check", &r.Check, 0, true)
	quoted(c, "check_at", &r.CheckAt, false)
	whole(c, "not_valid", &r.NotValid, 0, false)
}

func (e *Effect) fields(c *coder) {
	quoted(c, "sealer", &e.Sealer, false)
	c.yes("takes", &e.Takes)
	if c.key("readiness", e.Readiness != nil) {
		if c.reading {
			e.Readiness = new(Readiness)
		}
		c.object(e.Readiness.fields)
	}
	whole(c, "opens", &e.Opens, 0, false)
	quoted(c, "joins", &e.Joins, false)
	text(c, "code", &e.Code)
	text(c, "nothing", &e.Nothing)
	quoted(c, "arrived", &e.Arrived, false)
}
