package trust

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

var greeting = Greeting{
	Welcome: "http://192.168.178.123:8788/", App: "https://needlesight.local:8787/", Here: "http://localhost:8787/",
	Fingerprint: strings.TrimSuffix(strings.Repeat("A7:", 32), ":"),
}

func written(t *testing.T, g Greeting, code bool) string {
	t.Helper()
	var text bytes.Buffer
	if err := g.Write(&text, code); err != nil {
		t.Fatal(err)
	}
	return text.String()
}

var colours = regexp.MustCompile("\x1b\\[[0-9;]*m")

func TestTheGreetingIsOneScreen(t *testing.T) {
	long := greeting
	long.Told = []string{"Phones may not find needlesight.local: the port of multicast DNS is not to be had."}
	for name, text := range map[string]string{
		"with a code": written(t, greeting, true), "with a code and trouble": written(t, long, true), "without": written(t, greeting, false),
	} {
		rows := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		if len(rows) > 24 {
			t.Errorf("%s: %d rows", name, len(rows))
		}
		for _, row := range rows {
			if n := utf8.RuneCountInString(colours.ReplaceAllString(row, "")); n > 80 {
				t.Errorf("%s: %d columns: %s", name, n, row)
			}
		}
		plain := colours.ReplaceAllString(text, "")
		for _, want := range []string{greeting.Welcome, greeting.App, greeting.Here, "A7:A7:A7"} {
			if !strings.Contains(plain, want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
		if n := strings.Count(plain, "A7"); n != 32 {
			t.Errorf("%s: %d pairs of the fingerprint", name, n)
		}
	}
	if strings.Contains(written(t, greeting, false), "\x1b") {
		t.Error("colours where none were wanted")
	}
}

func TestWithoutANetworkThereIsNoCode(t *testing.T) {
	text := written(t, Greeting{Here: "http://localhost:8787/", Told: []string{"This computer is on no network."}}, true)
	if strings.Contains(text, "\x1b") || !strings.Contains(text, "on no network") {
		t.Error(text)
	}
}

// screenshot draws what a terminal would show of the code: each character two pixels
// high, in the colours that are named.
func screenshot(t *testing.T, text string) *image.Gray {
	t.Helper()
	const on, off, scale = "\x1b[38;5;16;48;5;231m", "\x1b[0m", 6
	var rows [][]rune
	for row := range strings.SplitSeq(text, "\n") {
		if inside, found := strings.CutPrefix(row, on); found {
			inside, _, _ = strings.Cut(inside, off)
			rows = append(rows, []rune(inside))
		}
	}
	if len(rows) == 0 {
		t.Fatal("there is no code")
	}
	picture := image.NewGray(image.Rect(0, 0, len(rows[0])*scale, len(rows)*2*scale))
	for y := range picture.Rect.Max.Y {
		for x := range picture.Rect.Max.X {
			cell := rows[y/(2*scale)][x/scale]
			upper := y/scale%2 == 0
			white := cell == ' ' || cell == '▄' && upper || cell == '▀' && !upper
			if white {
				picture.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	return picture
}

// The code is read from the characters that are printed, by a decoder of somebody
// else, and by zbarimg as well where it is installed.
func TestTheCodeCanBeRead(t *testing.T) {
	for _, address := range []string{"http://10.0.0.2:8788/", greeting.Welcome, "http://[fd12:3456:789a:1::1234:5678]:8788/"} {
		g := greeting
		g.Welcome = address
		picture := screenshot(t, written(t, g, true))
		bitmap, err := gozxing.NewBinaryBitmapFromImage(picture)
		if err != nil {
			t.Fatal(err)
		}
		result, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
		if err != nil {
			t.Errorf("%s: %v", address, err)
		} else if result.GetText() != address {
			t.Errorf("%s reads %s", address, result.GetText())
		}
		if program, err := exec.LookPath("zbarimg"); err == nil {
			zbar(t, program, picture, address)
		}
	}
}

func zbar(t *testing.T, program string, picture image.Image, address string) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "code.png")
	file, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(file, picture); err != nil {
		t.Fatal(err)
	}
	file.Close()
	out, err := exec.Command(program, "--quiet", "--raw", "--nodbus", name).Output()
	if err != nil || strings.TrimSpace(string(out)) != address {
		t.Errorf("zbarimg reads %q (%v), not %s", out, err, address)
	}
}
