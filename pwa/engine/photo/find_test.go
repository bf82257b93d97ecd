package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
	"slices"
	"testing"

	"needlesight/pwa/engine/raster"
)

// readPNG is a picture of ../testdata/photos, read without the engine's own decoder.
func readPNG(t testing.TB, name string) *raster.Picture {
	t.Helper()
	file, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewNRGBA(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
	draw.Draw(out, out.Bounds(), img, img.Bounds().Min, draw.Src)
	return &raster.Picture{Width: out.Rect.Dx(), Height: out.Rect.Dy(), Pix: out.Pix}
}

// cornerErrors are how far the corners found are from the true ones, the mean and the
// worst, whichever of two opposite corners comes first.
func cornerErrors(got [4]Point, want []Point) (mean, worst float64) {
	mean = math.Inf(1)
	for k := 0; k < 4; k++ {
		sum, most := 0.0, 0.0
		for i := range got {
			d := distance(got[i], want[(i+k)%4])
			sum += d / 4
			most = max(most, d)
		}
		if sum < mean {
			mean, worst = sum, most
		}
	}
	return mean, worst
}

// The shared photo: corners and lengths in the plane.
func TestSharedPhoto(t *testing.T) {
	truth, toMM := readShared(t)
	pic := readPNG(t, "../testdata/photos/cow.png")
	got, confidence, err := Find(pic, ID1WidthMM, ID1HeightMM)
	if err != nil {
		t.Fatal(err)
	}
	mean, worst := cornerErrors(got, truth.Card.Corners)
	length := worstLength(t, card(got[:]), toMM)
	t.Logf("corners off by %.3f px (mean), %.3f px (worst); lengths by %.3f %% at the most; confidence %.2f", mean, worst, 100*length, confidence)
	if mean > 0.5 || length > 0.005 || confidence < 0.7 {
		t.Errorf("%v: mean %v, lengths %v, confidence %v", got, mean, length, confidence)
	}
}

func BenchmarkFindRectangle(b *testing.B) {
	pic := readPNG(b, "../testdata/photos/cow.png")
	for b.Loop() {
		if _, _, err := Find(pic, ID1WidthMM, ID1HeightMM); err != nil {
			b.Fatal(err)
		}
	}
}

// TestExplore is for looking at many scenes by hand.
func TestExplore(t *testing.T) {
	n := 60
	if v := os.Getenv("SCENES"); v != "" {
		fmt.Sscan(v, &n)
	}
	start := 1000
	fmt.Sscan(os.Getenv("FROM"), &start)
	var errs []float64
	wrong, none := 0, 0
	for i := range n {
		s := randomScene(uint64(start+i), 600, 800)
		o, got := seek(t, s)
		switch {
		case !o.found:
			none++
			t.Logf("NONE  %s", s.name)
		case o.mean > 3:
			wrong++
			t.Logf("WRONG %s: %.1f px, confidence %.2f %v %v", s.name, o.mean, o.confidence, got, s.truth())
		default:
			errs = append(errs, o.mean)
			if o.mean > 0.5 || o.confidence < 0.6 {
				t.Logf("weak  %s: %.2f px, confidence %.2f", s.name, o.mean, o.confidence)
			}
		}
		if d := os.Getenv("DUMP"); d != "" && (!o.found || o.mean > 1) {
			dump(t, s.draw(), fmt.Sprintf("%s/%d.png", d, s.seed))
		}
	}
	slices.Sort(errs)
	if len(errs) > 0 {
		t.Logf("%d: %d none, %d wrong; median %.3f, 95%% %.3f, worst %.3f", n, none, wrong, errs[len(errs)/2], errs[len(errs)*95/100], errs[len(errs)-1])
	}
}

func dump(t *testing.T, p *raster.Picture, name string) {
	img := &image.NRGBA{Pix: p.Pix, Stride: 4 * p.Width, Rect: image.Rect(0, 0, p.Width, p.Height)}
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	png.Encode(f, img)
}
