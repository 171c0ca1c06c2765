package labels

import (
	"bytes"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// runTool runs a Debian program (poppler-utils, zbar-tools) and returns what it
// printed. Without the program the test is skipped, or fails where CI is set.
func runTool(t testing.TB, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil && os.Getenv("CI") == "" {
		t.Skipf("NOT TESTED: %s is not installed (apt-get install zbar-tools poppler-utils)", name)
	}
	require.NoError(t, err)
	var stdout, stderr bytes.Buffer
	cmd := exec.Command(path, args...)
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	require.NoError(t, cmd.Run(), "%s: %s", name, &stderr)
	return stdout.String()
}

// zbar returns what zbarimg reads in images, in their order. It is given one
// label at a time, as a phone is: in a page of 24 symbols it now and then
// takes corners of two for one.
func zbar(t testing.TB, files ...string) []string {
	t.Helper()
	args := []string{"-q", "--raw", "--nodbus", "-Sdisable", "-Sqrcode.enable"}
	return strings.Fields(runTool(t, "zbarimg", append(args, files...)...))
}

// raster draws one page of a PDF in grey with pdftoppm and returns the file.
func raster(t testing.TB, pdf string, page, dpi int) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page")
	runTool(t, "pdftoppm", "-gray", "-r", strconv.Itoa(dpi), "-singlefile",
		"-f", strconv.Itoa(page), "-l", strconv.Itoa(page), pdf, out)
	return out + ".pgm"
}

// openPGM reads the binary grey image that pdftoppm writes.
func openPGM(t testing.TB, file string) *image.Gray {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	head := strings.Fields(string(data[:40]))
	require.Equal(t, "P5", head[0])
	w, err := strconv.Atoi(head[1])
	require.NoError(t, err)
	h, err := strconv.Atoi(head[2])
	require.NoError(t, err)
	img := image.NewGray(image.Rect(0, 0, w, h))
	require.Greater(t, len(data), w*h)
	copy(img.Pix, data[len(data)-w*h:])
	return img
}

// savePGM writes a grey image, or a part of one, for zbarimg.
func savePGM(t testing.TB, img *image.Gray) string {
	t.Helper()
	size := img.Bounds().Size()
	data := fmt.Appendf(nil, "P5 %d %d 255\n", size.X, size.Y)
	for y := range size.Y {
		data = append(data, img.Pix[y*img.Stride:][:size.X]...)
	}
	return saved(t, "image.pgm", data)
}

func saved(t testing.TB, name string, data []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(file, data, 0o600))
	return file
}
