package form

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

// animal is a file of testdata/animals; SOURCES.md there says where they are from.
type animal struct {
	OutlinesRequest
	VolumeMM3 float64 `json:"volume_mm3"`
}

func animals(t testing.TB) map[string]animal {
	t.Helper()
	names, err := filepath.Glob("testdata/animals/*.json")
	if err != nil || len(names) != 11 {
		t.Fatalf("%d animals, want 11: %v", len(names), err)
	}
	all := map[string]animal{}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var a animal
		if err := json.Unmarshal(text, &a); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all[strings.TrimSuffix(filepath.Base(name), ".json")] = a
	}
	return all
}

func TestAnimalsWhoseVolumeIsKnown(t *testing.T) {
	for _, above := range []bool{false, true} {
		var off []float64
		for name, a := range animals(t) {
			if !above {
				a.Top = nil
			}
			got, err := FromOutlines(a.OutlinesRequest)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			share := got.VolumeMM3/a.VolumeMM3 - 1
			off = append(off, math.Abs(share))
			t.Logf("above %v, %s: %+.1f %%", above, name, 100*share)
			if a.VolumeMM3 < got.LowMM3 || a.VolumeMM3 > got.HighMM3 {
				t.Errorf("%s: %.0f mm3 is not between %.0f and %.0f", name, a.VolumeMM3, got.LowMM3, got.HighMM3)
			}
		}
		slices.Sort(off)
		if median, worst := off[len(off)/2], off[len(off)-1]; median > 0.05 || worst > 0.21 {
			t.Errorf("above %v: median off by %.1f %%, worst by %.1f %%", above, 100*median, 100*worst)
		}
	}
}

// ellipse is a ring round (x, 100) that stands on the ground.
func ellipse(x, half, halfHeight float64) []outline.Ring {
	var ring outline.Ring
	for i := range 720 {
		s, c := math.Sincos(float64(i) * math.Pi / 360)
		ring = append(ring, [2]float64{x + half*c, halfHeight + halfHeight*s})
	}
	return []outline.Ring{ring}
}

func TestEllipsoids(t *testing.T) {
	// V = 4/3 pi a b c (DLMF 19.33, CRC Standard Mathematical Tables).
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := rapid.Float64Range(0.3, 3).Draw(t, "long"), rapid.Float64Range(0.3, 3).Draw(t, "wide"), rapid.Float64Range(5, 500).Draw(t, "high")
		req := OutlinesRequest{HeightMM: 2 * c, Front: ellipse(-7, b*c, c), Side: ellipse(40, a*c, c)}
		if rapid.Bool().Draw(t, "above") {
			req.Top = ellipse(3, a*c, b*c)
		}
		got, err := FromOutlines(req)
		if err != nil {
			t.Fatal(err)
		}
		if want := 4 * math.Pi / 3 * a * b * c * c * c; math.Abs(got.VolumeMM3/want-1) > 0.005 {
			t.Errorf("%.6g mm3, want %.6g (%+.2f %%)", got.VolumeMM3, want, 100*(got.VolumeMM3/want-1))
		}
		if got.Notes == nil || len(got.Notes) > 0 {
			t.Errorf("notes on an ellipsoid, wanted an empty list: %#v", got.Notes)
		}
	})
}

func TestFlatEndsComeOutLow(t *testing.T) {
	// A straight cylinder, r = 30, h = 100: V = pi r^2 h = 282743 mm3 (CRC). Balls do not reach
	// into the edges of its flat ends, so it comes out low, and by no more than its low end tells.
	box := []outline.Ring{{{-30, 0}, {30, 0}, {30, 100}, {-30, 100}}}
	got, err := FromOutlines(OutlinesRequest{HeightMM: 100, Front: box, Side: box})
	if err != nil {
		t.Fatal(err)
	}
	if share := got.VolumeMM3/(math.Pi*30*30*100) - 1; share < -0.15 || share > 0 {
		t.Errorf("%+.1f %%", 100*share)
	}
}

func TestAHoleTakesAway(t *testing.T) {
	whole := OutlinesRequest{HeightMM: 100, Front: ellipse(0, 50, 50), Side: ellipse(0, 50, 50)}
	pierced := whole
	pierced.Side = append(slices.Clone(whole.Side), outline.Ring{{-10, 40}, {10, 40}, {10, 60}, {-10, 60}})
	a, errA := FromOutlines(whole)
	b, errB := FromOutlines(pierced)
	if errA != nil || errB != nil || b.VolumeMM3 >= a.VolumeMM3 {
		t.Errorf("%v, pierced %v: %v %v", a.VolumeMM3, b.VolumeMM3, errA, errB)
	}
}

func TestScaleDoesNotMatter(t *testing.T) {
	a := animals(t)["cow"]
	one, err := FromOutlines(a.OutlinesRequest)
	if err != nil {
		t.Fatal(err)
	}
	bigger := func(rings []outline.Ring) (out []outline.Ring) {
		for _, ring := range rings {
			var r outline.Ring
			for _, p := range ring {
				r = append(r, [2]float64{2*p[0] + 17, 2*p[1] - 400})
			}
			out = append(out, r)
		}
		return out
	}
	two, err := FromOutlines(OutlinesRequest{2 * a.HeightMM, bigger(a.Front), bigger(a.Side), bigger(a.Top)})
	if err != nil || math.Abs(two.VolumeMM3/one.VolumeMM3-8) > 0.01 {
		t.Errorf("twice as big is %v times the volume, want 8: %v", two.VolumeMM3/one.VolumeMM3, err)
	}
}

func TestRefusals(t *testing.T) {
	good := OutlinesRequest{HeightMM: 100, Front: ellipse(0, 50, 50), Side: ellipse(0, 50, 50)}
	for name, c := range map[string]struct {
		change func(*OutlinesRequest)
		code   string
		at     string
	}{
		"no height":      {func(r *OutlinesRequest) { r.HeightMM = 0 }, fault.OutOfRange, "height_mm"},
		"not a number":   {func(r *OutlinesRequest) { r.HeightMM = math.NaN() }, fault.OutOfRange, "height_mm"},
		"no front":       {func(r *OutlinesRequest) { r.Front = nil }, fault.TooFew, "front"},
		"a line":         {func(r *OutlinesRequest) { r.Side = []outline.Ring{{{0, 0}, {0, 100}}} }, fault.TooFew, "side"},
		"other height":   {func(r *OutlinesRequest) { r.Side = ellipse(0, 60, 60) }, fault.OutOfRange, "side"},
		"far too long":   {func(r *OutlinesRequest) { r.Side = ellipse(0, 800, 50) }, fault.OutOfRange, "side"},
		"crosses itself": {func(r *OutlinesRequest) { r.Front = []outline.Ring{{{0, 0}, {80, 100}, {80, 0}, {0, 90}}} }, fault.CrossesItself, "front"},
		"out of bounds":  {func(r *OutlinesRequest) { r.Front = []outline.Ring{{{0, 0}, {math.Inf(1), 100}, {0, 100}}} }, fault.OutOfRange, "front"},
		"too many rings": {func(r *OutlinesRequest) { r.Front = make([]outline.Ring, MaxRings+1) }, fault.TooMany, "front"},
	} {
		t.Run(name, func(t *testing.T) {
			req := good
			c.change(&req)
			_, err := FromOutlines(req)
			var e *fault.Error
			if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
				t.Errorf("%v, want %s at %s", err, c.code, c.at)
			}
		})
	}
}

func TestAnOutlineOfAnotherThingFromAboveIsLeftOut(t *testing.T) {
	req := OutlinesRequest{HeightMM: 100, Front: ellipse(0, 50, 50), Side: ellipse(0, 50, 50), Top: ellipse(0, 90, 50)}
	got, err := FromOutlines(req)
	if err != nil || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], "from above") {
		t.Errorf("%v %v", got, err)
	}
}

func BenchmarkFromOutlines(b *testing.B) {
	a := animals(b)["cow"]
	for b.Loop() {
		if _, err := FromOutlines(a.OutlinesRequest); err != nil {
			b.Fatal(err)
		}
	}
}
