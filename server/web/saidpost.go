package web

// saidOfPost are messages about reports from elsewhere and about whom to tell.
var saidOfPost = map[string]Message{
	"from-elsewhere": {"out", "Recorded. The pack was found elsewhere: look at what follows from it."},
	"sent-again":     {"ready", "Sent again."},
	"dropped":        {"ready", "Dropped. It is on record that you said so."},
	"poster":         {"ready", "The poster is made. Posters with an older code lead nowhere now."},
}
