package durable_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/durable"
)

// names lists a folder, temporary files included.
func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	found := []string{}
	for _, e := range entries {
		found = append(found, e.Name())
	}
	return found
}

func TestWriteFileReplacesTheWholeFileAndLeavesNothingElse(t *testing.T) {
	dir := t.TempDir()
	for _, text := range []string{"first, and longer", "second", ""} {
		require.NoError(t, durable.WriteFile(dir, "anchor", []byte(text)))
		got, err := os.ReadFile(filepath.Join(dir, "anchor"))
		require.NoError(t, err)
		require.Equal(t, text, string(got))
	}
	require.Equal(t, []string{"anchor"}, names(t, dir))
	info, err := os.Stat(filepath.Join(dir, "anchor"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode())
}

func TestWriteFileRefusesANameThatIsNotInTheFolder(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"", ".", "..", "a/b", "../a", "/a", ".new-1"} {
		err := durable.WriteFile(dir, name, nil)
		require.ErrorContains(t, err, "is not the name of a file", name)
	}
	require.Empty(t, names(t, dir))
}

func TestWriteFileReportsAFolderThatIsNotThere(t *testing.T) {
	err := durable.WriteFile(filepath.Join(t.TempDir(), "none"), "a", nil)
	require.ErrorIs(t, err, os.ErrNotExist)
}

func TestSweepRemovesOnlyWhatAKilledProcessLeft(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{".new-1", ".new-22", ".other", "anchor"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o600))
	}
	n, err := durable.Sweep(dir)
	require.NoError(t, err)
	require.Equal(t, 2, n)
	require.Equal(t, []string{".other", "anchor"}, names(t, dir))
}

func TestSyncDirReportsAFolderThatIsNotThere(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, durable.SyncDir(dir))
	err := durable.SyncDir(filepath.Join(dir, "none"))
	require.ErrorIs(t, err, os.ErrNotExist)
}
