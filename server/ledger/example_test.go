package ledger_test

import (
	"context"
	"fmt"
	"log"
	"os"

	"tidemark/server/fault"
	"tidemark/server/ledger"
	"tidemark/server/record"
)

// A command is decided on the state that all commands before it have led to.
func Example() {
	dir, err := os.MkdirTemp("", "ledger")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	l, err := ledger.Open(ledger.Options{Dir: dir, Fold: countFold()})
	if err != nil {
		log.Fatal(err)
	}
	defer l.Close()

	once := func(v record.View, now record.Time) ([]ledger.Draft, error) {
		if v.Value(sealer(1)) != nil {
			return nil, fault.New(fault.Conflict, "Sealer 1 is there already.")
		}
		r, err := record.New(&record.SealerRetired{})
		r.Subject, r.Happened = sealer(1), record.Moment(now)
		return []ledger.Draft{{Record: r}}, err
	}
	for _, sent := range []record.ID{{1}, {1}, {2}} {
		got, err := l.Append(context.Background(), ledger.Command{ID: sent, Decide: once})
		fmt.Println(got.First, got.Count, got.Repeat, err)
	}
	// Output:
	// 0 1 false <nil>
	// 0 1 true <nil>
	// -1 0 false Sealer 1 is there already.
}
