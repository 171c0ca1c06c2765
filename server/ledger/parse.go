package ledger

import (
	"runtime"
	"sync"

	"tidemark/server/record"
)

// replayLines is how many records are parsed at a time where all are read.
const replayLines = 2048

// parseAll parses lines on all processors.
func parseAll(first record.Seq, lines [][]byte) ([]record.Record, error) {
	all := make([]record.Record, len(lines))
	part := len(lines)/runtime.GOMAXPROCS(0) + 1
	var wait sync.WaitGroup
	var failed error
	var once sync.Once
	for from := 0; from < len(lines); from += part {
		wait.Go(func() {
			for i := from; i < min(from+part, len(lines)); i++ {
				var err error
				if all[i], err = parse(first+record.Seq(i), lines[i]); err != nil {
					once.Do(func() { failed = err })
					return
				}
			}
		})
	}
	wait.Wait()
	return all, failed
}
