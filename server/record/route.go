package record

// RouteSet says whom a department tells when a sealer goes out of service, one
// after the other until somebody has seen it, and when. Minutes are elapsed
// minutes within the hours.
type RouteSet struct {
	People    []OnRoute `json:"people"`
	Hours     []Opening `json:"hours"`  // none: always
	Closed    []Days    `json:"closed"` // days on which nobody is there
	Minutes   int       `json:"minutes"`
	WatchDays int       `json:"watch_days"` // a sealer is watched so long after "no fault found"
	Reason    string    `json:"reason,omitempty"`
}

// OnRoute is somebody on a route: how they are told and when they are away.
type OnRoute struct {
	Person ID     `json:"person"`
	Mail   bool   `json:"mail,omitempty"`
	Hook   ID     `json:"hook,omitzero"`
	Away   []Days `json:"away,omitempty"`
}

// Opening is a part of a day of the week, Sunday is 0, in minutes of the wall
// clock after its midnight. To may lie beyond 1440.
type Opening struct {
	Day  int `json:"day"`
	From int `json:"from"`
	To   int `json:"to"`
}

// Days are calendar days from From through To.
type Days struct {
	From Date `json:"from"`
	To   Date `json:"to"`
}

// Called says that the next one on the route was told of a problem. Its id is made
// of Cause and N, so that no restart can make it twice.
type Called struct {
	Cause  ID   `json:"cause"` // the record that set the route going
	N      int  `json:"n"`     // place on the route, from 0
	To     ID   `json:"to"`
	Mail   bool `json:"mail,omitempty"`
	Hook   ID   `json:"hook,omitzero"`
	Urgent bool `json:"urgent,omitempty"` // a pouch had no sealer left
}

// HookSet names a webhook of a department, or changes or ends it. Its address is
// sealed as "url", what people call it as "name".
type HookSet struct {
	Hook   ID     `json:"hook"`
	Off    bool   `json:"off,omitempty"`
	Reason string `json:"reason,omitempty"`
}

// PostDecided is somebody's word on messages that waited for it.
type PostDecided struct {
	Decision string `json:"decision"` // send | drop
	Messages int    `json:"messages"`
	First    Seq    `json:"first"` // records that the oldest and the newest are about
	Last     Seq    `json:"last"`
}

func (*RouteSet) kind() (Kind, int)    { return "route-set", 1 }
func (*Called) kind() (Kind, int)      { return "called", 1 }
func (*HookSet) kind() (Kind, int)     { return "webhook-set", 1 }
func (*PostDecided) kind() (Kind, int) { return "messages-decided", 1 }
