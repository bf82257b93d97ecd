package photo

import (
	"math"
	"testing"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// The card of the shared photo, made straight: blue all over but for its rounded corners, of
// the size that was asked for.
func TestRectifyCard(t *testing.T) {
	truth, _ := readShared(t)
	m, err := card(truth.Card.Corners).Matrix()
	if err != nil {
		t.Fatal(err)
	}
	pic := raster.Loose{"cow": readPNG(t, "../testdata/photos/cow.png")}
	const fine = 4
	got, err := Rectify(RectifyRequest{Image: "cow", Matrix: m[:], LeftMM: -5, TopMM: -5, WidthMM: 95.6, HeightMM: 63.98, PxPerMM: fine}, pic)
	if err != nil {
		t.Fatal(err)
	}
	if got.WidthPx != 382 || got.HeightPx != 256 || len(got.Bytes()) != 4*382*256 {
		t.Fatalf("%d x %d, %d bytes", got.WidthPx, got.HeightPx, len(got.Bytes()))
	}
	wrong := 0
	for y := range got.HeightPx {
		for x := range got.WidthPx {
			px := got.Bytes()[4*(y*got.WidthPx+x):]
			mmX, mmY := (float64(x)+0.5)/fine-5, (float64(y)+0.5)/fine-5
			depth := depthInCard(mmX, mmY)
			if math.Abs(depth) > 0.5 && (depth > 0) != (int(px[2]) > int(px[0])+25) || px[3] != 255 {
				wrong++
			}
		}
	}
	if wrong > 0 {
		t.Errorf("%d px are card where cloth should be, or the other way", wrong)
	}
}

// depthInCard is how far inside the rounded rectangle a point lies, mm.
func depthInCard(x, y float64) float64 {
	dx := math.Abs(x-ID1WidthMM/2) - ID1WidthMM/2 + ID1RadiusMM
	dy := math.Abs(y-ID1HeightMM/2) - ID1HeightMM/2 + ID1RadiusMM
	return ID1RadiusMM - math.Hypot(max(dx, 0), max(dy, 0)) - min(max(dx, dy), 0)
}

// Shrinking keeps the mean: a chessboard of single px becomes grey, and what lies outside
// the photo is not painted.
func TestRectifyAverages(t *testing.T) {
	board := &raster.Picture{Width: 40, Height: 40, Pix: make([]byte, 4*1600)}
	for i := range 1600 {
		if (i/40+i)%2 == 0 {
			copy(board.Pix[4*i:], []byte{255, 255, 255, 255})
		}
	}
	got, err := Rectify(RectifyRequest{Image: "b", Matrix: unit[:], WidthMM: 60, HeightMM: 40, PxPerMM: 0.25}, raster.Loose{"b": board})
	if err != nil {
		t.Fatal(err)
	}
	for x := range got.WidthPx {
		px := got.Bytes()[4*x : 4*x+4]
		if inside := x < 10; inside && (px[0] < 126 || px[0] > 129 || px[3] != 255) || !inside && px[3] != 0 {
			t.Errorf("px %d is %v", x, px)
		}
	}
}

func TestRectifyRefuses(t *testing.T) {
	good := RectifyRequest{Image: "b", Matrix: unit[:], WidthMM: 1, HeightMM: 1, PxPerMM: 1}
	for _, c := range []struct {
		code   string
		change func(*RectifyRequest)
	}{
		{fault.OutOfRange, func(r *RectifyRequest) { r.Matrix = r.Matrix[:8] }},
		{fault.PointsOnALine, func(r *RectifyRequest) { r.Matrix = []float64{1, 0, 0, 1, 0, 0, 0, 0, 1} }},
		{fault.OutOfRange, func(r *RectifyRequest) { r.WidthMM = 0 }},
		{fault.OutOfRange, func(r *RectifyRequest) { r.PxPerMM = math.NaN() }},
		{fault.TooMany, func(r *RectifyRequest) { r.WidthMM, r.HeightMM, r.PxPerMM = 1000, 1000, 10 }},
		{fault.PictureMissing, func(r *RectifyRequest) { r.Image = "none" }},
	} {
		req := good
		c.change(&req)
		_, err := Rectify(req, raster.Loose{})
		if e, ok := err.(*fault.Error); !ok || e.Code != c.code {
			t.Errorf("%v, wanted %s", err, c.code)
		}
	}
}

func BenchmarkRectify(b *testing.B) {
	truth, _ := readShared(b)
	m, _ := card(truth.Card.Corners).Matrix()
	pic := raster.Loose{"cow": readPNG(b, "../testdata/photos/cow.png")}
	for b.Loop() {
		if _, err := Rectify(RectifyRequest{Image: "cow", Matrix: m[:], LeftMM: -60, TopMM: -180, WidthMM: 200, HeightMM: 150, PxPerMM: 4}, pic); err != nil {
			b.Fatal(err)
		}
	}
}
