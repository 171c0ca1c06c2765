package report

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
)

// shelf keeps volumes in memory.
type shelf struct{ volumes []*volume }

type volume struct{ bytes.Buffer }

func (*volume) Close() error { return nil }

func (s *shelf) open(n int) (io.WriteCloser, error) {
	if n != len(s.volumes)+1 {
		return nil, fmt.Errorf("volume %d comes after %d", n, len(s.volumes))
	}
	s.volumes = append(s.volumes, &volume{})
	return s.volumes[n-1], nil
}

func drawn(t testing.TB, b *Book, look Look) *shelf {
	t.Helper()
	s := &shelf{}
	p := NewPDF(look, s.open)
	require.NoError(t, DrawPDF(b, plainWords{}, p))
	n, err := p.Close()
	require.NoError(t, err)
	require.Len(t, s.volumes, n)
	return s
}

func lookOf(b *Book) Look {
	return Look{Title: "Records of heat sealers", Place: b.Place, Mark: b.Mark, Demo: true, Dated: dated}
}

// readPages reads a PDF back with poppler's pdftotext, a text for each page.
func readPages(t testing.TB, v *volume) []string {
	t.Helper()
	path, err := exec.LookPath("pdftotext")
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("NOT TESTED: pdftotext is not installed (apt-get install poppler-utils)")
	}
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "volume.pdf")
	require.NoError(t, os.WriteFile(name, v.Bytes(), 0o600))
	out, err := exec.Command(path, "-layout", name, "-").Output()
	require.NoError(t, err)
	return strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
}

func TestPDFSaysOnEachPageWhatItIsAndWhereItIsFrom(t *testing.T) {
	b := sample(2, 40)
	pages := readPages(t, drawn(t, b, lookOf(b)).volumes[0])
	require.Greater(t, len(pages), len(Sections)-1)
	for i, page := range pages {
		for _, words := range []string{Caution, b.Mark, "DEMO", b.Place, fmt.Sprintf("volume 1, page %d", i+1)} {
			require.Contains(t, page, words, "page %d", i+1)
		}
	}
	all := strings.Join(pages, "\n")
	for _, s := range Sections {
		require.Contains(t, all, s.Title)
	}
	require.Contains(t, all, "removed on 2 Mar 2026")
	require.Contains(t, all, "Problem 7: Channel, left")
	require.Regexp(t, `Packs settled\s+Problem closed`, all)
	require.Contains(t, all, "not yet")
	require.Regexp(t, `Mon 23 Feb 2026\s+1\s+nobody checked`, all)
}

// Every row of a table is on paper, once.
func TestEveryCheckIsOnPaperOnce(t *testing.T) {
	b := sample(4, 60)
	var all string
	for _, v := range drawn(t, b, lookOf(b)).volumes {
		all += strings.Join(readPages(t, v), "\n")
	}
	_, all, _ = strings.Cut(all, "Every check, in order of record")
	found := regexp.MustCompile(`(?m) (\d+)$`).FindAllStringSubmatch(all, -1)
	seen := map[string]int{}
	for _, f := range found {
		seen[f[1]]++
	}
	for seq := range 240 {
		require.GreaterOrEqual(t, seen[fmt.Sprint(seq)], 1, "record %d", seq)
	}
	require.Equal(t, 240, strings.Count(all, "Good check"))
}

func TestPDFOfTheSameBookIsTheSame(t *testing.T) {
	b := sample(2, 40)
	fonts := func() [sha256.Size]byte { return sha256.Sum256(slices.Concat(goregular.TTF, gobold.TTF, gomono.TTF)) }
	untouched := fonts()
	first, again := drawn(t, b, lookOf(b)), drawn(t, b, lookOf(b))
	require.Equal(t, untouched, fonts(), "the fonts are everybody's")
	require.Equal(t, first.volumes[0].Bytes(), again.volumes[0].Bytes())
	other := lookOf(b)
	other.Mark = "record 1205 · 00000000"
	require.NotEqual(t, first.volumes[0].Bytes(), drawn(t, b, other).volumes[0].Bytes())
}

func TestVolumesHaveAtMostTwoHundredAndFiftyPages(t *testing.T) {
	b := sample(20, 380)
	volumes := drawn(t, b, lookOf(b)).volumes
	require.Greater(t, len(volumes), 1)
	total := 0
	for i, v := range volumes {
		pages := readPages(t, v)
		require.LessOrEqual(t, len(pages), VolumePages)
		if i < len(volumes)-1 {
			require.Len(t, pages, VolumePages, "a volume is filled before the next begins")
		}
		require.Contains(t, pages[0], fmt.Sprintf("volume %d, page 1", i+1))
		for _, page := range pages {
			total += strings.Count(page, "Good check")
		}
	}
	require.Equal(t, 20*380+elsewhere(t, b), total, "no row is lost between two volumes")
}

// elsewhere is how many of the rows stand in other sections than that of checks.
func elsewhere(t *testing.T, b *Book) (n int) {
	t.Helper()
	for _, s := range Sections[:len(Sections)-1] {
		sheet, err := Keep(b, plainWords{}, s.ID)
		require.NoError(t, err)
		for _, block := range sheet.Blocks {
			for _, row := range block.Rows {
				n += strings.Count(strings.Join(row, " "), "Good check")
			}
		}
	}
	return n
}

func TestTextsOfAnyKindAreDrawnWithinTheirColumn(t *testing.T) {
	s := &shelf{}
	p := NewPDF(Look{Title: "T", Mark: "m", Dated: dated, Letter: true}, s.open)
	p.Table("Texts", Column{Text: "Narrow", Width: 1}, Column{Text: "Wide", Width: 9})
	long := strings.Repeat("unbreakable", 30)
	p.Row(long, "Größe Łódź Αθήνα Київ cafe\u0301")
	p.Row("", strings.Repeat("many words ", 900)) // more than a page
	p.Row("Low-temperature-corner", "a\tb\x00c \xff d")
	n, err := p.Close()
	require.NoError(t, err)
	require.Equal(t, 1, n)
	text := strings.Join(readPages(t, s.volumes[0]), "\n")
	require.Contains(t, text, "Größe Łódź Αθήνα Київ café")
	require.Equal(t, 900, strings.Count(text, "many")-strings.Count(text, "many-"))
	narrow := regexp.MustCompile(`(?m)^(\S+)`).FindAllString(text, -1)
	require.Contains(t, strings.Join(narrow, ""), long[:60], "cut into lines, nothing lost")
}

type full struct{}

var errFull = errors.New("disk full")

func (full) Write([]byte) (int, error) { return 0, errFull }
func (full) Close() error              { return nil }

func TestAFullDiskIsTold(t *testing.T) {
	p := NewPDF(Look{Dated: dated}, func(int) (io.WriteCloser, error) { return full{}, nil })
	require.NoError(t, DrawPDF(sample(1, 1), plainWords{}, p))
	_, err := p.Close()
	require.ErrorIs(t, err, errFull)
	p = NewPDF(Look{Dated: dated}, func(int) (io.WriteCloser, error) { return nil, errFull })
	require.ErrorIs(t, DrawPDF(sample(20, 380), plainWords{}, p), errFull, "the drawing ends with the volume that cannot be written")
}
