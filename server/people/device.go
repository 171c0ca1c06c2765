package people

import (
	"bytes"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"tidemark/server/fault"
)

// Device is a phone, tablet or computer that a lead has let in. Its name is a
// sealed value like any other.
type Device struct {
	ID, Dept ID
	Since    time.Time
	Revoked  time.Time // zero while it is let in
}

type deviceRow struct {
	ID, Dept       ID
	Since, Revoked int64
}

func (r deviceRow) device() Device {
	return Device{r.ID, r.Dept, moment(r.Since), moment(r.Revoked)}
}

// LetIn makes a new device of a department and the long-lived token it keeps:
// 32 base64url characters, never to be seen again.
func (s *Store) LetIn(dept ID, now time.Time) (string, Device, error) {
	token, key, err := s.newToken()
	if err != nil {
		return "", Device{}, err
	}
	id, err := s.rand.id()
	if err != nil {
		return "", Device{}, err
	}
	row := deviceRow{ID: id, Dept: dept, Since: stamp(now)}
	err = s.update(func(tx *bbolt.Tx) error { return s.putDevice(tx, key, row) })
	if err != nil {
		return "", Device{}, err
	}
	return token, row.device(), nil
}

// Device returns the device of a token, a revoked one too: what was made on it
// is still to be judged. An unknown token is fault.Unknown. It reads memory
// only.
func (s *Store) Device(token string) (Device, error) {
	device, ok := s.devices.get(tokenKey(token))
	if !ok {
		return Device{}, fault.New(fault.Unknown, "This device has not been let in yet. "+
			"Ask a lead of the department to let it in.")
	}
	return device, nil
}

// Devices lists the devices of a department, the oldest first.
func (s *Store) Devices(dept ID) []Device {
	list := slices.DeleteFunc(s.devices.all(), func(d Device) bool { return d.Dept != dept })
	slices.SortFunc(list, func(a, b Device) int {
		if order := a.Since.Compare(b.Since); order != 0 {
			return order
		}
		return bytes.Compare(a.ID[:], b.ID[:])
	})
	return list
}

// RevokeDevice ends a device for good, and every session on it. The first time
// counts: revoking it again changes nothing.
func (s *Store) RevokeDevice(id ID, now time.Time) error {
	return s.update(func(tx *bbolt.Tx) error {
		key, row, err := findDevice(tx, id)
		if err != nil {
			return err
		}
		if err := s.endAllOn(tx, id); err != nil {
			return err
		}
		if row.Revoked != 0 {
			return nil
		}
		row.Revoked = stamp(now)
		return s.putDevice(tx, key, row)
	})
}

func (s *Store) putDevice(tx *bbolt.Tx, key [32]byte, row deviceRow) error {
	tx.OnCommit(func() { s.devices.put(key, row.device()) })
	return tx.Bucket(bucketDevices).Put(key[:], pack(row))
}

func findDevice(tx *bbolt.Tx, id ID) (key [32]byte, found deviceRow, err error) {
	known := false
	err = tx.Bucket(bucketDevices).ForEach(func(k, v []byte) error {
		row, _, err := unpack[deviceRow](v)
		if err == nil && row.ID == id {
			key, found, known = [32]byte(k), row, true
		}
		return err
	})
	if err == nil && !known {
		err = fault.New(fault.Unknown, "There is no such device.")
	}
	return key, found, err
}

func (s *Store) loadDevices(tx *bbolt.Tx) error {
	return tx.Bucket(bucketDevices).ForEach(func(k, v []byte) error {
		row, _, err := unpack[deviceRow](v)
		if err == nil {
			s.devices.put([32]byte(k), row.device())
		}
		return err
	})
}
