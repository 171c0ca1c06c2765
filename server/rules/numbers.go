package rules

import "tidemark/server/record"

// SealersNumbered returns the sealers of the whole site that had a number at some
// time in a span: a number goes on packs and may have been another's before.
func SealersNumbered(v record.View, number string, at record.Span) (list []*Sealer) {
	for _, dept := range GetSite(v).Departments {
		d := GetDepartment(v, dept)
		if d == nil {
			continue
		}
		for _, id := range d.Sealers {
			if s := GetSealer(v, id); s != nil && s.hadNumber(number, at) {
				list = append(list, s)
			}
		}
	}
	return list
}

func (s *Sealer) hadNumber(number string, at record.Span) bool {
	for i, n := range s.Numbers {
		ends := i+1 < len(s.Numbers) && s.Numbers[i+1].From < at.From
		if n.Number == number && n.From <= at.To && !ends {
			return true
		}
	}
	return false
}
