package web

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tidemark/labels"
	"tidemark/server/desk"
	"tidemark/server/fault"
	"tidemark/server/record"
	"tidemark/server/sealing"
)

// codeOf is the code of the label in the address.
func codeOf(c echo.Context) (string, error) {
	code, err := labels.ParseCode(c.Param("code"))
	if err != nil {
		return "", fault.Wrap(err, fault.Unknown, "%s", badCode(err))
	}
	return string(code), nil
}

// seqOf is the number of the record in the address.
func seqOf(c echo.Context) (record.Seq, error) {
	n, err := strconv.ParseInt(c.Param("seq"), 10, 64)
	if err != nil || n < 0 {
		return record.None, fault.New(fault.Unknown, "There is no such record of this sealer.")
	}
	return record.Seq(n), nil
}

func seqText(seq record.Seq) string { return strconv.FormatInt(int64(seq), 10) }

// recordRow is a record in a list that leads to its page.
func recordRow(f *desk.Frame, l *desk.Line, href string) row {
	w := describe(f, l)
	return row{Text: w.Title, Note: listed(when(f, l), whoSaid(l), w.Text), Href: href}
}

// tableOrigin tells where a temperature table comes from.
func tableOrigin(v *desk.TableView) string {
	t := &v.Table
	text := "Measured " + v.Clock(v.Line.From) + " by " + whoSaid(&v.Line)
	if t.Source == record.FromMaker {
		text = "From the maker: " + documentText(t.Document) + "; entered by " + whoSaid(&v.Line)
	}
	return listed(text, conditionWords[t.Condition], instrumentText(t.Instrument)) + ". " +
		knownText(t.Uncertainty) + "."
}

// knownText tells how well temperatures are known, as it was stated.
func knownText(u record.Uncertainty) string {
	amount := quantityText(u.Quantity)
	switch sealing.Statement(u.Stated) {
	case sealing.Expanded:
		return "Expanded uncertainty " + amount + " (k = 2)"
	case sealing.Accuracy:
		return "Accuracy ± " + amount + ", as the maker states it"
	}
	return "Standard uncertainty " + amount
}

// fitSentences tell for each place what the curve is; places of one kind share a
// sentence.
func fitSentences(v *desk.TableView) (list []string) {
	if v.Unfit != "" {
		return []string{v.Unfit}
	}
	said := map[string][]string{}
	var order []string
	for _, p := range v.Places {
		text := basisSentence(p)
		if said[text] == nil {
			order = append(order, text)
		}
		name := string(p.Place)
		if name == "" {
			name = "whole bar"
		}
		said[text] = append(said[text], name)
	}
	for _, text := range order {
		where := strings.Join(said[text], ", ")
		if len(order) > 1 {
			text = strings.ToUpper(where[:1]) + where[1:] + ": " + strings.ToLower(text[:1]) + text[1:]
		}
		list = append(list, text)
	}
	return append(list, "The grey band is how well the curve is known (± U); nothing is said beyond what was measured.")
}

func basisSentence(p desk.PlaceCurve) string {
	switch p.Basis {
	case sealing.EachPosition:
		return "Each position stands for itself; nothing lies between."
	case sealing.TwoPositions:
		return "Two positions, joined. A third would show whether a straight line fits."
	case sealing.Interpolated:
		return fmt.Sprintf("A straight line does not fit: the curve goes through the %d positions.", p.Positions)
	}
	if p.Bent {
		return fmt.Sprintf("A straight line through %d positions, which it does not fit well. "+
			"With five positions or more a bend can be followed.", p.Positions)
	}
	return fmt.Sprintf("A straight line through %d positions.", p.Positions)
}

// climbRow is a ladder trial in a list, with what it shows.
func climbRow(f *desk.Frame, code string, c *desk.Climb) row {
	r := recordRow(f, &c.Line, "/S/"+code+"/ladders/"+seqText(c.Line.Seq))
	r.Note = climbSentence(c) + " " + r.Note
	return r
}

// climbSentence tells what a ladder trial shows.
func climbSentence(c *desk.Climb) string {
	if c.Nothing != "" {
		return "Proposes nothing. " + c.Nothing
	}
	text := "Passed at " + c.Passed[0]
	if n := len(c.Passed); n > 1 {
		text += " to " + c.Passed[n-1]
	}
	if c.Over != "" {
		text += ", burned or tore from " + c.Over
	}
	return text + "; proposes " + c.Proposed + "."
}

// validationRow is a test of seals in a list, with what it shows.
func validationRow(f *desk.Frame, v *desk.Validation) row {
	r := recordRow(f, &v.Line, "")
	r.Note = strings.TrimSpace(validationSentence(v) + " " + r.Note)
	return r
}

func validationSentence(v *desk.Validation) string {
	switch b := v.Line.Body.(type) {
	case *record.StrengthTested:
		if v.Strength == nil {
			return ""
		}
		s := v.Strength
		return fmt.Sprintf("%s Mean %.2f, weakest %.2f; with 95 %% confidence 95 %% of all seals hold %.2f "+
			"N/15 mm or more, wanted %.2f.", strings.Join(append([]string{strengthWords[v.Finding]}, v.Warnings...), " "),
			s.Mean, s.Lowest, s.Bound, s.Minimum)
	case *record.WidthMeasured:
		if v.Good {
			return "Wide enough: " + v.Total + " in all."
		}
		return "Too narrow: " + v.Total + " in all."
	case *record.AfterSterilizing:
		switch {
		case v.Good:
			return "All good, before and after."
		case b.AfterGood < b.After && b.BeforeGood == b.Before && b.Before > 0:
			return "Good before sterilizing, not after."
		}
		return "Not all good."
	}
	return ""
}

var strengthWords = map[sealing.Finding]string{
	sealing.StrongEnough: "Strong enough.", sealing.TooWeak: "Too weak: a strip was below what is wanted.",
	sealing.NotShown: "Not shown: every strip was strong enough, but more are needed to say so of all seals.",
}

// seriesOf puts a series of readings into words.
func seriesOf(f *desk.Frame, s *desk.Series) seriesBlock {
	b := seriesBlock{Title: listed("At "+s.Setting, placeWords[s.Place]), Text: seriesSentence(s), Plot: seriesPlot(f, s)}
	for i := range s.Readings {
		r := &s.Readings[i]
		b.Rows = append(b.Rows, row{Text: r.Face, Note: listed(when(f, &r.Line), whoSaid(&r.Line))})
	}
	return b
}

func seriesSentence(s *desk.Series) string {
	switch s.Course {
	case sealing.Steady:
		return "Steady: no trend, and the moving average stays within its limits."
	case sealing.Shifted:
		return "The moving average has left its limits: the temperature shifted. There is no steady trend."
	case sealing.Drifting:
		return "Drifting by " + s.PerMonth + " in 30 days (95 % limits " + s.Between + ")."
	}
	if s.Missing == 1 {
		return "Too few readings to speak of a trend: one more is needed."
	}
	return "Too few readings to speak of a trend: " + itoa(s.Missing) + " more are needed."
}
