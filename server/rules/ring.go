package rules

import (
	"tidemark/server/fault"
	"tidemark/server/record"
)

// Ring decides that the leads of a department are told of a report found
// elsewhere. It takes no sealer out of service.
func Ring(v record.View, e Entry, dept record.ID, rang *record.Rang, now record.Time) ([]Draft, error) {
	d := GetDepartment(v, dept)
	if d == nil {
		return nil, fault.New(fault.Unknown, "There is no such department here.")
	}
	dr, err := e.draft(d, record.Subject{Type: record.Department, ID: d.ID}, rang, now)
	dr.Tell = append(dr.Tell, Tell{Route: ToLeads, To: d.ID})
	return []Draft{dr}, err
}
