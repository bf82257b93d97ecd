package photo

import (
	"bytes"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
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
