package photo

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"needlesight/pwa/engine/fault"
)

// pinhole is a camera over the plane z = 0, independent of the engine's own maths: a
// point (x, y, z) is turned and moved in front of the lens, and divided by its depth.
type pinhole struct {
	turn          [3][3]float64
	move          [3]float64
	focal         float64
	width, height float64
}

// newPinhole looks at (x, y) of the plane from a distance along its axis, tilted about an
// axis at angle way in the plane, and rolled.
func newPinhole(width, height, focal, distanceMM, tilt, way, roll, x, y float64) pinhole {
	c := pinhole{focal: focal, width: width, height: height}
	a, b := math.Cos(way), math.Sin(way)
	axis := [3]float64{a, b, 0}
	cos, sin := math.Cos(tilt), math.Sin(tilt)
	k := [3][3]float64{{0, -axis[2], axis[1]}, {axis[2], 0, -axis[0]}, {-axis[1], axis[0], 0}}
	var tilted [3][3]float64
	for i := range 3 { // Rodrigues
		for j := range 3 {
			tilted[i][j] = (1-cos)*axis[i]*axis[j] + sin*k[i][j]
			if i == j {
				tilted[i][j] += cos
			}
		}
	}
	cr, sr := math.Cos(roll), math.Sin(roll)
	for j := range 3 {
		c.turn[0][j] = cr*tilted[0][j] - sr*tilted[1][j]
		c.turn[1][j] = sr*tilted[0][j] + cr*tilted[1][j]
		c.turn[2][j] = tilted[2][j]
	}
	for i := range 3 {
		c.move[i] = -(c.turn[i][0]*x + c.turn[i][1]*y)
	}
	c.move[2] += distanceMM
	return c
}

// see gives px of a point h mm above the plane, towards the lens.
func (c pinhole) see(p Point, h float64) Point {
	v := [3]float64{p[0], p[1], -h}
	var q [3]float64
	for i := range 3 {
		q[i] = c.turn[i][0]*v[0] + c.turn[i][1]*v[1] + c.turn[i][2]*v[2] + c.move[i]
	}
	return Point{c.width/2 + c.focal*q[0]/q[2], c.height/2 + c.focal*q[1]/q[2]}
}

// height of the lens over the plane.
func (c pinhole) above() float64 {
	z := 0.0
	for i := range 3 {
		z += c.turn[i][2] * c.move[i]
	}
	return math.Abs(z)
}

func (c pinhole) quad(x, y, turn, w, h float64) []Point {
	cos, sin := math.Cos(turn), math.Sin(turn)
	var out []Point
	for _, p := range []Point{{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}} {
		out = append(out, c.see(Point{x + cos*p[0] - sin*p[1], y + sin*p[0] + cos*p[1]}, 0))
	}
	return out
}

func p[T any](v T) *T { return &v }

func card(corners []Point) *Plane {
	return &Plane{Kind: Rectangle, Corners: corners, WidthMM: ID1WidthMM, HeightMM: ID1HeightMM, Name: ID1}
}

func measured(t *testing.T, req MeasureRequest) MeasureResponse {
	t.Helper()
	answer, err := MeasurePhoto(req)
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

// A tilted phone measures true in the plane, and what stands off it once its height is given.
func TestTiltedPhone(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 300 {
		c := newPinhole(1536, 2048, 1200+1500*r.Float64(), 350+500*r.Float64(), 0.6*r.Float64(), 7*r.Float64(), 7*r.Float64(), 0, 0)
		plane := card(c.quad(30*r.Float64(), 40*r.Float64(), 7*r.Float64(), ID1WidthMM, ID1HeightMM))
		plane.DistanceMM = p(c.above())
		a, b := Point{100 * r.Float64(), -80 * r.Float64()}, Point{-100 * r.Float64(), 80 * r.Float64()}
		h := 40 * r.Float64()
		answer := measured(t, MeasureRequest{WidthPx: c.width, HeightPx: c.height, Plane: plane, Items: []Item{
			{ID: "flat", Pins: []Point{c.see(a, 0), c.see(b, 0)}},
			{ID: "high", Pins: []Point{c.see(a, h), c.see(b, h)}, OffMM: &h},
			{ID: "place", Pins: []Point{{}, c.see(Point{a[0] + 0.3*(b[0]-a[0]) + 5*(b[1]-a[1])/200, a[1] + 0.3*(b[1]-a[1]) - 5*(b[0]-a[0])/200}, 0)}, Along: []Point{c.see(a, 0), c.see(b, 0)}},
		}})
		want := distance(a, b)
		for _, i := range answer.Items[:2] {
			if math.Abs(*i.MM-want) > 1e-6*want {
				t.Fatalf("%s: %v mm, wanted %v", i.ID, *i.MM, want)
			}
		}
		if off := *answer.Items[1].OffShare; math.Abs(off-(c.above()/(c.above()-h)-1)) > 1e-9 {
			t.Fatalf("off by %v", off)
		}
		if at := *answer.Items[2].At; math.Abs(at-0.3) > 1e-6 || math.Abs(*answer.Items[2].MM-0.3*want) > 1e-6*want {
			t.Fatalf("place at %v", at)
		}
	}
}

// A part 5 cm nearer than the rest reads 9.1 % too big from 60 cm and 2.6 % from 2 m
// (similar triangles: 60/55 and 200/195).
func TestOffThePlane(t *testing.T) {
	for d, want := range map[float64]float64{600: 0.0909, 2000: 0.0256} {
		plane := &Plane{Kind: Length, Ends: []Point{{0, 0}, {100, 0}}, MM: 50, DistanceMM: &d}
		answer := measured(t, MeasureRequest{WidthPx: 1000, HeightPx: 1000, Plane: plane, Items: []Item{{ID: "a", Pins: []Point{{0, 0}, {0, 200}}, OffMM: p(50.)}}})
		got := answer.Items[0]
		if math.Abs(*got.OffShare-want) > 0.0001 || math.Abs(*got.MM*(1+*got.OffShare)-100) > 1e-9 {
			t.Errorf("from %v mm: %v, %v mm", d, *got.OffShare, *got.MM)
		}
		// 5 % of 50 mm and 10 % of d (JCGM 100:2008, 5.1.3), and the pins' sqrt(2) px.
		f := (d - 50) / d
		byHand := math.Sqrt(math.Pow(0.5*math.Sqrt2*f, 2) + math.Pow(100*2.5/d, 2) + math.Pow(100*50/(d*d)*0.1*d, 2))
		if math.Abs(*got.UMM-byHand) > 1e-9 {
			t.Errorf("from %v mm: u %v, by hand %v", d, *got.UMM, byHand)
		}
	}
}

// The lens's distance comes out of a tilted picture, with an uncertainty that is the spread,
// and is not told from one that is seen nearly square on.
func TestDistanceFromTheTilt(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	for _, degrees := range []float64{0, 1.5, 5, 12, 25, 35} {
		known, squares, claimed := 0, 0., 0.
		for range 300 {
			c := newPinhole(1536, 2048, 1700, 330, degrees*math.Pi/180, 7*r.Float64(), 7*r.Float64(), 0, 0)
			corners := c.quad(10*r.NormFloat64(), 10*r.NormFloat64(), 7*r.Float64(), ID1WidthMM, ID1HeightMM)
			for i := range corners {
				corners[i][0] += 0.3 * r.NormFloat64()
				corners[i][1] += 0.3 * r.NormFloat64()
			}
			plane := card(corners)
			plane.CornerPx = p(0.3)
			s := measured(t, MeasureRequest{WidthPx: c.width, HeightPx: c.height, Plane: plane}).Scale
			if s.DistanceMM != nil {
				known++
				squares += math.Pow(math.Log(*s.DistanceMM/c.above()), 2)
				seen := look(plane, c.width, c.height, 0.3)
				claimed += seen.uShare * seen.uShare
				if math.Abs(*s.TiltRad-degrees*math.Pi/180) > 0.1 {
					t.Errorf("tilt %v at %v degrees", *s.TiltRad, degrees)
				}
			}
		}
		t.Logf("%4.1f degrees: told in %3d of 300, off by %.1f %% (rms), claimed %.1f %%", degrees, known, 100*math.Sqrt(squares/float64(known)), 100*math.Sqrt(claimed/float64(known)))
		if degrees <= 1.5 && known > 0 {
			t.Errorf("at %v degrees the distance was told %d times", degrees, known)
		}
		if degrees >= 25 && (known < 290 || math.Abs(math.Sqrt(squares/claimed)-1) > 0.15) {
			t.Errorf("at %v degrees: told %d times, scatter over claim %v", degrees, known, math.Sqrt(squares/claimed))
		}
	}
}

// What is claimed of a length is what it truly scatters by: with the pins off by pin_px,
// the corners by corner_px, and both.
func TestUncertaintyIsTheSpread(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	const runs, pin, corner = 800, 0.7, 0.8
	for _, tilt := range []float64{0, 0.25, 0.5} {
		for _, ends := range [][2]Point{{{-40, -60}, {60, -70}}, {{-90, 20}, {-85, 120}}, {{20, -20}, {60, 0}}} {
			c := newPinhole(1536, 2048, 1700, 500, tilt, 1, 0.4, 0, 0)
			corners := c.quad(10, 40, 0.3, ID1WidthMM, ID1HeightMM)
			pins := []Point{c.see(ends[0], 0), c.see(ends[1], 0)}
			ask := func(corners, pins []Point) MeasureResponse {
				plane := card(corners)
				plane.CornerPx, plane.Name = p(corner), "other"
				return measured(t, MeasureRequest{WidthPx: c.width, HeightPx: c.height, Plane: plane, Items: []Item{{ID: "a", Pins: pins, PinPx: p(pin)}}})
			}
			claim := ask(corners, pins)
			var spread [2]float64
			for range runs {
				for k, got := range []MeasureResponse{ask(corners, shaken(r, pins, pin)), ask(shaken(r, corners, corner), pins)} {
					off := *got.Items[0].MM - *claim.Items[0].MM
					spread[k] += off * off / runs
				}
			}
			want := []float64{*claim.Items[0].UMM, claim.Scale.UShare * *claim.Items[0].MM}
			for k, name := range []string{"pins", "corners"} {
				got := math.Sqrt(spread[k])
				t.Logf("tilt %.2f, %v: %s claim %.4f mm, spread %.4f mm", tilt, ends, name, want[k], got)
				if math.Abs(got/want[k]-1) > 0.1 { // 800 tell it to 2.5 %
					t.Errorf("%s: claimed %v, spread %v", name, want[k], got)
				}
			}
		}
	}
}

func shaken(r *rand.Rand, points []Point, u float64) []Point {
	out := append([]Point(nil), points...)
	for i := range out {
		out[i][0] += u * r.NormFloat64()
		out[i][1] += u * r.NormFloat64()
	}
	return out
}

// Of two items the ratio is as uncertain as its own share says, and each alone as the
// scale's and its own together.
func TestRatiosAreHonest(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 7))
	c := newPinhole(1536, 2048, 1700, 500, 0.35, 2, 0.4, 0, 0)
	corners := c.quad(60, 80, 0.3, ID1WidthMM, ID1HeightMM)
	items := []Item{
		{ID: "a", Pins: []Point{c.see(Point{-60, -100}, 0), c.see(Point{40, -90}, 0)}, PinPx: p(0.)},
		{ID: "b", Pins: []Point{c.see(Point{-60, -20}, 0), c.see(Point{-60, 60}, 0)}, PinPx: p(0.)},
	}
	ask := func(corners []Point) MeasureResponse {
		plane := card(corners)
		plane.Name = ""
		return measured(t, MeasureRequest{WidthPx: c.width, HeightPx: c.height, Plane: plane, Items: items})
	}
	claim := ask(corners)
	u := func(i int) float64 { return *claim.Items[i].UMM / *claim.Items[i].MM }
	const runs = 4000
	ratio, both := 0., 0.
	for range runs {
		got := ask(shaken(r, corners, 1))
		d := []float64{math.Log(*got.Items[0].MM / *claim.Items[0].MM), math.Log(*got.Items[1].MM / *claim.Items[1].MM)}
		ratio += (d[0] - d[1]) * (d[0] - d[1]) / runs
		both += (d[0]*d[0] + d[1]*d[1]) / 2 / runs
	}
	// The own shares of two items are equal and opposite, so their ratio has their sum.
	if got, want := math.Sqrt(ratio), u(0)+u(1); math.Abs(got/want-1) > 0.06 {
		t.Errorf("ratio: claimed %v, spread %v", want, got)
	}
	if got, want := math.Sqrt(both), math.Sqrt((u(0)*u(0)+u(1)*u(1))/2+claim.Scale.UShare*claim.Scale.UShare); math.Abs(got/want-1) > 0.06 {
		t.Errorf("each: claimed %v, spread %v", want, got)
	}
}

// shared is the truth that came with the photo in ../testdata/photos; see SOURCES.md there.
type shared struct {
	Homography [3][3]float64 `json:"plane_homography_px_to_mm"`
	Card       struct {
		Corners []Point `json:"corners_px"`
	} `json:"card"`
	Camera struct {
		DistanceMM float64 `json:"distance_mm"`
		TiltDeg    float64 `json:"tilt_deg"`
	} `json:"camera"`
}

func readShared(t testing.TB) (truth shared, toMM Matrix) {
	t.Helper()
	text, err := os.ReadFile("../testdata/photos/cow.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &truth); err != nil {
		t.Fatal(err)
	}
	for i := range 9 {
		toMM[i] = truth.Homography[i/3][i%3]
	}
	return truth, toMM
}

// worstLength is the greatest error, as a share, of lengths all over the picture.
func worstLength(t *testing.T, plane *Plane, truth Matrix) float64 {
	t.Helper()
	worst := 0.0
	var items []Item
	var want []float64
	flush := func() {
		for i, got := range measured(t, MeasureRequest{WidthPx: 1000, HeightPx: 1400, Plane: plane, Items: items}).Items {
			worst = max(worst, math.Abs(*got.MM/want[i]-1))
		}
		items, want = nil, nil
	}
	for x := 50.; x < 1000; x += 100 {
		for y := 50.; y < 1400; y += 100 {
			for _, d := range []Point{{100, 0}, {0, 100}, {70, 70}, {70, -70}, {400, 300}, {300, -500}} {
				a, b := Point{x, y}, Point{x + d[0], y + d[1]}
				if b[0] > 1000 || b[1] < 0 || b[1] > 1400 {
					continue
				}
				items = append(items, Item{ID: fmt.Sprint("i", len(items)), Pins: []Point{a, b}})
				want = append(want, distance(truth.Apply(a), truth.Apply(b)))
				if len(items) == MaxItems {
					flush()
				}
			}
		}
	}
	flush()
	return worst
}

// With the true corners of the shared photo all lengths come out, its small tilt tells no
// distance, and a distance that is given makes the card's shape right.
func TestSharedPhotoTruth(t *testing.T) {
	truth, toMM := readShared(t)
	plane := card(truth.Card.Corners)
	if worst := worstLength(t, plane, toMM); worst > 0.0005 { // corners_px are rounded to 0.01
		t.Errorf("lengths are off by %.3f %%", 100*worst)
	}
	s := measured(t, MeasureRequest{WidthPx: 1000, HeightPx: 1400, Plane: plane}).Scale
	if s.DistanceMM != nil || *s.CornerErrorPx > 0.1 || math.Abs(s.MMPerPx-0.28) > 0.003 {
		t.Errorf("%+v", s)
	}
	plane.DistanceMM = &truth.Camera.DistanceMM
	s = measured(t, MeasureRequest{WidthPx: 1000, HeightPx: 1400, Plane: plane}).Scale
	if *s.CornerErrorPx > 0.1 || math.Abs(*s.TiltRad-truth.Camera.TiltDeg*math.Pi/180) > 0.01 {
		t.Errorf("%+v: tilt %v, corners off %v", s, *s.TiltRad, *s.CornerErrorPx)
	}
}

func codes(notes []Note) map[string][]string {
	found := map[string][]string{}
	for _, n := range notes {
		found[n.Code] = n.Items
	}
	return found
}

func TestNotes(t *testing.T) {
	truth, _ := readShared(t)
	ask := func(plane *Plane, items ...Item) map[string][]string {
		return codes(measured(t, MeasureRequest{WidthPx: 1000, HeightPx: 1400, Plane: plane, Items: items}).Notes)
	}
	has := func(found map[string][]string, code string, ids ...string) {
		t.Helper()
		got, ok := found[code]
		if !ok || fmt.Sprint(got) != fmt.Sprint(ids) {
			t.Errorf("%v lacks %s of %v", found, code, ids)
		}
	}
	flat := Item{ID: "a", Pins: []Point{{100, 100}, {300, 300}}}
	high := Item{ID: "h", Pins: flat.Pins, OffMM: p(20.)}
	has(ask(nil, flat), "no-scale")
	has(ask(card(truth.Card.Corners), flat, high), "not-corrected", "h")
	has(ask(card(truth.Card.Corners)), "distance-not-known")
	has(ask(nil, Item{ID: "x", Pins: []Point{{5, 5}, {5, 5}}}), "pins-together", "x")
	has(ask(&Plane{Kind: Length, Ends: flat.Pins, MM: 30}), "one-length")
	c := truth.Card.Corners
	has(ask(card([]Point{c[1], c[2], c[3], c[0]})), "corners-doubtful") // lies the other way round
	has(ask(card([]Point{c[0], c[1], c[2], {c[3][0] - 40, c[3][1]}})), "corners-doubtful")
	if _, bad := ask(card(c))["corners-doubtful"]; bad {
		t.Error("right corners are doubted")
	}
	steep := newPinhole(1000, 1400, 900, 400, 1.2, 0, 0, 0, 0)
	has(ask(card(steep.quad(0, 0, 0, ID1WidthMM, ID1HeightMM)), Item{ID: "sky", Pins: []Point{{500, 20}, {500, 1300}}}, Item{ID: "ground", Pins: []Point{{500, 1300}, {500, 1300.5}}}), "beyond-horizon", "sky", "ground")
	has(ask(card([]Point{{500, 500}, {520, 500}, {520, 512.6}, {500, 512.6}}), flat), "far-from-scale", "a")
}

func TestMeasureRefuses(t *testing.T) {
	flat := Item{ID: "a", Pins: []Point{{100, 100}, {300, 300}}}
	good := []Point{{0, 0}, {100, 0}, {100, 60}, {0, 60}}
	for _, c := range []struct {
		name  string
		plane *Plane
		items []Item
		code  string
	}{
		{"kind", &Plane{Kind: "cube"}, nil, fault.NotOneOf},
		{"no corners", &Plane{Kind: Rectangle, WidthMM: 80, HeightMM: 50}, nil, fault.MissingField},
		{"no size", &Plane{Kind: Rectangle, Corners: good}, nil, fault.OutOfRange},
		{"both", &Plane{Kind: Rectangle, Corners: good, WidthMM: 80, HeightMM: 50, MM: 3}, nil, fault.ConflictingFields},
		{"both", &Plane{Kind: Length, Ends: good[:2], MM: 3, WidthMM: 80}, nil, fault.ConflictingFields},
		{"crossed", &Plane{Kind: Rectangle, Corners: []Point{good[0], good[2], good[1], good[3]}, WidthMM: 80, HeightMM: 50}, nil, fault.PointsCrossed},
		{"line", &Plane{Kind: Rectangle, Corners: []Point{good[0], good[1], {200, 0}, good[3]}, WidthMM: 80, HeightMM: 50}, nil, fault.PointsOnALine},
		{"ends", &Plane{Kind: Length, Ends: []Point{{1, 1}, {1, 1}}, MM: 3}, nil, fault.PointsRepeated},
		{"distance", &Plane{Kind: Length, Ends: good[:2], MM: 3, DistanceMM: p(1.)}, nil, fault.OutOfRange},
		{"one pin", nil, []Item{{ID: "a", Pins: good[:1]}}, fault.OutOfRange},
		{"no pins", nil, []Item{{ID: "a"}}, fault.MissingField},
		{"no name", nil, []Item{{Pins: good[:2]}}, fault.BadName},
		{"twice", nil, []Item{flat, flat}, fault.DuplicateID},
		{"far", nil, []Item{{ID: "a", Pins: []Point{{0, 0}, {1e6, 0}}}}, fault.OutOfRange},
		{"u", nil, []Item{{ID: "a", Pins: good[:2], PinPx: p(-1.)}}, fault.OutOfRange},
		{"along", nil, []Item{{ID: "a", Pins: good[:2], Along: []Point{{1, 1}, {1, 1}}}}, fault.PointsRepeated},
		{"many", nil, make([]Item, MaxItems+1), fault.TooMany},
	} {
		_, err := MeasurePhoto(MeasureRequest{WidthPx: 100, HeightPx: 100, Plane: c.plane, Items: c.items})
		if e, ok := err.(*fault.Error); !ok || e.Code != c.code {
			t.Errorf("%s: %v, wanted %s", c.name, err, c.code)
		}
	}
}

func BenchmarkMeasurePhoto(b *testing.B) {
	truth, _ := readShared(b)
	req := MeasureRequest{WidthPx: 1000, HeightPx: 1400, Plane: card(truth.Card.Corners)}
	for i := range 40 {
		req.Items = append(req.Items, Item{ID: fmt.Sprint(i), Pins: []Point{{100, float64(i)}, {500, 700}}})
	}
	for b.Loop() {
		if _, err := MeasurePhoto(req); err != nil {
			b.Fatal(err)
		}
	}
}
