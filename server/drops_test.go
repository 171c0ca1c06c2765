package server_test

import (
	"bytes"
	"flag"
	"image/color"
	"image/jpeg"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

var kept = flag.Int("kept", 50, "entries that a phone keeps while its line breaks at random")

// longer is what more entries than usual add to the limits that end a test which hangs.
func longer() time.Duration { return time.Duration(max(0, *kept-50)) * 2 * time.Second }

// drops breaks requests of a queue at random: before anything is read, in the
// middle of the body, after the commit but before the reply, or with a reply
// that says nothing. seen counts each way.
type drops struct {
	mutex sync.Mutex
	rnd   *rand.Rand
	seen  [5]int
}

func (d *drops) next() int {
	d.mutex.Lock()
	defer d.mutex.Unlock()
	n := d.rnd.IntN(len(d.seen))
	d.seen[n]++
	return n
}

func (d *drops) breaks(w http.ResponseWriter, r *http.Request, serve http.Handler) bool {
	if !strings.HasPrefix(r.URL.Path, "/api/v1/queue") {
		return false
	}
	switch d.next() {
	case 0:
		hangUp(w)
	case 1:
		_, _ = io.CopyN(io.Discard, r.Body, max(1, r.ContentLength/2))
		hangUp(w)
	case 2:
		serve.ServeHTTP(httptest.NewRecorder(), r)
		hangUp(w)
	case 3:
		http.Error(w, "a gateway without an idea", http.StatusBadGateway)
	default:
		return false
	}
	return true
}

func hangUp(w http.ResponseWriter) {
	c, _, err := w.(http.Hijacker).Hijack()
	if err == nil {
		_ = c.Close()
	}
}

// keepScript keeps one report, with a photograph of one colour if its number
// divides by five, as js/keep.js does.
const keepScript = `(async (n, code) => {
	const store = await import(new URL('store.js', document.querySelector('script[src]').src));
	const entry = { v: 1, id: store.newId(), to: '/S/' + code + '/bad-seal', form: 'kind=crease&note=number+' + n + '&seen=0',
		ticket: document.querySelector('[data-ticket]').dataset.ticket, says: '', made: new Date().toISOString(),
		words: 'Crease', state: 'kept', why: '' };
	const photos = [];
	if (n % 5 === 0) {
		const canvas = document.createElement('canvas');
		canvas.width = 320; canvas.height = 240;
		const pen = canvas.getContext('2d');
		pen.fillStyle = 'rgb(' + n * 5 % 256 + ' 120 40)';
		pen.fillRect(0, 0, 320, 240);
		const blob = await new Promise(done => canvas.toBlob(done, 'image/jpeg', 0.9));
		photos.push({ id: store.newId(), of: entry.id, kind: 'image/jpeg', bytes: await blob.arrayBuffer() });
	}
	await store.add(entry, photos);
	return entry.id;
})`

func TestBrowserNothingIsLostOrDoubledWhileTheLineBreaksAtRandom(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0] + "/bad-seal")
	d := &drops{rnd: rand.New(rand.NewPCG(6, 35))}
	w.breaks(d.breaks)
	second := p.tab()
	second.open("/kept")
	ids := map[string]int{}
	for n := range *kept {
		id := p.text(keepScript + `(` + strconv.Itoa(n) + `, '` + w.codes[0] + `')`)
		ids[id] = n
		switch {
		case n%10 == 9: // the tab is killed, whatever it was doing, and another one opened
			old := p
			p = p.tab()
			_ = chromedp.Cancel(old.ctx)
			p.open("/S/" + w.codes[0])
		case n%3 == 0:
			both(p, second)
		}
	}
	for end := time.Now().Add(90*time.Second + longer()); second.kept() > 0; both(p, second) {
		require.True(t, time.Now().Before(end), "%d are still kept", second.kept())
		time.Sleep(30 * time.Millisecond)
	}
	t.Logf("%d entries; requests broken: %d before, %d in the body, %d after the commit, %d by a gateway; %d went through",
		*kept, d.seen[0], d.seen[1], d.seen[2], d.seen[3], d.seen[4])
	for _, n := range d.seen {
		require.NotZero(t, n, "each way of breaking was met")
	}
	w.requireOnce(ids)
}

// both lets two tabs drain at once, as the line coming back would.
func both(tabs ...*handset) {
	for _, p := range tabs {
		_, _ = chromedp.Run(p.ctx, chromedp.Evaluate[chromedp.Void](`dispatchEvent(new Event('online'))`))
	}
}

// requireOnce wants every report on record once, in the order it was made, and
// its photograph as it was taken.
func (w *ward) requireOnce(ids map[string]int) {
	w.t.Helper()
	lines := w.lines(w.codes[0], "bad-seal")
	require.Len(w.t, lines, len(ids))
	for i, l := range lines {
		n, ours := ids[l.ID.String()]
		require.True(w.t, ours, "an id that no phone made")
		require.Equal(w.t, len(ids)-1-i, n, "in the order it was made")
	}
	photos := map[record.ID][]record.ID{} // one that came much later stands on a page of its own
	for _, l := range w.lines(w.codes[0], "photograph") {
		of := l.Body.(*record.Photograph).Of
		photos[of] = append(photos[of], l.ID)
	}
	for _, l := range lines {
		n := ids[l.ID.String()]
		l.Photos = append(l.Photos, photos[l.ID]...)
		if n%5 != 0 {
			require.Empty(w.t, l.Photos)
			continue
		}
		require.Len(w.t, l.Photos, 1, "photographs of report %d", n)
		b, err := w.Desk.Photograph(w.lead, l.Photos[0])
		require.NoError(w.t, err)
		picture, err := jpeg.Decode(bytes.NewReader(b))
		require.NoError(w.t, err)
		got := color.RGBAModel.Convert(picture.At(100, 100)).(color.RGBA)
		require.InDelta(w.t, n*5%256, int(got.R), 6, "the photograph of this report")
		require.InDelta(w.t, 120, int(got.G), 6)
	}
}
