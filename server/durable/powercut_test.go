package durable_test

import (
	"maps"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/durable"
)

// platter is a disk with a model of what a power cut would leave of it. It
// promises as little as POSIX does: a file's bytes last from its sync, an entry
// of a folder from the sync of that folder. What was not synced may last too,
// so each cut has two ends: entries lost, and entries kept without the bytes.
type platter struct {
	durable.OS
	root       string
	live, kept map[string]map[string]*inode       // by folder, then name
	power      func(kept, live map[string]string) // told after each call
	noSync     bool                               // files are not synced
	noSyncDir  bool                               // folders are not synced
}

// inode is a file, or a folder if its bytes are nil.
type inode struct{ bytes *string }

// newPlatter takes what is in root for synced.
func newPlatter(t *testing.T, root string, power func(kept, live map[string]string)) *platter {
	t.Helper()
	p := &platter{root: root, live: map[string]map[string]*inode{},
		kept: map[string]map[string]*inode{}, power: power}
	p.live[root] = map[string]*inode{}
	for _, name := range names(t, root) {
		text := content(t, filepath.Join(root, name))
		p.live[root][name] = &inode{&text}
	}
	p.kept[root] = maps.Clone(p.live[root])
	return p
}

func (p *platter) CreateTemp(dir, pattern string) (durable.File, error) {
	file, err := p.OS.CreateTemp(dir, pattern)
	if err != nil {
		return nil, err
	}
	node := &inode{new(string)}
	p.live[dir][filepath.Base(file.Name())] = node
	p.cut()
	return &spun{file, node, p}, nil
}

func (p *platter) Rename(from, to string) error {
	dir := p.live[filepath.Dir(from)]
	dir[filepath.Base(to)] = dir[filepath.Base(from)]
	delete(dir, filepath.Base(from))
	defer p.cut()
	return p.OS.Rename(from, to)
}

func (p *platter) Remove(name string) error {
	delete(p.live[filepath.Dir(name)], filepath.Base(name))
	defer p.cut()
	return p.OS.Remove(name)
}

func (p *platter) Mkdir(name string) error {
	if p.live[name] == nil {
		p.live[name], p.kept[name] = map[string]*inode{}, map[string]*inode{}
		p.live[filepath.Dir(name)][filepath.Base(name)] = &inode{}
	}
	defer p.cut()
	return p.OS.Mkdir(name)
}

func (p *platter) SyncDir(dir string) error {
	if !p.noSyncDir && p.live[dir] != nil {
		p.kept[dir] = maps.Clone(p.live[dir])
	}
	defer p.cut()
	return p.OS.SyncDir(dir)
}

// spun is an open file of a platter.
type spun struct {
	durable.File
	node *inode
	p    *platter
}

func (s *spun) Write(b []byte) (int, error) {
	defer s.p.cut()
	return s.File.Write(b)
}

func (s *spun) Sync() error {
	if data, err := os.ReadFile(s.Name()); err == nil && !s.p.noSync {
		*s.node.bytes = string(data)
	}
	defer s.p.cut()
	return s.File.Sync()
}

// cut tells what is left if the power goes now, by path.
func (p *platter) cut() {
	if p.power != nil {
		p.power(p.left(p.kept), p.left(p.live))
	}
}

// left returns the files that can be reached through the given entries, with
// the bytes that were synced.
func (p *platter) left(entries map[string]map[string]*inode) map[string]string {
	files := map[string]string{}
	folders := []string{p.root}
	for len(folders) > 0 {
		dir := folders[0]
		folders = folders[1:]
		for name, node := range entries[dir] {
			path := filepath.Join(dir, name)
			if node.bytes == nil {
				folders = append(folders, path)
				continue
			}
			files[path] = *node.bytes
		}
	}
	return files
}

func TestAPowerCutLeavesTheOldFileOrTheNewAtAnyMoment(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, durable.WriteFile(dir, "anchor", []byte(before)))
	path := filepath.Join(dir, "anchor")
	cuts := 0
	p := newPlatter(t, dir, func(kept, live map[string]string) {
		cuts++
		require.Contains(t, []string{before, after}, kept[path])
		require.Contains(t, []string{before, after}, live[path])
	})
	require.NoError(t, durable.Writer{Files: p}.WriteFile(dir, "anchor", []byte(after)))
	require.Equal(t, 5, cuts, "create, write, sync, rename, sync folder")
	require.Equal(t, after, p.left(p.kept)[path], "acknowledged")
}

func TestAPowerCutLeavesEveryAcknowledgedPut(t *testing.T) {
	root := t.TempDir()
	acknowledged := map[string]string{}
	p := newPlatter(t, root, func(kept, live map[string]string) {
		for path, text := range acknowledged {
			require.Equal(t, text, kept[path])
			require.Equal(t, text, live[path])
		}
	})
	f, err := durable.Writer{Files: p}.OpenFolder(filepath.Join(root, "photographs"))
	require.NoError(t, err)
	// "abc", "jf" and "mw" share the subfolder ba.
	for _, text := range []string{"abc", "", "abc", "jf", "mw"} {
		name := put(t, f, text)
		acknowledged[filepath.Join(root, "photographs", name[:2], name)] = text
	}
	require.Len(t, acknowledged, 4)
	require.Equal(t, acknowledged, p.left(p.kept))

	path := filepath.Join(root, "photographs", "ba", abc)
	delete(acknowledged, path)
	require.NoError(t, f.Delete(abc))
	require.NotContains(t, p.left(p.kept), path, "deleted for good")
}

// Two processes, one after the other: the first dies before it has synced what
// the second finds in place.
func TestWhatAnEarlierProcessLeftUnsyncedIsSyncedByPut(t *testing.T) {
	root := t.TempDir()
	forgetful := newPlatter(t, root, nil)
	forgetful.noSyncDir = true
	dir := filepath.Join(root, "photographs")
	f, err := durable.Writer{Files: forgetful}.OpenFolder(dir)
	require.NoError(t, err)
	put(t, f, "abc")
	require.Empty(t, forgetful.left(forgetful.kept), "the trial has teeth")

	forgetful.noSyncDir = false
	f, err = durable.Writer{Files: forgetful}.OpenFolder(dir)
	require.NoError(t, err)
	put(t, f, "abc")
	require.Equal(t, map[string]string{filepath.Join(dir, "ba", abc): "abc"},
		forgetful.left(forgetful.kept))
}

func TestThePowerCutTrialNoticesAMissingSync(t *testing.T) {
	for name, forget := range map[string]func(*platter){
		"of the file":   func(p *platter) { p.noSync = true },
		"of the folder": func(p *platter) { p.noSyncDir = true },
	} {
		dir := t.TempDir()
		p := newPlatter(t, dir, nil)
		forget(p)
		require.NoError(t, durable.Writer{Files: p}.WriteFile(dir, "anchor", []byte(after)))
		require.NotEqual(t, after, p.left(p.kept)[filepath.Join(dir, "anchor")], name)
	}
}
