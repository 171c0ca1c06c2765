package sealing_test

import (
	"fmt"

	"tidemark/server/sealing"
)

// A dial measured at two marks, and the half mark that suits a paper/film pouch.
func Example() {
	q := func(text string, assumed sealing.Unit) sealing.Quantity {
		typed, err := sealing.ParseQuantity(text, assumed)
		if err != nil {
			panic(err)
		}
		return typed
	}
	instrument := sealing.Uncertainty{Value: q("3 °C", sealing.Celsius), Stated: sealing.Accuracy}
	table := sealing.Table{Kind: sealing.DialBar, Points: []sealing.Point{
		{Position: q("6", sealing.Mark), Face: q("313 °F", sealing.Celsius), Uncertainty: instrument},
		{Position: q("9", sealing.Mark), Face: q("210", sealing.Celsius), Uncertainty: instrument},
	}}
	curve, err := table.Compile()
	if err != nil {
		panic(err)
	}
	window, err := sealing.Intersect(sealing.Window{Pouch: "Paper/film",
		Low: q("165", sealing.Celsius), High: q("200", sealing.Celsius)})
	if err != nil {
		panic(err)
	}
	request := sealing.Request{Curve: curve, Limits: window}
	for _, mark := range []string{"6", "6½", "7", "7½", "8", "8½", "9"} {
		request.Positions = append(request.Positions, q(mark, sealing.Mark))
	}
	proposal, err := request.Propose()
	if err != nil {
		panic(err)
	}
	fmt.Println(proposal.Verdict, proposal.Position)
	fmt.Println(proposal.Sentence(sealing.Celsius))
	// Output:
	// proposed 7½
	// At 7½ the face is at 183.1 °C ± 3.5 °C: within 165.0 °C to 200.0 °C with a probability of more than 99.9 %.
}
