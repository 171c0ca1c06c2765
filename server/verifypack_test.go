package server_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server"
	"tidemark/server/fault"
)

func TestARecordPackIsCheckedWithoutAnyStore(t *testing.T) {
	b := fortnight(t)
	_, raw := b.recordPack(theWeek)
	name := filepath.Join(t.TempDir(), "pack.zip")
	require.NoError(t, os.WriteFile(name, raw, 0o600))
	report, err := server.VerifyPack(name, "", nil)
	require.NoError(t, err)
	require.Empty(t, report.Wrong)
	said := strings.Join(report.Checked, "\n")
	for _, text := range []string{"PDFs match the manifest only", "byte for byte, in the ledger", "What lies between can be asked for",
		"names and notes are those", "tables were made again", "No key was given"} {
		require.Contains(t, said, text)
	}
	root := report.Root
	witness := func(size int64, digits string) []string {
		report, err := server.VerifyPack(name, "", []string{fmt.Sprintf("%d %s", size, digits)})
		require.NoError(t, err)
		return report.Wrong
	}
	require.Empty(t, witness(report.Size, fmt.Sprintf("%x", root[:4])))
	require.NotEmpty(t, witness(report.Size, "00000000"))
	require.Empty(t, witness(report.Size+1, "00000000"), "it cannot tell")

	// Bytes changed all over the pack.
	for at := 0; at < len(raw); at += max(1, len(raw)/97) {
		changed := append([]byte(nil), raw...)
		changed[at] ^= 1
		require.NoError(t, os.WriteFile(name, changed, 0o600))
		_, err := server.VerifyPack(name, "", nil)
		require.Equal(t, fault.Invalid, fault.CodeOf(err), "byte %d", at)
	}
	_, err = server.VerifyPack(filepath.Join(t.TempDir(), "none.zip"), "", nil)
	require.Equal(t, fault.Unknown, fault.CodeOf(err))
}
