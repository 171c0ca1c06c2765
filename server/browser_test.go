package server_test

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/draw"

	"tidemark/server"
)

// The whole job on a phone: from a label on a sealer to ready again.
func TestBrowserFromALabelToReadyAgain(t *testing.T) {
	post := newMailbox(t)
	o := newOfficeBy(t, "2026-01-13 06:50", server.Config{PublicURL: officeURL, Mail: post.way})
	chromium := newBrowser(o)
	costa := o.begin("V. Costa")
	costa.hire("L. Marsh", nil, "technician")
	costa.hire("E. Tran", object{"mail": "e.tran@tide.example"}, "engineering")
	film := costa.addPouch("Paper/film 20 cm", "paper-film")
	two := costa.addSealer("2", "bar-dial", object{"asset": "20417", "width_cm": 45})
	four := costa.addSealer("4", "bar-dial", nil)
	costa.approve(two, film, "7 1/2", "mark")
	costa.approve(four, film, "6", "mark")
	costa.check(four, film, "pass", nil).done()

	// The label is scanned with a phone that nobody has let in.
	o.at("2026-01-13 07:05")
	label := scanned(t, costa, two)
	require.Equal(t, "HTTP://TIDE.TEST/S/"+two, label)
	marsh := chromium.phone()
	marsh.open(label)
	marsh.letIn(costa)
	marsh.signIn("L. Marsh")
	marsh.sees("Check due", "Paper/film 20 cm", "Set the dial to 7½", "approved by V. Costa")
	marsh.tap("Pass")
	marsh.sees("Ready", "checked 07:05, L. Marsh")

	// A bad seal, with a photograph.
	o.at("2026-01-13 08:40")
	marsh.tap("Report a bad seal")
	marsh.sees("What do you see?")
	marsh.tap("Channel")
	marsh.tap("Left")
	marsh.takes("../testdata/photos/channel.jpg")
	marsh.tap("Report the bad seal")
	marsh.sees("Out of service. Do not seal.", "The photograph is with it", "Use sealer 4 instead", "Channel, left", "at the bench, 08:40, L. Marsh")
	marsh.tap("Tagged and switched off")
	marsh.sees("none logged: look for sealer 2")

	// Clinical engineering gets a mail, and opens the queue on a phone of its own.
	require.Contains(t, post.wait(1)[0], "Asset 20417, sealer 2: out of service")
	o.at("2026-01-13 09:10")
	tran := chromium.phone()
	tran.open(officeURL + "/queue")
	tran.letIn(costa)
	tran.signIn("E. Tran")
	tran.sees("Sealer 2 · problem 1", "Channel, left", "20417", "Sent 08:40, not seen yet")
	tran.wait(`document.querySelector('.thumb img')?.naturalWidth > 0`) // the photograph is there
	tran.tap("I have seen it")
	tran.sees("seen by E. Tran")
	tran.tap("I am at work on it")
	tran.wait(`location.search.includes('said=saved')`)
	tran.sees("Recorded.")
	marsh.open(label)
	marsh.sees("With clinical engineering")
	o.at("2026-01-13 11:30")
	tran.tap("Hand it back")
	tran.sees("What was found?")
	tran.tap("Non-stick cover")
	tran.tap("Replaced")
	tran.tap("Electrical safety ok")
	tran.tap("Hand it back")
	tran.sees("handed back")

	// Return checks are sterile processing's, and then it is ready.
	o.at("2026-01-13 11:40")
	marsh.open(label)
	for n := range returnChecks(costa, two) {
		marsh.sees("Check due: return checks", []string{"Return check 1 of", "Return check 2 of", "Return check 3 of"}[n])
		marsh.tap("Pass")
	}
	marsh.sees("Ready", "checked 11:40, L. Marsh")
	costa.requireReady(two, film)
	costa.get("/problems")
	require.Len(t, costa.list("open"), 1, "the packs are not settled yet")
}

// letIn types the code that a lead shows.
func (p *phone) letIn(lead *program) {
	p.t.Helper()
	p.sees("This phone, tablet or computer is not known here yet")
	lead.say("/devices", object{}).done()
	p.types("code", lead.text("code"))
	p.types("name", "a phone")
	p.tap("Let it in")
}

// scanned reads the label of a sealer as a phone's camera does.
func scanned(t *testing.T, p *program, code string) string {
	t.Helper()
	p.browse("GET", "/labels/"+code, "", nil)
	label, err := png.Decode(bytes.NewReader(p.reply.raw))
	require.NoError(t, err, "%s", p.reply.raw)
	for _, percent := range []int{100, 75, 50, 150, 60} {
		if text, ok := scannedAt(label, percent); ok {
			return text
		}
	}
	require.Fail(t, "no frame of the label of "+code+" could be read")
	return ""
}

// scannedAt reads one frame of a label; a camera takes many at changing distances.
func scannedAt(label image.Image, percent int) (text string, ok bool) {
	size := label.Bounds().Size().Mul(percent).Div(100)
	frame := image.NewGray(image.Rectangle{Max: size})
	draw.ApproxBiLinear.Scale(frame, frame.Bounds(), label, label.Bounds(), draw.Src, nil)
	source := gozxing.NewLuminanceSourceFromImage(frame)
	for _, binarizer := range []gozxing.Binarizer{gozxing.NewHybridBinarizer(source), gozxing.NewGlobalHistgramBinarizer(source)} {
		dots, err := gozxing.NewBinaryBitmap(binarizer)
		if err != nil {
			continue
		}
		hints := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true}
		if read, err := qrcode.NewQRCodeReader().Decode(dots, hints); err == nil {
			return read.GetText(), true
		}
	}
	return "", false
}

// returnChecks is how many good checks a sealer needs before it is back.
func returnChecks(p *program, code string) int {
	p.t.Helper()
	p.get("/sealers/" + code)
	require.Equal(p.t, "return-checks", p.text("standing.need"))
	return p.whole("standing.of")
}
