package rules

import (
	"slices"

	"tidemark/server/fault"
	"tidemark/server/record"
)

// importedIsSound looks at a row of a file of past records. It has no effect on
// its sealer whatever it says: see record.Imported.
func importedIsSound(b *record.Imported) error {
	switch {
	case !slices.Contains(record.Pasts(), b.What):
		return fault.Field("what", "Write check, maintenance, repair, calibration or other.")
	case b.Precision != record.ToTheDay && b.Precision != record.ToTheMinute:
		return fault.Field("when", "Say how precisely the time is known.")
	}
	return nil
}
