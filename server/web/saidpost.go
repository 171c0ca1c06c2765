package web

// saidOfPost are messages about reports from elsewhere and about whom to tell.
var saidOfPost = map[string]Message{
	"from-elsewhere": {"out", "Recorded. The pack was found elsewhere: look at what follows from it."},
	"poster":         {"ready", "The poster is made. Posters with an older code lead nowhere now."},
}
