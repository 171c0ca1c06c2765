package ledger

import "fmt"

// Damage says that what is on disk is not what was stored there. Nothing that
// is damaged is served.
type Damage struct {
	What  string // one sentence
	Do    string // one sentence: the way out
	cause error
}

// wayOut of most damage.
const wayOut = "Stop the server, move the data folder aside and restore the newest backup: " +
	"tidemark restore -from FILE -data DIR."

func damaged(cause error, what string, args ...any) *Damage {
	return &Damage{What: fmt.Sprintf(what, args...), Do: wayOut, cause: cause}
}

// Error returns both sentences and, for the log, the cause.
func (d *Damage) Error() string {
	if d.cause != nil {
		return d.What + " " + d.Do + " (" + d.cause.Error() + ")"
	}
	return d.What + " " + d.Do
}

// Unwrap returns the cause, nil if there is none.
func (d *Damage) Unwrap() error { return d.cause }
