package server_test

import (
	"bufio"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// stream is an open board: what it is told, an event a time.
type stream struct {
	t      *testing.T
	answer *http.Response
	lines  *bufio.Scanner
}

func (p *program) openBoard() *stream {
	p.t.Helper()
	ctx, end := context.WithTimeout(p.t.Context(), time.Minute)
	p.t.Cleanup(end)
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, officeURL+"/events", nil)
	require.NoError(p.t, err)
	r.Header.Set("X-Tide-Device", p.device)
	r.Header.Set("Authorization", "Bearer "+p.session)
	answer, err := p.http.Do(r)
	require.NoError(p.t, err)
	p.t.Cleanup(func() { _ = answer.Body.Close() })
	return &stream{p.t, answer, bufio.NewScanner(answer.Body)}
}

// next is the next event, "" when the stream is over.
func (s *stream) next() (event string) {
	s.t.Helper()
	for s.lines.Scan() && s.lines.Text() != "" {
		event += s.lines.Text() + "\n"
	}
	return event
}

func TestOpenBoardsAreToldAndFetchWhatTheyWereToldOf(t *testing.T) {
	b := newBench(t)
	s := b.openBoard()
	require.Equal(t, "text/event-stream", s.answer.Header.Get("Content-Type"))
	require.Equal(t, fmt.Sprintf("id: %d\ndata: board\n", b.size()), s.next())
	b.page(b.code, b.pouch)
	b.post("/sealers/"+b.code+"/bad-seals", object{"kind": "channel", "place": "left", "pouch": b.pouch}).done()
	require.Equal(t, fmt.Sprintf("id: %d\ndata: board\n", b.size()), s.next())
	b.browse("GET", fmt.Sprintf("/board/part?seen=%d", b.size()), "", nil)
	require.Contains(t, string(b.reply.raw), "Out of service")
	require.NotContains(t, string(b.reply.raw), "<html", "the part alone")
}

func TestWhatChangesNothingOnTheBoardIsNotFetched(t *testing.T) {
	b := newBench(t)
	s := b.openBoard()
	s.next()
	b.page(b.code, b.pouch)
	b.post("/sealers/"+b.code+"/packs", object{"pouch": b.pouch, "count": 1}).done()
	require.Regexp(t, `^event: alive\ndata: \d\d:\d\d\n$`, s.next())
}

func TestABoardEndsWithItsSession(t *testing.T) {
	b := newBench(t)
	marsh := b.hire("L. Marsh", nil, "technician")
	s := marsh.openBoard()
	require.NotEmpty(t, s.next())
	marsh.say("/sign-out", object{}).done()
	b.page(b.code, b.pouch)
	b.post("/sealers/"+b.code+"/packs", object{"pouch": b.pouch, "count": 1}).done()
	require.Empty(t, s.next(), "over at the next change, or within half a minute")
	require.NoError(t, s.lines.Err())
}

func TestOneSignInHasThreeBoardsOpenAtMost(t *testing.T) {
	b := newBench(t)
	for range 3 {
		require.Equal(t, http.StatusOK, b.openBoard().answer.StatusCode)
	}
	require.Equal(t, http.StatusTooManyRequests, b.openBoard().answer.StatusCode)
	marsh := b.hire("L. Marsh", nil, "technician")
	require.Equal(t, http.StatusOK, marsh.openBoard().answer.StatusCode, "another sign-in has its own")
	for _, p := range []*program{b.program, marsh} { // the streams end with their sessions
		p.say("/sign-out", object{}).done()
	}
}

func TestTheBoardGoesSqueezedToWhoeverTakesIt(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{"/", "/board/part", "/?wall=1"} {
		b.browse("GET", path, "", nil) // net/http asks for gzip and unpacks it
		require.Contains(t, string(b.reply.raw), "Sealer 2", path)
		plain := b.reply.raw
		r, err := http.NewRequest(http.MethodGet, officeURL+path, nil)
		require.NoError(t, err)
		r.Header.Set("X-Tide-Device", b.device)
		r.Header.Set("Authorization", "Bearer "+b.session)
		r.Header.Set("Accept-Encoding", "gzip")
		b.do(r)
		require.Equal(t, "gzip", b.reply.header.Get("Content-Encoding"))
		z, err := gzip.NewReader(strings.NewReader(string(b.reply.raw)))
		require.NoError(t, err)
		unpacked, err := io.ReadAll(z)
		require.NoError(t, err)
		require.Equal(t, len(plain), len(unpacked), path)
		r.Header.Set("Accept-Encoding", "identity")
		b.do(r)
		require.Empty(t, b.reply.header.Get("Content-Encoding"))
	}
}
