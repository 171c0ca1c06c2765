package server_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestFirstPersonBeginsThroughTheInterface(t *testing.T) {
	o := newOffice(t, "2026-01-13 07:05")
	lead := o.begin("V. Costa")
	lead.get("/board")
	require.Equal(t, "V. Costa", lead.text("who"))
	lead.get("/people/colleagues")
	require.Equal(t, "V. Costa", lead.text("people.0.text"))
	require.Equal(t, http.StatusOK, lead.reply.status)
}
