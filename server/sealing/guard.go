package sealing

// Acceptance is a window drawn in by a guard band r U on either side (JCGM
// 106:2012, 8.3.2), and where a temperature lies in it. It is advice: at r = 0,
// the default, the probability of conformity alone decides.
type Acceptance struct {
	Limits
	Empty bool // the guard bands meet: nothing can be accepted
	Zone  Zone
}

// Zone is where a temperature lies when its uncertainty is allowed for.
type Zone string

const (
	Inside       Zone = "inside"        // within the acceptance limits
	Outside      Zone = "outside"       // out of the window by more than the guard band
	CannotDecide Zone = "cannot-decide" // neither: never to be read as a fail
)

// Guarded draws the limits in by r times the expanded uncertainty of p.
func (p Prediction) Guarded(l Limits, r float64) Acceptance {
	w := r * p.Expanded()
	a := Acceptance{Limits: Limits{l.Low + w, l.High - w}, Zone: CannotDecide}
	a.Empty = a.Low >= a.High
	switch {
	case !a.Empty && p.T >= a.Low && p.T <= a.High:
		a.Zone = Inside
	case p.T < l.Low-w || p.T > l.High+w:
		a.Zone = Outside
	}
	return a
}
