package proof

import "fmt"

// None is the Prev of a subject's first record.
const None int64 = -1

// Link is what a record says of its subject's chain: its own number and that of
// the record of the same subject before it.
type Link struct {
	Seq, Prev int64
	Subject   string
}

// CheckChains reports whether the links, in rising order of Seq, leave out no
// record of any of their subjects between the first and the last given. It
// returns the Prev of each subject's first link: None where the chain is there
// from its beginning, otherwise the record it goes on from, which is not given.
// Links cannot tell whether a chain has gone on since.
func CheckChains(links []Link) (from map[string]int64, err error) {
	from = map[string]int64{}
	newest, subject, last := map[string]int64{}, map[int64]string{}, None
	for _, l := range links {
		if l.Seq <= last || l.Prev < None || l.Prev >= l.Seq {
			return nil, fmt.Errorf("check chains: record %d cannot come after %d and go on from %d",
				l.Seq, last, l.Prev)
		}
		if of, given := subject[l.Prev]; given && of != l.Subject {
			return nil, fmt.Errorf("check chains: record %d of %s goes on from %d, which is of %s",
				l.Seq, l.Subject, l.Prev, of)
		}
		if prev, known := newest[l.Subject]; !known {
			from[l.Subject] = l.Prev
		} else if prev != l.Prev {
			return nil, fmt.Errorf("check chains: record %d of %s goes on from %d, given was %d",
				l.Seq, l.Subject, l.Prev, prev)
		}
		last, newest[l.Subject], subject[l.Seq] = l.Seq, l.Seq, l.Subject
	}
	return from, nil
}
