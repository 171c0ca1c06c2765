package server_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/record"
)

func TestBrowserACheckWithContactIsRecordedAtOnce(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.tap(`button[value="pass"]`)
	p.wait(`location.search.includes('said=pass')`, "the page that follows")
	p.started()
	require.Equal(t, record.Ready, w.stands(w.codes[0]))
	require.Zero(t, p.kept())
	p.fine()
}

func TestBrowserACheckWithoutContactIsKeptAndSentOnce(t *testing.T) {
	w := newWard(t)
	p := w.newHandset()
	p.open("/S/" + w.codes[0])
	p.ready()
	w.cut()
	p.do(navigate(w.url + "/S/" + w.codes[1]))
	p.wait(`document.querySelector('[data-asof]') !== null`, "a sealer that this phone never opened")
	p.started()
	require.Contains(t, p.text(`document.querySelector('.setting-number').innerText`), "7½")
	p.tap(`button[value="pass"]`)
	p.wait(`!document.querySelector('[data-kept]').hidden`, "it says that it is kept")
	require.Equal(t, 1, p.kept())
	require.Equal(t, record.CheckDue, w.stands(w.codes[1]))
	w.mend()
	p.open("/S/" + w.codes[1])
	p.drained()
	require.Equal(t, record.Ready, w.stands(w.codes[1]))
	require.Len(t, w.lines(w.codes[1], "check"), 1)
	p.fine()
}
