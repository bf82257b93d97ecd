package pictures

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
	"needlesight/pwa/engine/raster/decode"
)

// The vectors hold the phone's engine and this one to the same bytes, as those of
// package engine do: `go test ./pwa/engine/pictures -run Vectors -update` writes the
// answers and the pictures anew. Pictures are files beside them; of the file that
// comes with a response they hold the SHA-256.
const vectorsFile = "testdata/vectors.json"

var update = flag.Bool("update", false, "write the answers in "+vectorsFile+" anew")

type vector struct {
	Method   string            `json:"method"`
	Request  json.RawMessage   `json:"request"`
	Pictures map[string]string `json:"pictures,omitempty"` // the files, by the names that the request has for them
	Response json.RawMessage   `json:"response,omitempty"`
	File     string            `json:"file,omitempty"`
	Error    *fault.Error      `json:"error,omitempty"`
}

// beside gives the pictures of a vector.
type beside map[string]string

func (b beside) read(name string) ([]byte, error) {
	file, there := b[name]
	if !there {
		return nil, raster.Missing(name)
	}
	return os.ReadFile(filepath.Join("testdata", file))
}

func (b beside) Pixels(name string) (*raster.Picture, error) {
	file, err := b.read(name)
	if err != nil {
		return nil, err
	}
	return decode.Picture(name, file)
}

func (b beside) File(name string) ([]byte, string, error) {
	file, err := b.read(name)
	if err != nil {
		return nil, "", err
	}
	return decode.Upright(name, file)
}

// ring is a piece with a hole in it, as small as one that is still found.
func ring(x, y float64) bool {
	d := (x-60)*(x-60) + (y-45)*(y-45)
	return d < 32*32 && d > 10*10
}

// scene is something brown on a pale cloth, soft at its edges.
func scene(width, height int, inside func(x, y float64) bool) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for i := range width * height {
		share := 0
		for s := range 16 { // of the pixel that lies in it, in sixteenths
			if inside(float64(i%width)+(float64(s%4)+.5)/4, float64(i/width)+(float64(s/4)+.5)/4) {
				share++
			}
		}
		grain := i * 2654435761 >> 13 & 7
		mix := func(wool, cloth int) uint8 { return uint8((wool*share+cloth*(16-share))/16 + grain) }
		m.Set(i%width, i/width, color.RGBA{mix(110, 220), mix(80, 214), mix(60, 205), 255})
	}
	return m
}

func TestVectors(t *testing.T) {
	if *update {
		var file bytes.Buffer
		if err := png.Encode(&file, scene(120, 90, ring)); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("testdata/ring.png", file.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(vectorsFile)
	if err != nil {
		t.Fatal(err)
	}
	var vectors []vector
	if err := json.Unmarshal(text, &vectors); err != nil {
		t.Fatal(err)
	}
	answered, refused := map[string]bool{}, map[string]bool{}
	var lines [][]byte
	for i, want := range vectors {
		got := vector{Method: want.Method, Request: want.Request, Pictures: want.Pictures}
		response, file, err := Call(want.Method, want.Request, beside(want.Pictures))
		if err != nil && !errors.As(err, &got.Error) {
			t.Fatalf("vector %d: %s: %v is no fault", i, want.Method, err)
		}
		got.Response = response
		if sum := sha256.Sum256(file); file != nil {
			got.File = hex.EncodeToString(sum[:])
		}
		answered[want.Method] = answered[want.Method] || err == nil
		refused[want.Method] = refused[want.Method] || err != nil
		a, b := line(t, got), line(t, want)
		if !*update && !bytes.Equal(a, b) {
			t.Errorf("vector %d:\n got %s\nwant %s", i, a, b)
		}
		lines = append(lines, a)
	}
	for _, m := range Methods() {
		if !answered[m.Name] || !refused[m.Name] {
			t.Errorf("the vectors lack an answer or a refusal of %s", m.Name)
		}
	}
	if *update {
		text := "[\n" + string(bytes.Join(lines, []byte(",\n"))) + "\n]\n"
		if err := os.WriteFile(vectorsFile, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// line is a vector as one line of JSON.
func line(t *testing.T, v vector) []byte {
	t.Helper()
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		t.Fatal(err)
	}
	return bytes.TrimSpace(text.Bytes())
}
