package report

// failures shows each problem with its whole chain to the three endings.
func failures(b *Book, _ Words, p Pen) error {
	if len(b.Problems) == 0 {
		p.Text("No problem was open in this period.")
		return nil
	}
	p.Table("Problems of the period", Column{Text: "Problem", Width: 2, Num: true}, Column{Text: "What", Width: 6}, Column{Text: "Sealer", Width: 2},
		Column{Text: "Since", Width: 4}, Column{Text: "Sealer returned", Width: 4}, Column{Text: "Packs settled", Width: 4}, Column{Text: "Problem closed", Width: 4})
	for _, x := range b.Problems {
		p.Row(whole(x.Number), x.Title, x.Sealer, x.Since, x.returned(), ended(x.Settled), ended(x.Closed))
	}
	for i, x := range b.Problems {
		p.Heading("Problem " + whole(x.Number) + ": " + x.Title)
		p.Text("Sealer " + x.Sealer + ", since " + x.Since + ". Sealer returned: " + x.returned() + ". Packs settled: " + ended(x.Settled) +
			". Problem closed: " + ended(x.Closed) + ".")
		if x.Hold != "" {
			p.Text(x.Hold)
		}
		if err := entries(p, b.Chain(i), "What happened, in order of record", ""); err != nil {
			return err
		}
	}
	return nil
}

// returned tells when the sealer came back, if it was out of service at all.
func (x *Problem) returned() string {
	if x.Stayed {
		return "was not out of service"
	}
	return ended(x.Returned)
}

func ended(text string) string {
	if text == "" {
		return "not yet"
	}
	return text
}
