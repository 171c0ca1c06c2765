package ledger

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tidemark/server/durable"
	"tidemark/server/record"
)

var power = flag.Int("power", 40, "how many power cuts are simulated")

// The system calls of a child that appends records and stores photographs are
// traced; from the trace the disk is built as a power cut at a random moment
// may leave it. What was not synced is kept or lost at random: the sectors of
// files one by one, the entries of folders from the last on. The same with the
// syncs left out has to fail, to show that the trial has teeth.
func TestAPowerCutLosesNothingThatWasAcknowledged(t *testing.T) {
	calls := trace(t)
	random := rand.New(rand.NewPCG(uint64(*power), 7))
	for n := range *power {
		at := random.IntN(len(calls) + 1)
		require.NoError(t, outlives(t, calls[:at], true, random), "cut %d before call %d", n, at)
	}
	broken := 0
	for range 20 {
		at := len(calls)/2 + random.IntN(len(calls)/2)
		if outlives(t, calls[:at], false, random) != nil {
			broken++
		}
	}
	t.Logf("%d cuts in %d calls outlived; without syncs %d of 20 were not", *power, len(calls), broken)
	require.Greater(t, broken, 15, "the trial has no teeth")
}

// call is one system call that changes the disk, or an acknowledgement.
type call struct {
	name     string
	path, to string
	data     []byte
	offset   int64
	began    int // place in the trace where it began; it stands where it ended
}

// trace runs the child under strace.
func trace(t *testing.T) []call {
	if _, err := exec.LookPath("strace"); err != nil {
		t.Skip("strace is not installed")
	}
	dir := filepath.Join(t.TempDir(), "data")
	require.NoError(t, os.Mkdir(dir, 0o700))
	out := filepath.Join(t.TempDir(), "trace")
	child := exec.Command("strace", "-f", "-y", "-xx", "-s", "10000000", "-o", out, "-e",
		"trace=openat,write,pwrite64,ftruncate,fsync,fdatasync,rename,renameat,renameat2,"+
			"unlink,unlinkat,mkdir,mkdirat", os.Args[0])
	child.Env = append(os.Environ(), childMode+"=trace", childDir+"="+dir)
	text, err := child.CombinedOutput()
	require.NoError(t, err, "%s", text)
	return parseTrace(t, out, dir)
}

var (
	unfinished = regexp.MustCompile(`^(\d+) +(.*) <unfinished \.\.\.>$`)
	resumed    = regexp.MustCompile(`^(\d+) +<\.\.\. \w+ resumed>(.*)$`)
	finished   = regexp.MustCompile(`^\d+ +(\w+)\((.*)\) += (\d+)`)
)

// parseTrace reads the calls in the order in which they ended.
func parseTrace(t *testing.T, name, dir string) (calls []call) {
	file, err := os.Open(name)
	require.NoError(t, err)
	defer file.Close()
	in := bufio.NewScanner(file)
	in.Buffer(nil, 1<<26)
	type open struct {
		text  string
		began int
	}
	begun := map[string]open{}
	for n := 0; in.Scan(); n++ {
		line, began := in.Text(), n
		if m := unfinished.FindStringSubmatch(line); m != nil {
			begun[m[1]] = open{m[2], n}
			continue
		}
		if m := resumed.FindStringSubmatch(line); m != nil {
			line, began = m[1]+" "+begun[m[1]].text+m[2], begun[m[1]].began
		}
		m := finished.FindStringSubmatch(line)
		if m == nil {
			continue // it failed, or was no call
		}
		if c, ok := parseCall(m[1], m[2], m[3]); ok && (c.name == "ack" || within(c, dir)) {
			c.began = began
			calls = append(calls, c)
		}
	}
	require.NoError(t, in.Err())
	for i := range calls { // what is not the child's folder has no place
		calls[i].path = strings.TrimPrefix(calls[i].path, dir)
		calls[i].to = strings.TrimPrefix(calls[i].to, dir)
	}
	return calls
}

func within(c call, dir string) bool { return c.path == dir || strings.HasPrefix(c.path, dir+"/") }

var (
	quotedHex = regexp.MustCompile(`"((?:\\x[0-9a-f]{2})*)"`)
	fdPath    = regexp.MustCompile(`^\d+<((?:\\x[0-9a-f]{2})*|[^>]*)>`)
)

func unhex(s string) []byte {
	if !strings.Contains(s, `\x`) {
		return []byte(s)
	}
	b, err := hex.DecodeString(strings.ReplaceAll(s, `\x`, ""))
	must(err)
	return b
}

// parseCall reads the arguments that matter of a call.
func parseCall(name, args, result string) (c call, ok bool) {
	c.name = name
	if m := fdPath.FindStringSubmatch(args); m != nil {
		c.path = string(unhex(m[1]))
	}
	var texts [][]byte
	for _, m := range quotedHex.FindAllStringSubmatch(args, -1) {
		texts = append(texts, unhex(m[1]))
	}
	fields := strings.Split(args, ", ")
	last, _ := strconv.ParseInt(fields[len(fields)-1], 10, 64)
	switch name {
	case "write":
		c.data, c.offset = texts[0], -1
		if strings.HasPrefix(args, "1<") {
			c.name, c.path = "ack", string(bytes.TrimSpace(bytes.TrimPrefix(texts[0], []byte("ack "))))
		}
		return c, true
	case "pwrite64":
		c.data, c.offset = texts[0], last
	case "ftruncate":
		c.offset = last
	case "rename", "renameat", "renameat2":
		c.name, c.path, c.to = "rename", string(texts[0]), string(texts[1])
	case "unlink", "unlinkat":
		c.name, c.path = "unlink", string(texts[0])
	case "mkdir", "mkdirat":
		c.name, c.path = "mkdir", string(texts[0])
	case "openat":
		c.name, c.path = "create", string(texts[0])
		return c, strings.Contains(args, "O_CREAT")
	}
	return c, true
}

// sector is what a disk writes whole or not at all.
const sector = 512

// inode is a file: what is certain, and what was written since.
type inode struct {
	size, sureSize int64
	sectors        map[int64][]byte
	sure           map[int64][]byte
}

// disk is files by inode, and folders as lists of changes of which the first so
// many are certain.
type disk struct {
	names   map[string]*inode // as the process sees them
	folders map[string]*folder
}

type folder struct {
	changes []func(names map[string]*inode)
	sure    int
}

func (d *disk) folder(path string) *folder {
	dir := filepath.Dir(path)
	if d.folders[dir] == nil {
		d.folders[dir] = &folder{}
	}
	return d.folders[dir]
}

func (d *disk) change(path string, f func(names map[string]*inode)) {
	f(d.names)
	folder := d.folder(path)
	folder.changes = append(folder.changes, f)
}

func (d *disk) apply(c call) {
	node := d.names[c.path]
	switch c.name {
	case "create":
		if node == nil {
			node = &inode{sectors: map[int64][]byte{}, sure: map[int64][]byte{}}
			d.change(c.path, func(names map[string]*inode) { names[c.path] = node })
		}
	case "mkdir":
		node = &inode{size: -1}
		d.change(c.path, func(names map[string]*inode) { names[c.path] = node })
	case "rename":
		d.change(c.to, func(names map[string]*inode) {
			names[c.to] = node
			delete(names, c.path)
		})
	case "unlink":
		d.change(c.path, func(names map[string]*inode) { delete(names, c.path) })
	case "ftruncate":
		node.size = c.offset
	case "write", "pwrite64":
		node.write(c.data, c.offset)
	}
}

func (n *inode) write(b []byte, offset int64) {
	if offset < 0 {
		offset = n.size // all files but the store are written from front to end
	}
	n.size = max(n.size, offset+int64(len(b)))
	for len(b) > 0 {
		at, from := offset/sector, offset%sector
		fresh := make([]byte, sector)
		copy(fresh, n.sectors[at])
		written := copy(fresh[from:], b)
		n.sectors[at] = fresh
		b, offset = b[written:], offset+int64(written)
	}
}

// sync makes certain what the calls before made of a file or a folder.
func (d *disk) sync(path string) {
	if n := d.names[path]; n != nil && n.size >= 0 {
		n.sureSize, n.sure = n.size, maps.Clone(n.sectors)
		return
	}
	f := d.folder(path + "/x")
	f.sure = len(f.changes)
}

// cut writes into dir what a power cut leaves.
func (d *disk) cut(t *testing.T, dir string, random *rand.Rand) {
	names := map[string]*inode{}
	for _, at := range slices.Sorted(maps.Keys(d.folders)) { // folders before what is in them
		f := d.folders[at]
		kept := f.sure + random.IntN(len(f.changes)-f.sure+1)
		for _, change := range f.changes[:kept] {
			change(names)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if names[name].size < 0 {
			require.NoError(t, os.MkdirAll(filepath.Join(dir, name), 0o700))
			continue
		}
		if _, err := os.Stat(filepath.Dir(filepath.Join(dir, name))); err == nil {
			names[name].cut(t, filepath.Join(dir, name), random)
		}
	}
}

func (n *inode) cut(t *testing.T, name string, random *rand.Rand) {
	size := n.sureSize
	if random.IntN(2) == 0 {
		size = n.size
	}
	f, err := os.Create(name)
	require.NoError(t, err)
	defer f.Close()
	for at, b := range n.sectors {
		if sure := n.sure[at]; !bytes.Equal(b, sure) && random.IntN(2) == 0 {
			b = sure
		}
		if _, err := f.WriteAt(b, at*sector); err != nil {
			require.NoError(t, err)
		}
	}
	require.NoError(t, f.Truncate(size))
}

// outlives cuts the power after the calls and reports whether what is left
// opens, is sound and holds every acknowledged record and its photograph.
func outlives(t *testing.T, calls []call, synced bool, random *rand.Rand) error {
	d := &disk{names: map[string]*inode{}, folders: map[string]*folder{}}
	var acknowledged []record.ID
	for i, c := range calls {
		switch c.name {
		case "ack":
			id, err := record.ParseID(c.path)
			require.NoError(t, err)
			acknowledged = append(acknowledged, id)
		case "fsync", "fdatasync":
			if synced {
				d.syncBefore(calls[:i], c)
			}
		default:
			d.apply(c)
		}
	}
	dir := t.TempDir()
	d.cut(t, dir, random)
	return survives(dir, acknowledged)
}

// syncBefore is sync, but without the calls that began after the sync did.
func (d *disk) syncBefore(calls []call, sync call) {
	for _, c := range calls {
		if c.path == sync.path && c.began > sync.began && c.name != "ack" {
			return // a later sync will do; this one may not have covered it
		}
	}
	d.sync(sync.path)
}

func survives(dir string, acknowledged []record.ID) error {
	o := Options{Dir: dir, Fold: benchFold()}
	l, err := Open(o)
	if err != nil {
		return err
	}
	photos, err := durable.OpenFolder(filepath.Join(dir, "photos"))
	must(err)
	err = l.Range(0, record.Seq(l.Size()), func(r record.Record) error {
		_, err := photos.Read(hex.EncodeToString(slices.Clone(photo(r))))
		return err
	})
	for _, id := range acknowledged {
		_, found, findErr := l.Find(id)
		if findErr != nil || !found {
			err = fmt.Errorf("acknowledged and lost: %s (%v)", id, findErr)
		}
	}
	if closeErr := l.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return err
	}
	report, err := Verify(Verification{Dir: dir, Fold: o.Fold})
	if err == nil && len(report.Wrong) > 0 {
		err = fmt.Errorf("verify: %v", report.Wrong)
	}
	return err
}

func photo(r record.Record) []byte {
	c := r.Sealed["photo"]
	return c[:]
}
