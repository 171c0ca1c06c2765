package web

import (
	"tidemark/server/desk"
)

// formFor is what a form carries. One that was not taken keeps its id, so that
// sending it again is the same command; purpose tells several forms of one page
// apart.
func formFor(f *desk.Frame, typed desk.From, purpose string) hidden {
	if !typed.ID.IsZero() {
		return hidden{ID: typed.ID, Seen: typed.Seen}
	}
	if purpose == "" {
		return formOf(f)
	}
	return hidden{ID: f.NewID.Derive(purpose), Seen: f.Size}
}

// fieldErrors is what stands beside the fields of a form that was not taken.
func fieldErrors(err error) map[string]string {
	if err == nil {
		return nil
	}
	f := asFault(err)
	return map[string]string{f.Field: f.Message}
}

// status of the page that draws a form again.
func status(err error) int { return statusOf[asFault(err).Code] }

// chosen marks the choices that were made.
func chosen(list []choice, values ...string) []choice {
	out := make([]choice, len(list))
	for i, c := range list {
		for _, v := range values {
			c.Checked = c.Checked || c.Value == v
		}
		out[i] = c
	}
	return out
}

// texts are the texts of codes.
func texts[T ~string](codes []T) []string {
	list := make([]string, len(codes))
	for i, c := range codes {
		list[i] = string(c)
	}
	return list
}

// choices are the choices of a form, in the order of codes.
func choices[T ~string](codes []T, words map[T]string) []choice {
	list := make([]choice, len(codes))
	for i, c := range codes {
		list[i] = choice{Value: string(c), Text: words[c]}
	}
	return list
}
