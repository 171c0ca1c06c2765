package people

import (
	"bytes"
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// misses counts the wrong PINs in a row of a person on a device.
type misses struct {
	Count uint32
	Last  int64
}

const (
	freeMisses  = 2 // before the first wait
	firstWait   = time.Second * 30
	longestWait = time.Hour
	// lockedAt is where waiting ends and a new PIN is needed: NIST SP 800-63B,
	// 5.2.2, allows 100 failures in a row. (It counts per account, this per
	// device as well; a device is let in by a lead.)
	lockedAt = 100
	// maxMisses rows take half a megabyte.
	maxMisses = 4096
)

// waitAfter returns how long to wait after so many wrong PINs in a row:
// nothing, nothing, 30 s, then twice as long each time up to an hour.
func waitAfter(count uint32) time.Duration {
	if count <= freeMisses {
		return 0
	}
	doublings := min(count-freeMisses-1, 10)
	return min(firstWait<<doublings, longestWait)
}

// ends returns when the wait of a row is over.
func (m misses) ends() time.Time { return moment(m.Last).Add(waitAfter(m.Count)) }

// mayTry refuses a try that comes too early. A row from the future is a clock
// put right since: it refuses nothing, and the next miss dates it anew.
func (m misses) mayTry(now time.Time) error {
	if m.Count >= lockedAt {
		return fault.New(fault.TooMany, "This PIN is locked after %d wrong ones in a row. "+
			"Ask a lead for a new PIN.", lockedAt)
	}
	left := m.ends().Sub(now)
	if left <= 0 || now.Before(moment(m.Last)) {
		return nil
	}
	return fault.Wrap(&WaitError{left}, fault.TooMany,
		"Too many wrong PINs for this name on this device. Try again in %s.", inWords(left))
}

func (s *Store) mayTry(person, device ID, now time.Time) error {
	return s.view(func(tx *bbolt.Tx) error {
		m, err := readMisses(tx, missKey(person, device))
		if err != nil {
			return err
		}
		return m.mayTry(now)
	})
}

// charge counts a try as wrong before it is tested and returns the wait that
// follows if it is. Tries made at the same time are counted one by one, and
// one cut short by a restart has been counted.
func (s *Store) charge(person, device ID, now time.Time) (wait time.Duration, err error) {
	key := missKey(person, device)
	err = s.update(func(tx *bbolt.Tx) error {
		m, err := readMisses(tx, key)
		if err != nil {
			return err
		}
		if err := m.mayTry(now); err != nil {
			return err
		}
		if m.Count == 0 {
			if err := makeRoomForMisses(tx); err != nil {
				return err
			}
		}
		m = misses{m.Count + 1, stamp(now)}
		wait = waitAfter(m.Count)
		return tx.Bucket(bucketMisses).Put(key, pack(m))
	})
	return wait, err
}

func (s *Store) forgive(person, device ID) error {
	return s.update(func(tx *bbolt.Tx) error {
		return tx.Bucket(bucketMisses).Delete(missKey(person, device))
	})
}

// forgiveAll forgets the wrong PINs of a person on all devices.
func forgiveAll(tx *bbolt.Tx, person ID) error {
	b := tx.Bucket(bucketMisses)
	var keys [][]byte
	c := b.Cursor()
	for k, _ := c.Seek(person[:]); bytes.HasPrefix(k, person[:]); k, _ = c.Next() {
		keys = append(keys, k)
	}
	for _, k := range keys {
		if err := b.Delete(k); err != nil {
			return err
		}
	}
	return nil
}

// makeRoomForMisses forgets, once there are too many rows, the one whose wait
// ends first. Rows of people that do not exist, one miss each, push out each
// other and not the long wait of somebody who does.
func makeRoomForMisses(tx *bbolt.Tx) error {
	b := tx.Bucket(bucketMisses)
	var rows int
	var first []byte
	var ends time.Time
	err := b.ForEach(func(k, v []byte) error {
		m, _, err := unpack[misses](v)
		rows++
		if first == nil || m.ends().Before(ends) {
			first, ends = k, m.ends()
		}
		return err
	})
	if err != nil || rows < maxMisses {
		return err
	}
	return b.Delete(first)
}

func readMisses(tx *bbolt.Tx, key []byte) (misses, error) {
	b := tx.Bucket(bucketMisses).Get(key)
	if b == nil {
		return misses{}, nil
	}
	m, _, err := unpack[misses](b)
	return m, err
}

func missKey(person, device ID) []byte { return append(person[:], device[:]...) }
