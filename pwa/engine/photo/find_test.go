package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"needlesight/pwa/engine/fault"
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

// scenes is how many are drawn in each of the tests below; NEEDLESIGHT_SCENES asks for more.
func scenes(t *testing.T, few int) int {
	if v := os.Getenv("NEEDLESIGHT_SCENES"); v != "" {
		n, err := strconv.Atoi(v)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	return few
}

// Any card on any cloth, tilted up to 35 degrees: what is told is right, and few are
// missed: cards that are nearly of their cloth's colour, or that lie on a pattern of their
// own colour.
func TestCardsOnCloths(t *testing.T) {
	n := scenes(t, 16)
	var errs []float64
	missed, sum := 0, 0.
	for i := range n {
		s := randomScene(uint64(1000+i), 480, 640)
		pic := s.draw()
		got, confidence, err := Find(pic, ID1WidthMM, ID1HeightMM)
		if e, ok := err.(*fault.Error); ok && e.Code == fault.NoCardFound {
			missed++
			t.Logf("missed: %s", s.name)
			keepPicture(t, pic, fmt.Sprint(s.seed))
			continue
		} else if err != nil {
			t.Fatal(err)
		}
		mean, _ := cornerErrors(got, s.truth())
		errs = append(errs, mean)
		sum += mean
		if mean > 1.5 {
			t.Errorf("%s: corners off by %.2f px, confidence %.2f: %v", s.name, mean, confidence, got)
			keepPicture(t, pic, fmt.Sprint(s.seed))
		}
	}
	if len(errs) == 0 {
		t.Fatal("no card was found")
	}
	slices.Sort(errs)
	mean := sum / float64(len(errs))
	t.Logf("%d scenes, %d missed; corners off by %.3f px on the mean, median %.3f, 95 %% %.3f, worst %.3f", n, missed, mean, errs[len(errs)/2], errs[len(errs)*95/100], errs[len(errs)-1])
	if mean > 0.5 || missed > n/4 {
		t.Errorf("%.2f px on the mean, %d missed", mean, missed)
	}
}

// Where no card lies, none is told to be found: the animal, another rectangle and the
// cloth's pattern are no card.
func TestNoCard(t *testing.T) {
	for i := range scenes(t, 8) {
		s := randomScene(uint64(5000+i), 480, 640)
		s.without = true
		pic := s.draw()
		if got, confidence, err := Find(pic, ID1WidthMM, ID1HeightMM); err == nil {
			t.Errorf("%s, without a card: %v, confidence %.2f", s.name, got, confidence)
			keepPicture(t, pic, fmt.Sprint(s.seed))
		}
	}
}

// What is no picture of anything is refused, not crashed on.
func TestFindRefuses(t *testing.T) {
	blank := func(w, h int) *raster.Picture { return &raster.Picture{Width: w, Height: h, Pix: make([]byte, 4*w*h)} }
	pics := raster.Loose{"dot": blank(1, 1), "line": blank(3000, 1), "black": blank(300, 200)}
	for _, c := range []struct {
		req  FindRequest
		code string
	}{
		{FindRequest{Image: "dot"}, fault.NoCardFound},
		{FindRequest{Image: "line"}, fault.NoCardFound},
		{FindRequest{Image: "black"}, fault.NoCardFound},
		{FindRequest{Image: "none"}, fault.PictureMissing},
		{FindRequest{Image: "black", WidthMM: 80}, fault.OutOfRange},
		{FindRequest{Image: "black", WidthMM: -1, HeightMM: 3}, fault.OutOfRange},
	} {
		_, err := FindRectangle(c.req, pics)
		if e, ok := err.(*fault.Error); !ok || e.Code != c.code {
			t.Errorf("%+v: %v, wanted %s", c.req, err, c.code)
		}
	}
}

// keepPicture writes a picture to look at to the directory NEEDLESIGHT_LOOK, where that is set.
func keepPicture(t *testing.T, p *raster.Picture, name string) {
	dir := os.Getenv("NEEDLESIGHT_LOOK")
	if dir == "" {
		return
	}
	f, err := os.Create(filepath.Join(dir, name+".png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, &image.NRGBA{Pix: p.Pix, Stride: 4 * p.Width, Rect: image.Rect(0, 0, p.Width, p.Height)}); err != nil {
		t.Fatal(err)
	}
}

// A photo as the app keeps it, on a patterned cloth.
func BenchmarkFindRectangleLarge(b *testing.B) {
	pic := randomScene(1019, 1536, 2048).draw()
	for b.Loop() {
		if _, _, err := Find(pic, ID1WidthMM, ID1HeightMM); err != nil {
			b.Fatal(err)
		}
	}
}
