package outline

import (
	"encoding/json"
	"flag"
	"math"
	"os"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/photo"
	"needlesight/pwa/engine/raster"
	"needlesight/pwa/engine/raster/decode"
	"pgregory.net/rapid"
)

// read gives a picture of the shared test data.
func read(t testing.TB, name string) *raster.Picture {
	t.Helper()
	file, err := os.ReadFile("../testdata/photos/" + name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := decode.Picture(name, file)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func maskOf(p *raster.Picture) []bool {
	mask := make([]bool, p.Width*p.Height)
	for i := range mask {
		mask[i] = p.Pix[4*i] > 127
	}
	return mask
}

// The photo and its mask come from one rendering of a mesh (see SOURCES.md beside them): nobody traced it.
func TestSharedPhoto(t *testing.T) {
	p, mask := read(t, "cow.png"), maskOf(read(t, "cow.mask.png"))
	got, err := Photo(PhotoRequest{Image: "cow", Scale: Scale{Word: ScaleCard}}, raster.Loose{"cow": p})
	if err != nil {
		t.Fatal(err)
	}
	iou := same(got.RingsPX, mask, p.Width, p.Height)
	t.Logf("intersection over union %.4f, %d rings, confidence %.3f", iou, len(got.RingsPX), got.Confidence)
	if iou < 0.985 {
		t.Errorf("intersection over union is %.4f", iou)
	}
	if got.Confidence < 0.8 || got.Ask != "" || got.Notes == nil || len(got.Notes) > 0 {
		t.Errorf("confidence %v, asks for %q, notes %v", got.Confidence, got.Ask, got.Notes)
	}
	if c := Crossings(got.RingsPX); len(c) > 0 {
		t.Errorf("the outline crosses itself at %v", c)
	}
	var truth struct {
		Plane [3][3]float64 `json:"plane_homography_px_to_mm"`
		Card  struct {
			Corners [][2]float64 `json:"corners_px"`
		} `json:"card"`
	}
	text, err := os.ReadFile("../testdata/photos/cow.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &truth); err != nil {
		t.Fatal(err)
	}
	off := 0.0
	for _, c := range truth.Card.Corners {
		best := math.Inf(1)
		for _, d := range got.CornersPX {
			best = min(best, math.Hypot(c[0]-d[0], c[1]-d[1]))
		}
		off += best / 4
	}
	if off > 1.5 {
		t.Errorf("the card's corners are %.2f px off", off)
	}
	// The rings in mm have the area that the camera's own plane gives the rings in px.
	h := truth.Plane
	byTruth := make([]Ring, len(got.RingsPX))
	for i, ring := range got.RingsPX {
		for _, q := range ring {
			w := h[2][0]*q[0] + h[2][1]*q[1] + h[2][2]
			byTruth[i] = append(byTruth[i], [2]float64{(h[0][0]*q[0] + h[0][1]*q[1] + h[0][2]) / w, (h[1][0]*q[0] + h[1][1]*q[1] + h[1][2]) / w})
		}
	}
	if want, is := Area(byTruth), Area(got.RingsMM); math.Abs(is/want-1) > 0.01 {
		t.Errorf("the outline covers %.0f mm2, and %.0f by the camera's plane", is, want)
	}
}

// How many photos of each kind are made up. More than one gives the figures of MATHS.md: go test -run Families -v -seeds 6
var seeds = flag.Uint64("seeds", 1, "made-up photos of each kind")

// Every kind of photo that a maker may take, made up with exact masks: see scene.
func TestFamilies(t *testing.T) {
	for k, f := range families {
		worst, sum := 1.0, 0.0
		for n := range *seeds {
			seed := uint64(k)%2 + n
			d := sceneOf(f, seed).draw(t)
			req := PhotoRequest{Image: "photo"}
			if d.card != nil {
				req.Scale.Plane = planeOf(d.card)
			} else {
				req.Scale.Word = ScaleNone
			}
			got, err := Photo(req, raster.Loose{"photo": d.picture})
			if err != nil {
				t.Fatal(err)
			}
			iou := same(got.RingsPX, d.mask, d.picture.Width, d.picture.Height)
			worst, sum = min(worst, iou), sum+iou
			t.Logf("%-16s %d: intersection over union %.4f, confidence %.2f, asks for %q", f.name, seed, iou, got.Confidence, got.Ask)
			if iou < f.least {
				t.Errorf("%s %d: intersection over union is %.4f, want %.3f", f.name, seed, iou, f.least)
			}
			// On a checked cloth edges are everywhere, and it may doubt what is right.
			if f.name != "checks" && iou > 0.98 && got.Confidence < 0.5 || iou < 0.7 && got.Confidence > 0.8 {
				t.Errorf("%s %d: intersection over union %.3f is given a confidence of %.2f", f.name, seed, iou, got.Confidence)
			}
		}
		t.Logf("%-16s mean %.4f worst %.4f", f.name, sum/float64(*seeds), worst)
	}
}

func planeOf(card Ring) *photo.Plane {
	return &photo.Plane{Kind: photo.Rectangle, Corners: card, WidthMM: photo.ID1WidthMM, HeightMM: photo.ID1HeightMM, Name: photo.ID1}
}

// Of two pieces the one that was tapped on is outlined, and what was tapped on as not meant is not.
func TestTaps(t *testing.T) {
	for _, f := range families {
		if f.name != "two pieces" {
			continue
		}
		d := sceneOf(f, 1).draw(t)
		src := raster.Loose{"photo": d.picture}
		w, h := d.picture.Width, d.picture.Height
		for name, c := range map[string]struct {
			req  PhotoRequest
			want []bool
		}{
			"no tap":              {PhotoRequest{}, d.mask},
			"on the big one":      {PhotoRequest{Tap: &d.middle}, d.mask},
			"on the small one":    {PhotoRequest{Tap: inOf(d.second, w)}, d.second},
			"not on the big one":  {PhotoRequest{Not: [][2]float64{d.middle}}, d.second},
			"on both of them":     {PhotoRequest{Tap: &d.middle, Also: [][2]float64{*inOf(d.second, w)}}, either(d.mask, d.second)},
			"on one, not other":   {PhotoRequest{Tap: &d.middle, Not: [][2]float64{*inOf(d.second, w)}}, d.mask},
			"not on plain cloth":  {PhotoRequest{Not: [][2]float64{{10, 10}}}, d.mask},
			"on it and not cloth": {PhotoRequest{Tap: &d.middle, Not: [][2]float64{{10, 10}}}, d.mask},
		} {
			c.req.Image, c.req.Scale.Word = "photo", ScaleNone
			got, err := Photo(c.req, src)
			if err != nil {
				t.Fatal(err)
			}
			if iou := same(got.RingsPX, c.want, w, h); iou < 0.95 {
				t.Errorf("%s: intersection over union is %.3f", name, iou)
			}
		}
	}
}

// inOf is a pixel's middle well within a mask: the middle of its longest row.
func inOf(mask []bool, w int) *[2]float64 {
	best, at := 0, [2]float64{}
	run := 0
	for i, in := range mask {
		if i%w == 0 || !in {
			run = 0
		}
		if in {
			if run++; run > best {
				best, at = run, [2]float64{float64(i%w-run/2) + 0.5, float64(i/w) + 0.5}
			}
		}
	}
	return &at
}

func either(a, b []bool) []bool {
	out := make([]bool, len(a))
	for i := range out {
		out[i] = a[i] || b[i]
	}
	return out
}

// A bigger photo is worked on smaller: the shared one at four times the pixels gives the same outline.
func TestBigPhoto(t *testing.T) {
	p, mask := read(t, "cow.png"), maskOf(read(t, "cow.mask.png"))
	big := &raster.Picture{Width: 2 * p.Width, Height: 2 * p.Height, Pix: make([]byte, 16*p.Width*p.Height)}
	for y := range big.Height {
		for x := range big.Width {
			copy(big.Pix[4*(y*big.Width+x):], p.Pix[4*(y/2*p.Width+x/2):][:4])
		}
	}
	got, err := Photo(PhotoRequest{Image: "cow"}, raster.Loose{"cow": big})
	if err != nil {
		t.Fatal(err)
	}
	if iou := same(scaled(got.RingsPX, 0.5), mask, p.Width, p.Height); iou < 0.983 {
		t.Errorf("intersection over union is %.4f", iou)
	}
}

// plainCloth is a photo of nothing but cloth, with a little noise.
func plainCloth(w, h int) *raster.Picture {
	p := disc(w, h, [2]float64{-1e4, -1e4}, 1, 2)
	return p
}

func TestNothingThere(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {2, 3}, {1, 300}, {300, 1}, {7, 7}, {40, 40}, {600, 800}} {
		got, err := Photo(PhotoRequest{Image: "cloth"}, raster.Loose{"cloth": plainCloth(size[0], size[1])})
		if err != nil {
			t.Fatal(err)
		}
		if size[0] > 100 && size[1] > 100 && (len(got.RingsPX) > 0 || got.Confidence > 0 || got.Ask != "tap") {
			t.Errorf("%v: %d rings, confidence %v, asks for %q", size, len(got.RingsPX), got.Confidence, got.Ask)
		}
		if got.RingsMM != nil || got.RingsPX == nil || got.Notes == nil {
			t.Errorf("%v: rings_mm %v, rings_px %v", size, got.RingsMM, got.RingsPX)
		}
	}
}

func TestPhotoRefuses(t *testing.T) {
	src := raster.Loose{"cloth": plainCloth(60, 60)}
	for _, c := range []struct {
		req  PhotoRequest
		code string
	}{
		{PhotoRequest{Image: "none"}, fault.PictureMissing},
		{PhotoRequest{Image: "cloth", Scale: Scale{Word: "a4"}}, fault.NotOneOf},
		{PhotoRequest{Image: "cloth", Scale: Scale{Plane: &photo.Plane{}}}, fault.NotOneOf},
		{PhotoRequest{Image: "cloth", Tap: &[2]float64{61, 0}}, fault.OutOfRange},
		{PhotoRequest{Image: "cloth", Also: [][2]float64{{0, math.NaN()}}}, fault.OutOfRange},
		{PhotoRequest{Image: "cloth", Not: make([][2]float64, MaxTaps+1)}, fault.TooMany},
		{PhotoRequest{Image: "cloth", MaxPoints: 3}, fault.OutOfRange},
	} {
		_, err := Photo(c.req, src)
		refused(t, err, c.code)
	}
}

// The cheapest cut of a small graph by trying every way to part it.
func TestCutIsTheCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "nodes")
		type tie struct{ a, b, cost int }
		var ties []tie
		leans := make([]int, n)
		c := newCut(n, 20)
		for i := range leans {
			leans[i] = rapid.IntRange(-20, 20).Draw(t, "lean")
			c.lean(i, int32(leans[i]))
		}
		for range rapid.IntRange(0, 20).Draw(t, "ties") {
			e := tie{rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b"), rapid.IntRange(0, 15).Draw(t, "cost")}
			if e.a == e.b {
				continue
			}
			ties = append(ties, e)
			c.tie(e.a, e.b, int32(e.cost))
		}
		cost := func(source func(i int) bool) int {
			sum := 0
			for i, l := range leans {
				if source(i) && l < 0 {
					sum -= l
				}
				if !source(i) && l > 0 {
					sum += l
				}
			}
			for _, e := range ties {
				if source(e.a) != source(e.b) {
					sum += e.cost
				}
			}
			return sum
		}
		best := math.MaxInt
		for set := range 1 << n {
			best = min(best, cost(func(i int) bool { return set>>i&1 == 1 }))
		}
		c.solve()
		if got := cost(c.onSource); got != best {
			t.Fatalf("the cut costs %d, and %d is enough", got, best)
		}
	})
}

func BenchmarkPhoto(b *testing.B) {
	src := raster.Loose{"cow": read(b, "cow.png")}
	for b.Loop() {
		if _, err := Photo(PhotoRequest{Image: "cow"}, src); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPhotoAlone leaves out the search for the card.
func BenchmarkPhotoAlone(b *testing.B) {
	p := read(b, "cow.png")
	for b.Loop() {
		find(p, nil, tapped{})
	}
}
