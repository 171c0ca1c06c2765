package desk

import (
	"context"

	"tidemark/server/fault"
	"tidemark/server/people"
	"tidemark/server/record"
)

// TakeKeptPhoto takes a photograph that a phone kept: after its report, never
// before. While a lead has still to take the report, it stays on the phone; with
// a device shut out since, it is taken only for a report of that same storage.
func (d *Desk) TakeKeptPhoto(ctx context.Context, who Caller, device string, k Kept, in PhotoIn) (PhotoDone, error) {
	if k.ID.IsZero() || k.V < 1 || k.V > KeptVersion {
		return PhotoDone{}, fault.New(fault.Invalid, "This photograph cannot be read here.")
	}
	dev, err := d.people.Device(device)
	if err != nil {
		return PhotoDone{}, fault.Wrap(err, fault.SignIn, "This device is not known here. Let it in, then what it kept is sent.")
	}
	of, err := d.reportOf(dev, in.Of)
	if err != nil {
		return PhotoDone{}, err
	}
	made := d.makerOf(who, dev, k)
	if d.waits(made, dev, k) != "" {
		if of.Dev != k.Dev {
			return PhotoDone{}, fault.New(fault.Forbidden, "This photograph was kept on a device that is shut out.")
		}
		made.Via = record.ViaNone
	}
	in.From = From{ID: k.ID, Seen: made.sender.size, Dev: k.Dev, Made: k.Made, Sent: k.Sent}
	return d.AddPhotograph(ctx, made, in)
}

// reportOf finds the report of a photograph, once it is on record.
func (d *Desk) reportOf(dev people.Device, id record.ID) (record.Record, error) {
	of, found, err := d.ledger.Find(id)
	if err != nil {
		return of, err
	}
	if found && of.Dept == dev.Dept {
		return of, nil
	}
	if _, out, err := d.ledger.Find(id.Derive(leftOut)); err != nil || out {
		return of, fault.Wrap(err, fault.Gone, "A lead left the report of this photograph out.")
	}
	return of, fault.New(fault.Busy, "Its report is not on record yet; the photograph follows it.")
}
