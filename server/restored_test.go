package server_test

import (
	"bytes"
	"net"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
)

// RULES.md R15: after a restore nobody knows what had gone out since the backup.
// What it holds undelivered waits, and is asked about; what is sent arrives once, by
// a real SMTP server.
func TestAfterARestoreUndeliveredMailsAreAskedAbout(t *testing.T) {
	gone, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	nobody := "smtp://" + gone.Addr().String() + "?from=sealers@tide.example"
	require.NoError(t, gone.Close())

	o := newOfficeBy(t, "2026-01-13 05:40", server.Config{PublicURL: officeURL, Mail: nobody})
	lead := o.begin("V. Costa")
	lead.hire("E. Tran", object{"mail": "e.tran@tide.example"}, "engineering")
	lead.hire("B. Iyer", object{"mail": "b.iyer@tide.example"}, "engineering")
	pouch := lead.addPouch("Paper/film", "paper-film")
	code := lead.addSealer("2", "bar-dial", object{"asset": "20417"})
	lead.approve(code, pouch, "6", "mark")
	o.at("2026-01-13 05:59")
	lead.page(code, pouch)
	lead.post("/sealers/"+code+"/bad-seals", object{"kind": "channel", "pouch": pouch}).done()
	lead.get("/outbox")
	require.EqualValues(t, 2, lead.reply.at("waiting"), "the mail server is down")
	var backup bytes.Buffer
	_, err = o.Backup(&backup)
	require.NoError(t, err)

	dir := filepath.Join(t.TempDir(), "restored")
	report, err := server.Restore(&backup, dir, "", nil)
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
	o.takeKeysTo(dir)
	box := newMailbox(t)
	n := &office{t: t, dir: dir, now: newYork(t, "2026-01-13 09:00")}
	n.Server, err = server.New(server.Config{Dir: dir, PublicURL: officeURL, Mail: box.way, Clock: n.clock, Argon: cheap})
	require.NoError(t, err)
	n.serve(officeURL)

	lead = lead.signsInAt(n, pin)
	lead.get("/outbox")
	require.EqualValues(t, 0, lead.reply.at("waiting"))
	require.EqualValues(t, 2, lead.reply.at("parked.0.count"))
	require.Equal(t, true, lead.reply.at("parked.0.restored"))
	lead.sees("/outbox", "Restored: 2 messages of before 06:00, send or drop?", "Mail to E. Tran", "Mail to B. Iyer")
	lead.sees("/hand-over", "2 messages")

	lead.get("/outbox")
	to, key := lead.text("parked.0.rows.0.to"), lead.text("parked.0.rows.0.key")
	lead.post("/outbox", object{"decision": "send", "key": key}).done()
	require.Contains(t, box.wait(1)[0], map[string]string{"E. Tran": "To: <e.tran@tide.example>", "B. Iyer": "To: <b.iyer@tide.example>"}[to])
	lead.get("/outbox")
	group := lead.reply.at("parked.0").(map[string]any)
	lead.post("/outbox", object{"decision": "drop", "why": group["why"], "count": group["count"], "first": group["first"],
		"last": group["last"]}).done()

	// A later problem is told of at once; the dropped mail never comes.
	four := lead.addSealer("4", "bar-dial", nil)
	lead.approve(four, pouch, "6", "mark")
	lead.page(four, pouch)
	lead.post("/sealers/"+four+"/bad-seals", object{"kind": "burn", "pouch": pouch}).done()
	for i, mail := range box.wait(3) {
		if i == 0 {
			continue
		}
		require.Contains(t, mail, "(problem 2)")
	}
	lead.get("/outbox")
	require.Empty(t, lead.reply.at("parked"))
}
