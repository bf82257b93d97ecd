package form

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

func near(t *testing.T, name string, got, want, share float64) {
	t.Helper()
	if math.Abs(got-want) > share*math.Abs(want) {
		t.Errorf("%s: %.8g, want %.8g", name, got, want)
	}
}

func TestHandbookSolids(t *testing.T) {
	for _, c := range []struct {
		name   string
		shape  Shape
		volume float64 // to the digits written
		area   float64 // 0: not given there
		source string
	}{
		{"ellipsoid 1, 2, 3", Shape{Kind: Egg, LengthMM: 2, WidthMM: 4, DepthMM: 6}, 25.1327, 48.8821, "CRC tables; DLMF 19.33"},
		{"ellipsoid 1, 1, 2", Shape{Kind: Egg, LengthMM: 4, WidthMM: 2}, 8.37758, 21.4784, "CRC tables; DLMF 19.33"},
		{"ellipsoid 1, 2, 2", Shape{Kind: Egg, LengthMM: 2, WidthMM: 4}, 16.7552, 34.6875, "CRC tables; DLMF 19.33"},
		{"ellipsoid 1, 3, 10", Shape{Kind: Egg, LengthMM: 20, WidthMM: 2, DepthMM: 6}, 125.664, 212.00, "CRC tables; DLMF 19.33"},
		{"ellipsoid 1, 10, 10", Shape{Kind: Egg, LengthMM: 2, WidthMM: 20}, 418.879, 647.22, "CRC tables; DLMF 19.33"},
		{"ball r 1 as an egg", Shape{Kind: Egg, LengthMM: 2, WidthMM: 2}, 4.18879, 12.5664, "CRC tables"},
		{"frustum R 8, r 5, h 4", Shape{Kind: Frustum, LengthMM: 4, WidthMM: 16, EndMM: 10}, 540.354, 204.204 + math.Pi*(64+25), "CRC tables"},
		{"cone r 3, h 4", Shape{Kind: Cone, LengthMM: 4, WidthMM: 6}, 37.6991, 47.1239 + math.Pi*9, "CRC tables"},
		{"torus R 3, r 1", Shape{Kind: Hoop, WidthMM: 8, ThicknessMM: 2}, 59.2176, 118.4353, "CRC tables"},
		{"capsule r 1, straight 3", Shape{Kind: Rounded, LengthMM: 5, WidthMM: 2}, 13.6136, 31.4159, "CRC tables"},
		{"cone as a turned form", Shape{Kind: Turned, ProfileMM: [][2]float64{{2, 3}, {6, 0}}}, 37.6991, 47.1239 + math.Pi*9, "CRC tables"},
		{"block 2, 3, 4", Shape{Kind: Block, LengthMM: 2, WidthMM: 3, DepthMM: 4}, 24, 52, "CRC tables"},
		{"half an ellipse, 10 long, 8 at the root, 2 thick", Shape{Kind: Ear, LengthMM: 10, WidthMM: 8, ThicknessMM: 2}, 2 * math.Pi / 4 * 10 * 8, 0, "CRC tables: area of an ellipse"},
	} {
		got, err := Measure(Request{c.shape})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		share := 2e-5
		if c.shape.Kind == Ear {
			share = 5e-4 // its edge is drawn with 97 points
		}
		near(t, c.name+" volume ("+c.source+")", got.VolumeMM3, c.volume, share)
		if c.area > 0 {
			near(t, c.name+" area ("+c.source+")", got.AreaMM2, c.area, share)
		}
	}
}

// A spherical cap R 5, h 2 has V 54.4543 and a curved surface of 62.8319 (CRC tables). A
// teardrop whose cone touches its ball 3 from the middle lacks just that cap.
func TestATeardropIsABallACapAndACone(t *testing.T) {
	s := Shape{Kind: Teardrop, WidthMM: 10, LengthMM: 5 + 25.0/3} // touch = r^2/tip = 3
	ball, cone := 4*math.Pi/3*125, math.Pi*16*(25.0/3-3)/3
	near(t, "volume", s.Volume(), ball-54.4543+cone, 1e-6)
	near(t, "area", s.Area(), 4*math.Pi*25-62.8319+math.Pi*4*math.Hypot(4, 25.0/3-3), 1e-6)
}

// anyShape draws a shape of a kind that is rolled.
func anyShape(t *rapid.T) Shape {
	size := func(name string) float64 { return rapid.Float64Range(5, 200).Draw(t, name) }
	s := Shape{Kind: rapid.SampledFrom([]string{Ball, Egg, Cylinder, Rounded, Cone, Frustum, Teardrop, Disc, Turned}).Draw(t, "kind")}
	switch s.Kind {
	case Ball:
		s.WidthMM = size("width")
	case Disc:
		s.WidthMM, s.ThicknessMM = size("width"), size("thickness")
	case Turned:
		x := 0.0
		for range rapid.IntRange(2, 20).Draw(t, "points") {
			s.ProfileMM = append(s.ProfileMM, [2]float64{x, rapid.Float64Range(2, 60).Draw(t, "r")})
			x += rapid.Float64Range(1, 20).Draw(t, "step")
		}
	case Rounded, Teardrop:
		s.WidthMM = size("width")
		s.LengthMM = s.WidthMM * rapid.Float64Range(1.02, 6).Draw(t, "longer")
	default:
		s.LengthMM, s.WidthMM = size("length"), size("width")
		if s.Kind == Frustum {
			s.EndMM = size("end")
		}
		if s.Kind == Egg && rapid.Bool().Draw(t, "three axes") {
			s.DepthMM = size("depth")
		}
	}
	return s
}

// radius is r(x) by the profile.
func radius(profile [][2]float64, x float64) float64 { return lineAt(profile, x) }

func TestVolumeByQuadrature(t *testing.T) {
	// The volume of revolution, pi times the integral of r^2 (gonum's Gauss-Legendre rule on
	// each stretch of the profile), against the formula.
	rapid.Check(t, func(t *rapid.T) {
		s := anyShape(t)
		if err := s.check("shape"); err != nil {
			t.Fatal(err)
		}
		profile, volume := s.profile(), 0.0
		for i := 1; i < len(profile); i++ {
			if a, b := profile[i-1][0], profile[i][0]; b > a {
				volume += quad.Fixed(func(x float64) float64 { r := radius(profile, x); return math.Pi * r * r }, a, b, 8, nil, 0)
			}
		}
		if got := s.Volume(); math.Abs(got/volume-1) > 2e-3 {
			t.Errorf("%+v: %.8g, by quadrature %.8g", s, got, volume)
		}
	})
}

func TestAreaByQuadrature(t *testing.T) {
	// The surface of an ellipsoid as an integral over the sphere (gonum's quadrature), where
	// DLMF 19.33.1 was used.
	rapid.Check(t, func(t *rapid.T) {
		axis := func(name string) float64 { return rapid.Float64Range(0.5, 5).Draw(t, name) }
		a, b, c := axis("a"), axis("b"), axis("c")
		area := quad.Fixed(func(theta float64) float64 {
			sin, cos := math.Sincos(theta)
			return quad.Fixed(func(phi float64) float64 {
				sp, cp := math.Sincos(phi)
				x, y, z := sin*cp/a, sin*sp/b, cos/c
				return a * b * c * sin * math.Sqrt(x*x+y*y+z*z)
			}, 0, math.Pi/2, 60, nil, 0)
		}, 0, math.Pi/2, 60, nil, 0) * 8
		if got := (Shape{Kind: Egg, LengthMM: 2 * a, WidthMM: 2 * b, DepthMM: 2 * c}).Area(); math.Abs(got/area-1) > 1e-6 {
			t.Errorf("%v %v %v: %.9g, by quadrature %.9g", a, b, c, got, area)
		}
	})
}

func TestTheDrawingIsAsLargeAsTheForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyShape(t)
		got, err := Measure(Request{s})
		if err != nil {
			t.Fatal(err)
		}
		low, high, _ := outline.Bounds(got.SideMM)
		if math.Abs(high[0]-low[0]-got.LengthMM) > 1e-9*got.LengthMM || math.Abs(high[1]-low[1]-got.WidthMM) > 0.002*got.WidthMM {
			t.Errorf("%+v is %v x %v, drawn %v to %v", s, got.LengthMM, got.WidthMM, low, high)
		}
		low, high, _ = outline.Bounds(got.FrontMM)
		if math.Abs(high[0]-low[0]-got.DepthMM) > 0.002*got.DepthMM {
			t.Errorf("%+v is %v deep, drawn %v to %v", s, got.DepthMM, low, high)
		}
	})
}

func TestShapesThatCannotBe(t *testing.T) {
	for name, c := range map[string]struct {
		shape Shape
		code  string
		at    string
	}{
		"no kind":            {Shape{}, fault.NotOneOf, "shape.kind"},
		"no width":           {Shape{Kind: Ball}, fault.OutOfRange, "shape.width_mm"},
		"negative":           {Shape{Kind: Cylinder, LengthMM: -3, WidthMM: 2}, fault.OutOfRange, "shape.length_mm"},
		"not a number":       {Shape{Kind: Ball, WidthMM: math.NaN()}, fault.OutOfRange, "shape.width_mm"},
		"endless":            {Shape{Kind: Ball, WidthMM: math.Inf(1)}, fault.OutOfRange, "shape.width_mm"},
		"shorter than round": {Shape{Kind: Rounded, LengthMM: 5, WidthMM: 8}, fault.OutOfRange, "shape.length_mm"},
		"no hole":            {Shape{Kind: Hoop, WidthMM: 10, ThicknessMM: 5}, fault.OutOfRange, "shape.thickness_mm"},
		"one point":          {Shape{Kind: Turned, ProfileMM: [][2]float64{{0, 3}}}, fault.TooFew, "shape.profile_mm"},
		"runs back":          {Shape{Kind: Turned, ProfileMM: [][2]float64{{0, 3}, {5, 3}, {4, 2}}}, fault.OutOfRange, "shape.profile_mm"},
		"below the axis":     {Shape{Kind: Turned, ProfileMM: [][2]float64{{0, 3}, {5, -3}}}, fault.OutOfRange, "shape.profile_mm"},
		"a crossed ear":      {Shape{Kind: Ear, ThicknessMM: 2, RingsMM: []outline.Ring{{{0, 0}, {9, 9}, {9, 0}, {0, 8}}}}, fault.CrossesItself, "shape.rings_mm"},
	} {
		_, err := Measure(Request{c.shape})
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %v, want %s at %s", name, err, c.code, c.at)
		}
	}
}
