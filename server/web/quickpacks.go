package web

import (
	"tidemark/server/desk"
	"tidemark/server/record"
)

// quickPacks counts packs in two taps, where the department keeps a pack log:
// open it, tap how many.
type quickPacks struct {
	hidden
	To, Other string
	Pouch     record.ID
	Counts    []int
}

// quickPacksOf is for who seals now; nil where nobody counts packs.
func quickPacksOf(v *desk.SealerView) *quickPacks {
	if v.Pouch == nil || !v.Dept.PackLog || !v.Can("LogPacks") || v.Standing.State != record.Ready || v.Standing.Pouch != v.Pouch.ID {
		return nil
	}
	return &quickPacks{hidden: formFor(&v.Frame, desk.From{}, "quick packs"), To: "/S/" + v.Code + "/packs",
		Other: "/S/" + v.Code + "/more?pouch=" + v.Pouch.ID.String(), Pouch: v.Pouch.ID, Counts: []int{1, 2, 5, 10, 20}}
}
