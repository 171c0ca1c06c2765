package server_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// A first scan on a weak phone with an empty cache: what is needed before the
// setting can be read is the page and its style sheet, and all of it together,
// headers and scripts too, is small.
func TestBrowserAFirstScanIsSmallAndTwoRequestsDeep(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	w.breaks(func(out http.ResponseWriter, r *http.Request, _ http.Handler) bool { // what is fetched afterwards, for later
		if r.URL.Path != "/sw.js" {
			return false
		}
		http.NotFound(out, r)
		return true
	})
	w.up.Store(0)
	w.down.Store(0)
	p.do(navigate(w.url+"/S/"+w.codes[0]), chromedp.WaitReady(chromedp.CSS("main")))
	p.wait(`performance.getEntriesByName('first-contentful-paint').length === 1 && document.querySelector('.setting-number').innerText.includes('7½')`,
		"the setting is painted")
	p.started()
	down, up := w.down.Load(), w.up.Load()
	t.Logf("%d bytes down and %d up until the setting was painted and every script had come", down, up)
	require.LessOrEqual(t, down, int64(30<<10), "pages, style, scripts and icons, with all headers")

	blocking := p.text(`performance.getEntriesByType('resource').filter(e => e.renderBlockingStatus === 'blocking').map(e => e.name).join(' ')`)
	html := p.text(`document.documentElement.outerHTML`)
	for name := range strings.FieldsSeq(blocking) {
		require.Contains(t, html, `href="`+strings.TrimPrefix(name, w.url)+`"`, "%s is named by the page itself: the second request, not a third", name)
	}
	require.Len(t, strings.Fields(blocking), 1, "the style sheet and nothing else stands before the paint")
}
