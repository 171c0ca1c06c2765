package web

import (
	"bytes"
	"fmt"
	"net/http"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tidemark/server/desk"
	"tidemark/server/record"
	"tidemark/server/rules"
)

// busyBoard is the board of 200 sealers at its worst: at the start of the day all
// wait for a check, twenty are out of service, and six pouches go on all of them.
func busyBoard() *desk.BoardView {
	now := record.TimeOf(time.Date(2026, 1, 13, 10, 5, 0, 0, time.UTC))
	v := &desk.BoardView{Frame: desk.Frame{Now: now, Day: 20466, Zone: "UTC", Dept: &rules.Department{
		DepartmentSettings: record.DepartmentSettings{Zone: "UTC", DayStart: 300}}}}
	for n := range 200 {
		s := desk.SealerRow{Code: strings.ToUpper(chance(n).String()[:7]), Number: fmt.Sprint(n + 1), Type: record.BarDial, Since: now,
			Standing: record.Readiness{State: record.CheckDue, Need: record.NeedCheck, Why: rules.WhyNewDay}}
		if n%10 == 3 {
			s.Standing = record.Readiness{State: record.OutOfService, Why: "bad-seal"}
		}
		v.Sealers = append(v.Sealers, s)
	}
	for i := range v.Sealers {
		s := &v.Sealers[i]
		need := desk.NeedRow{Sealer: s}
		if s.Standing.State == record.OutOfService {
			need.Problem = &desk.ProblemRef{ID: chance(i), Number: 100 + i, What: rules.WhatFailedCheck, Kind: record.Channel,
				Place: record.Left, AtCM: "31.5", At: now, Packs: 47, Seen: "by link, says H. Brannock-Oyelaran", SeenAt: now}
		}
		v.Needs = append(v.Needs, need)
	}
	for p := range 6 {
		row := desk.PouchRow{ID: record.ID{byte(p)}, Name: fmt.Sprintf("Paper/film %d cm, gusseted", 10+p)}
		for i, s := range v.Sealers {
			ref := desk.Ref{Code: s.Code, Text: s.Number}
			switch {
			case i%10 == 3:
				row.Out = append(row.Out, ref)
			case i%2 == 0:
				row.Check = append(row.Check, ref)
			default:
				row.Changeover = append(row.Changeover, desk.WaitRef{Ref: ref, Minutes: 20 + i%3*10})
			}
		}
		v.Pouches = append(v.Pouches, row)
	}
	return v
}

// chance is an id that looks like any other: nothing of it can be squeezed.
func chance(n int) record.ID { return record.ID{1}.Derive(fmt.Sprint(n)) }

func drawnPart(t testing.TB, v *desk.BoardView) []byte {
	t.Helper()
	pages, err := parsePages()
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, pages["board"].ExecuteTemplate(&b, "part", boardShown(v)))
	return b.Bytes()
}

func TestABoardOfTwoHundredSealersStaysSmallOnTheWire(t *testing.T) {
	part := drawnPart(t, busyBoard())
	require.Equal(t, 200, strings.Count(string(part), `<li class="tile`))
	zipped := squeezed(part)
	t.Logf("%d bytes, %d on the wire", len(part), len(zipped))
	require.Less(t, len(zipped), 60_000)
}

func TestARowOfTheBoardTakesTwoKilobytesAtMost(t *testing.T) {
	text := string(drawnPart(t, busyBoard()))
	rows := 0
	for _, tag := range []string{"li", "tr"} {
		for _, row := range strings.Split(text, "<"+tag+" ")[1:] {
			row, _, _ = strings.Cut(row, "</"+tag+">")
			require.LessOrEqual(t, len(row), 2_000, "%s", row)
			rows++
		}
		for _, row := range strings.Split(text, "<"+tag+">")[1:] {
			row, _, _ = strings.Cut(row, "</"+tag+">")
			require.LessOrEqual(t, len(row), 2_000, "%s", row)
			rows++
		}
	}
	require.Equal(t, 1+6+200+200, rows, "the head, the pouches, what needs somebody, the sealers")
}

// counted is a set of boards whose drawings are counted.
type counted struct {
	boards
	drawings atomic.Int64
	size     atomic.Int64
	changes  chan struct{}
}

func newCounted() *counted {
	c := &counted{changes: make(chan struct{}, 1)}
	c.size.Store(1)
	c.moment = func() desk.Moment { return desk.Moment{Size: c.size.Load(), Now: 1} }
	c.draw = func(record.ID) (*drawnBoard, error) {
		c.drawings.Add(1)
		return &drawnBoard{html: []byte(fmt.Sprint(c.size.Load()))}, nil
	}
	c.listen = func() (<-chan struct{}, func()) { return c.changes, func() {} }
	return c
}

func TestAChangeIsDrawnOnceHoweverManyBoardsAreOpen(t *testing.T) {
	c, dept := newCounted(), record.ID{1}
	var told sync.WaitGroup
	for range 200 {
		signal, leave := c.join(dept)
		told.Go(func() {
			defer leave()
			<-signal
			d, err := c.at(dept, 2)
			require.NoError(t, err)
			require.Equal(t, "2", string(d.html))
		})
	}
	c.size.Store(2)
	c.changes <- struct{}{}
	told.Wait()
	require.EqualValues(t, 1, c.drawings.Load())
}

func TestABoardIsDrawnAnewForAChangeAndWhenItIsOld(t *testing.T) {
	c, dept := newCounted(), record.ID{1}
	now := record.Time(1)
	c.moment = func() desk.Moment { return desk.Moment{Size: c.size.Load(), Now: now} }
	at := func(told int64) int64 {
		_, err := c.at(dept, told)
		require.NoError(t, err)
		return c.drawings.Load()
	}
	require.EqualValues(t, 1, at(0))
	require.EqualValues(t, 1, at(0), "nothing has changed")
	c.size.Store(5)
	require.EqualValues(t, 1, at(1), "whoever was told of size 1 gets what was drawn then")
	require.EqualValues(t, 2, at(0), "whoever opens the page gets it as it is")
	require.EqualValues(t, 2, at(5))
	now = now.Add(boardKeeps)
	require.EqualValues(t, 3, at(5), "time alone changes it")
	_, err := c.at(record.ID{2}, 0)
	require.NoError(t, err)
	require.EqualValues(t, 4, c.drawings.Load(), "another department has a board of its own")
}

func TestNobodyWatchesABoardThatNobodyHasOpen(t *testing.T) {
	c, dept := newCounted(), record.ID{1}
	stopped := make(chan struct{})
	c.listen = func() (<-chan struct{}, func()) { return c.changes, func() { close(stopped) } }
	_, leave := c.join(dept)
	_, leaveToo := c.join(dept)
	leave()
	leave()
	select {
	case <-stopped:
		t.Fatal("one is open still")
	default:
	}
	leaveToo()
	<-stopped
}

// hanging is a reader that takes nothing: its writes end with their deadline.
type hanging struct {
	http.ResponseWriter
	deadline time.Time
}

func (h *hanging) SetWriteDeadline(t time.Time) error {
	h.deadline = t
	return nil
}

func (h *hanging) Write([]byte) (int, error) { return 0, os.ErrDeadlineExceeded }

func TestAReaderThatTakesNothingIsDropped(t *testing.T) {
	before := time.Now()
	h := &hanging{}
	require.False(t, send(h, "id: 7\n\n"))
	require.False(t, h.deadline.IsZero(), "the write had a deadline")
	require.False(t, h.deadline.Before(before.Add(streamWrite)))
}

func TestOneSignInOpensThreeBoardsAndAllOpenFourHundred(t *testing.T) {
	var s streams
	for range streamsEach {
		require.True(t, s.enter("a"))
	}
	require.False(t, s.enter("a"))
	for n := range streamsAll - streamsEach {
		require.True(t, s.enter(fmt.Sprint(n)))
	}
	require.False(t, s.enter("b"), "all together")
	s.leave("a")
	require.True(t, s.enter("b"))
}
