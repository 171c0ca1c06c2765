package server_test

import (
	"flag"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

var weak = flag.Bool("weak", false, "time a photograph of 12 megapixels on a phone four times as slow")

// What a weak phone takes to keep a report with a photograph of 12 megapixels:
// it tells figures and fails for none of them.
func TestBrowserAPhotographOf12MegapixelsIsKeptOnAWeakPhone(t *testing.T) {
	if !*weak {
		t.Skip("only with -weak")
	}
	w := newWard(t)
	p := w.newHandset()
	file := filepath.Join(t.TempDir(), "camera.jpg")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	writeCamera(t, file)
	p.open("/S/" + w.codes[0] + "/bad-seal")
	w.cut()
	_, err := chromedp.Call(p.ctx, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
	require.NoError(t, err)
	rest := renderers(t)
	peak, stop, done := rest, make(chan bool), make(chan bool)
	go func() {
		defer close(done)
		for {
			select {
			case <-stop:
				return
			default:
				peak = max(peak, renderers(t))
			}
		}
	}()
	p.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('#photo').addEventListener('change',
		() => { window.chosen ??= performance.now(); }, { capture: true })`))
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#photo"), []string{file}))
	took := p.text(`(async () => {
		document.querySelector('input[value="crease"]').click();
		document.querySelector('form[action$="/bad-seal"] .act-stop').click();
		while (!document.querySelector('[data-kept]').checkVisibility()) await new Promise(done => setTimeout(done, 10));
		return String(Math.round(performance.now() - window.chosen));
	})()`)
	close(stop)
	<-done
	require.Equal(t, 2, p.kept(), "report and photograph")
	t.Logf("kept after %s ms at a quarter of the speed; renderers %d MB at rest, %d MB at most", took, rest>>10, peak>>10)
}

// writeCamera writes a photograph of 4000 by 3000 with grain in it, of some megabytes.
func writeCamera(t *testing.T, file string) {
	t.Helper()
	rnd := rand.New(rand.NewPCG(1, 2))
	picture := image.NewRGBA(image.Rect(0, 0, 4000, 3000))
	for y := range 3000 {
		for x := range 4000 {
			g := uint8(rnd.IntN(40))
			picture.SetRGBA(x, y, color.RGBA{uint8(x/16) + g, uint8(y/12) + g, 90 + g, 255})
		}
	}
	f, err := os.Create(file)
	require.NoError(t, err)
	require.NoError(t, jpeg.Encode(f, picture, &jpeg.Options{Quality: 90}))
	require.NoError(t, f.Close())
}

// renderers is the resident memory of this process's children that draw pages,
// in kB, from the process table.
func renderers(t *testing.T) (kB int) {
	t.Helper()
	files, err := filepath.Glob("/proc/[0-9]*/cmdline")
	require.NoError(t, err)
	for _, f := range files {
		line, err := os.ReadFile(f)
		if err != nil || !strings.Contains(string(line), "--type=renderer") || !strings.Contains(string(line), os.TempDir()) {
			continue
		}
		status, _ := os.ReadFile(filepath.Join(filepath.Dir(f), "status"))
		for l := range strings.Lines(string(status)) {
			if after, ok := strings.CutPrefix(l, "RssAnon:"); ok {
				n, _ := strconv.Atoi(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(after), "kB")))
				kB += n
			}
		}
	}
	return kB
}
