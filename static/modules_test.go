package static_test

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"mime"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// testModules drives each script as a person or a hand scanner would, in a real browser.
func testModules(t *testing.T, tab browser) {
	for name, test := range map[string]func(*testing.T, browser, *workshop){
		"a link of the summary stands in its field":       testSummary,
		"a scanned label is no PIN":                       testPin,
		"a scanned address leads to its sealer":           testScan,
		"a form pressed three times is sent once":         testOnce,
		"a photograph is shrunk, a broken one sent as is": testPhoto,
		"a page learns that it is old":                    testFresh,
		"a board follows its stream":                      testBoard,
		"a menu closes by Escape":                         testMenu,
	} {
		t.Run(name, func(t *testing.T) { test(t, tab, newWorkshop(t)) })
	}
}

func testSummary(t *testing.T, tab browser, shop *workshop) {
	tab.open(t, shop.show(t, specimens()["errors"]), 360, 740)
	tab.wait(t, `document.activeElement.matches('.summary')`, "the summary has the focus")
	tab.do(t, chromedp.Click(chromedp.CSS(`.summary a[href="#value"]`)))
	tab.wait(t, `document.activeElement.id === 'value'`, "the field has it")
	tab.do(t, chromedp.Click(chromedp.CSS(`.summary a[href="#kind"]`)))
	tab.wait(t, `document.activeElement.id === 'kind-channel'`, "the first choice has it")
}

func testPin(t *testing.T, tab browser, shop *workshop) {
	pin := chromedp.CSS("#pin")
	url := shop.show(t, specimen{page: m{"Title": "PIN"},
		main: `<form method="post" action="/sent">{{template "pin" .}}<button>Sign in</button></form>`,
		data: m{"Name": "pin", "Label": "Your PIN"}})
	tab.open(t, url, 360, 740)
	tab.do(t, chromedp.SendKeys(pin, "HTTP://TIDE.TEST/S/K7M2QXB"+kb.Enter))
	tab.wait(t, `document.querySelector('#pin').value === ''`, "the field is empty again")
	tab.wait(t, `!document.querySelector('[data-long]').hidden`, "the page says why")
	require.Empty(t, shop.posts())

	tab.do(t, chromedp.SendKeys(pin, "48 15 16"+kb.Enter))
	tab.wait(t, `document.title === 'sent'`, "six digits are sent")
	require.Equal(t, []string{"pin=481516"}, shop.posts(), "spaces are dropped")
}

func testScan(t *testing.T, tab browser, shop *workshop) {
	for typed, want := range map[string]string{
		"HTTPS://TIDE.TEST/S/K7M2QXB":     "/S/K7M2QXB",
		"https://tide.test/s/k7m2qxb/?a#": "/S/K7M2QXB",
		" k7m-2qxb ":                      "/S/K7M2QXB",
		"../../etc/passwd":                "/S/PASSWD",
	} {
		url := shop.show(t, specimen{page: m{"Title": "Scan"}, main: `{{template "scan" .}}`,
			data: m{"Name": "code", "Label": "Label", "Action": "/S"}})
		tab.open(t, url, 360, 740)
		tab.started(t)
		tab.do(t, chromedp.SendKeys(chromedp.CSS("#code"), typed+kb.Enter))
		tab.wait(t, fmt.Sprintf(`location.pathname === %q`, want), "typed "+typed)
	}
}

func testOnce(t *testing.T, tab browser, shop *workshop) {
	url := shop.show(t, specimen{page: m{"Title": "Once"},
		main: `<form method="post" action="/slow" data-module="once" data-busy="Sending">
			{{template "actions" .List}}</form>`,
		data: m{"List": []m{{"Text": "Pass", "Name": "outcome", "Value": "pass"}}}})
	tab.open(t, url, 360, 740)
	tab.started(t)
	words := tab.ask(t, `[1, 2, 3].map(() => {
		document.querySelector('.act').click();
		return document.querySelector('.act').textContent;
	})`)
	require.Equal(t, []string{"Sending", "Sending", "Sending"}, words)
	close(shop.release)
	tab.wait(t, `document.title === 'sent'`, "it is answered")
	require.Equal(t, []string{"outcome=pass"}, shop.posts(), "its value travels with it")
}

func testPhoto(t *testing.T, tab browser, shop *workshop) {
	dir := t.TempDir()
	large, broken := filepath.Join(dir, "large.jpg"), filepath.Join(dir, "broken.jpg")
	require.NoError(t, os.WriteFile(large, checkered(t, 3000, 2000), 0o600))
	require.NoError(t, os.WriteFile(broken, []byte("not a photograph"), 0o600))

	tab.open(t, shop.show(t, specimens()["badseal"]), 360, 740)
	tab.started(t)
	tab.do(t, chromedp.SetUploadFiles(chromedp.CSS("#photo"), []string{large}))
	tab.wait(t, `document.querySelector('#photo').files[0].name === 'photo.jpg'`, "replaced")
	tab.wait(t, `!document.querySelector('.photo canvas').hidden`, "shown")
	size := decodeChosen(t, tab, "#photo")
	require.Equal(t, image.Config{Width: 1600, Height: 1067}, size)

	tab.do(t, chromedp.SetUploadFiles(chromedp.CSS("#photo-album"), []string{broken}))
	tab.wait(t, `document.querySelector('.photo canvas').hidden`, "nothing to show")
	tab.wait(t, `document.querySelector('#photo').files.length === 0`, "only one is sent")
	tab.wait(t, `document.querySelector('#photo-album').files[0].name === 'broken.jpg'`,
		"the server may judge it")
	require.Empty(t, tab.ask(t, "complaints"))
}

func testFresh(t *testing.T, tab browser, shop *workshop) {
	// The tab's clock is moved by hand; waking the page asks at once.
	wake := chromedp.Evaluate[chromedp.Void](`dispatchEvent(new Event('online'))`)
	url := shop.show(t, specimen{page: m{"Title": "Sealer 2",
		"Fresh": m{"URL": "/state", "Version": "1", "At": "09:00"}},
		main: `{{template "field" dict "Name" "note" "Label" "Note"}}`})
	shop.state("1", "09:05")
	tab.open(t, url, 360, 740)
	tab.started(t)
	tab.do(t, wake)
	tab.wait(t, `document.querySelector('[data-at]').textContent === '09:05'`, "still true at 09:05")

	shop.state("", "")
	tab.do(t, chromedp.Evaluate[chromedp.Void](
		`{ const now = Date.now; Date.now = () => now() + 301_000 }`), wake)
	tab.wait(t, `document.documentElement.matches('.stale')`, "five minutes without contact")
	tab.wait(t, `!document.querySelector('[data-old]').hidden`, "and it says so")
	shop.state("1", "09:12")
	tab.do(t, wake)
	tab.wait(t, `!document.documentElement.matches('.stale')`, "contact again")

	tab.do(t, chromedp.SendKeys(chromedp.CSS("#note"), "half a word"))
	shop.state("2", "09:13")
	tab.do(t, wake)
	tab.wait(t, `!document.querySelector('[data-changed]').hidden`, "what was typed is kept")
	tab.wait(t, `document.querySelector('#note').value === 'half a word'`, "what was typed is kept")

	before := shop.shown()
	shop.state("1", "09:14")
	tab.open(t, url, 360, 740)
	tab.started(t)
	shop.state("2", "09:15")
	tab.do(t, wake)
	require.Eventually(t, func() bool { return shop.shown() >= before+2 }, 5*time.Second,
		20*time.Millisecond, "loaded again by itself when nothing was typed")
}

func testBoard(t *testing.T, tab browser, shop *workshop) {
	url := shop.show(t, specimen{page: m{"Title": "Board", "Scheme": "board"},
		main: `<div data-module="board" data-events="/events" data-fragment="/rows">old</div>`})
	shop.rows("as of 09:52")
	tab.open(t, url, 1280, 800)
	tab.wait(t, `document.querySelector('[data-up]')?.textContent === 'live, as of 09:52'`, "drawn")
	shop.rows("as of 09:53")
	shop.events <- "id: 7\ndata: 7\n\n"
	tab.wait(t, `document.querySelector('[data-up]').textContent === 'live, as of 09:53'`, "redrawn")
	close(shop.hangup)
	tab.wait(t, `document.querySelector('[data-line]').dataset.line === 'down'`, "the line is down")
	tab.wait(t, `!document.querySelector('[data-down]').hidden`, "and it says as of when")
}

func testMenu(t *testing.T, tab browser, shop *workshop) {
	tab.open(t, shop.show(t, specimens()["due"]), 360, 740)
	tab.started(t)
	tab.do(t, chromedp.Click(chromedp.CSS(".menu summary")))
	tab.wait(t, `document.querySelector('.menu').open`, "open")
	tab.do(t, chromedp.KeyEvent(kb.Escape))
	tab.wait(t, `!document.querySelector('.menu').open`, "closed")
	tab.wait(t, `document.activeElement.matches('.menu summary')`, "the focus is not lost")
}

// A workshop is a site for one module: it shows one page, keeps what is posted, and answers
// /state, /events and /rows as told.
type workshop struct {
	url     string
	release chan struct{} // closed: /slow answers
	events  chan string   // sent on as they are
	hangup  chan struct{} // closed: the stream ends and stays away

	mu       sync.Mutex
	page     []byte
	views    int
	posted   []string
	version  string
	at       string
	fragment string
}

func newWorkshop(t *testing.T) *workshop {
	t.Helper()
	shop := &workshop{
		release: make(chan struct{}),
		events:  make(chan string),
		hangup:  make(chan struct{}),
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /page", shop.servePage)
	mux.HandleFunc("POST /sent", shop.serveSent)
	mux.HandleFunc("POST /slow", func(w http.ResponseWriter, r *http.Request) {
		select {
		case <-shop.release:
			shop.serveSent(w, r)
		case <-r.Context().Done():
		}
	})
	mux.HandleFunc("GET /S/{code}", pageHandler([]byte("<main>")))
	mux.HandleFunc("GET /state", shop.serveState)
	mux.HandleFunc("GET /events", shop.serveEvents)
	mux.HandleFunc("GET /rows", shop.serveRows)
	shop.url = serve(t, mux)
	return shop
}

// show makes s the page and returns its address.
func (w *workshop) show(t *testing.T, s specimen) string {
	t.Helper()
	page := render(t, s)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.page = page
	return w.url + "/page"
}

func (w *workshop) shown() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.views
}

func (w *workshop) posts() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.posted
}

// state sets what /state answers; version "" means 503.
func (w *workshop) state(version, at string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.version, w.at = version, at
}

func (w *workshop) rows(asOf string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.fragment = `<p data-line="up"><span data-up>live, ` + asOf + `</span>` +
		`<span data-down hidden>no line, ` + asOf + `</span></p>`
}

func (w *workshop) servePage(rw http.ResponseWriter, r *http.Request) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.views++
	pageHandler(w.page)(rw, r)
}

func (w *workshop) serveSent(rw http.ResponseWriter, r *http.Request) {
	r.ParseForm()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.posted = append(w.posted, r.PostForm.Encode())
	pageHandler([]byte("<title>sent</title><main>"))(rw, r)
}

func (w *workshop) serveState(rw http.ResponseWriter, _ *http.Request) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.version == "" {
		http.Error(rw, "not now", http.StatusServiceUnavailable)
		return
	}
	fmt.Fprintf(rw, `{"version":%q,"at":%q}`, w.version, w.at)
}

func (w *workshop) serveRows(rw http.ResponseWriter, r *http.Request) {
	w.mu.Lock()
	defer w.mu.Unlock()
	pageHandler([]byte(w.fragment))(rw, r)
}

func (w *workshop) serveEvents(rw http.ResponseWriter, r *http.Request) {
	select {
	case <-w.hangup:
		http.Error(rw, "gone", http.StatusServiceUnavailable)
		return
	default:
	}
	rw.Header().Set("Content-Type", mime.FormatMediaType("text/event-stream", nil))
	flush := http.NewResponseController(rw)
	flush.Flush()
	for {
		select {
		case event := <-w.events:
			fmt.Fprint(rw, event)
			flush.Flush()
		case <-w.hangup:
			return
		case <-r.Context().Done():
			return
		}
	}
}

// decodeChosen reads the file that an input would send and tells the size of its picture.
func decodeChosen(t *testing.T, tab browser, input string) image.Config {
	t.Helper()
	text, err := chromedp.Run(tab.ctx, chromedp.Evaluate[string](`new Promise(done => {
		const reader = new FileReader();
		reader.onload = () => done(reader.result);
		reader.readAsDataURL(document.querySelector('`+input+`').files[0]);
	})`, chromedp.EvalAwaitPromise))
	require.NoError(t, err)
	_, encoded, _ := strings.Cut(text, ",")
	data, err := base64.StdEncoding.DecodeString(encoded)
	require.NoError(t, err)
	head, err := jpeg.DecodeConfig(bytes.NewReader(data))
	require.NoError(t, err)
	head.ColorModel = nil
	return head
}

func checkered(t *testing.T, width, height int) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			img.SetGray(x, y, color.Gray{Y: uint8((x ^ y) & 255)})
		}
	}
	var buf bytes.Buffer
	require.NoError(t, jpeg.Encode(&buf, img, &jpeg.Options{Quality: 95}))
	return buf.Bytes()
}
