package labels_test

import (
	"bytes"
	"fmt"
	"time"

	"tidemark/labels"
)

// A label for sealer 2 on the third place of a sheet that was used before.
func Example() {
	code, err := labels.ParseCode("k7qm 3xk") // or labels.NewCode(rand.Reader)
	if err != nil {
		panic(err)
	}
	url, err := labels.URL("https://tide.example.org", code)
	if err != nil {
		panic(err)
	}
	item := labels.Item{Number: "2", Place: "Packing room", Asset: "20417", Code: code, URL: url}
	sheet, _ := labels.FindSheet("a4-3x8")
	options := labels.Options{Start: 3, Made: time.Date(2026, 1, 13, 6, 12, 0, 0, time.UTC)}

	var pdf bytes.Buffer
	if err := labels.PDF(&pdf, sheet, []labels.Label{item.Label()}, options); err != nil {
		panic(err)
	}
	fmt.Println(url)
	fmt.Println(sheet)
	fmt.Println(pdf.String()[:5])
	// Output:
	// HTTPS://TIDE.EXAMPLE.ORG/S/K7QM3XK
	// A4, 24 labels (3 x 8) of 63.5 x 33.9 mm
	// %PDF-
}
