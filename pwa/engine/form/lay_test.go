package form

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/outline"
)

// wind rolls a strip of a length up by turns of its own thickness, a fiftieth of a turn at
// a time, and gives the radius: how a roll grows, without its formula.
func wind(length, thickness float64) float64 {
	const steps = 50
	r := 0.0
	for laid := 0.0; laid < length; {
		grown := thickness / steps
		arc := 2 * math.Pi / steps * (r + grown/2)
		if laid+arc >= length {
			return r + grown*(length-laid)/arc
		}
		laid, r = laid+arc, r+grown
	}
	return r
}

func TestTheRollGrowsAsTheHandbooksSay(t *testing.T) {
	// L = pi (D^2 - d^2) / (4 t), machinists' handbooks. D 6, d 0.5, t 0.4: 70.195; D 5, d 2, t 0.011: 1499.4.
	for _, c := range [][4]float64{{6, 0.5, 0.4, 70.195}, {5, 2, 0.011, 1499.4}} {
		outer, core := (Shape{Kind: Cylinder, LengthMM: 1, WidthMM: c[0]}), (Shape{Kind: Cylinder, LengthMM: 1, WidthMM: c[1]})
		length := long(outer.profile()[0], c[2]) - long(core.profile()[0], c[2])
		near(t, "length", length, c[3], 1e-4)
	}
}

func TestALayRollsUpToItsForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyShape(t)
		factor := rapid.Float64Range(1, 2).Draw(t, "factor")
		mass := s.Volume() / 1000 * rapid.Float64Range(0.08, 0.25).Draw(t, "density")
		got, err := Lay(LayRequest{Shape: s, MassG: mass, Factor: &factor})
		if err != nil {
			t.Fatal(err)
		}
		piece := got.Pieces[0]
		// All the wool is there: the pieces' area by the weight of their layers.
		weighed := 0.0
		for _, p := range got.Pieces {
			weighed += float64(p.Count) * outline.Area(p.RingsMM) * got.ThicknessMM * got.DensityGCM3 / 1000
		}
		if math.Abs(weighed/mass-1) > 0.002 {
			t.Errorf("%+v: %v g laid, %v g wanted", s, weighed, mass)
		}
		// Rolled up strip by strip it has the profile of the rolled core.
		thickness := got.ThicknessMM * float64(piece.Count)
		profile := got.Start.profile()
		for _, share := range []float64{0.1, 0.3, 0.5, 0.8} {
			x := share * piece.WidthMM
			length := across(piece.RingsMM[0], x)
			want := radius(profile, x)
			if rolled := wind(length, thickness); want > thickness && math.Abs(rolled/want-1) > 0.01 {
				t.Errorf("%+v at %.2f: rolls up to %v, want %v", s, share, rolled, want)
			}
		}
	})
}

// across is how long a lay is at x.
func across(ring outline.Ring, x float64) float64 {
	top := 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if a[0] > b[0] {
			a, b = b, a
		}
		if a[0] <= x && x <= b[0] && b[0] > a[0] {
			top = max(top, a[1]+(x-a[0])/(b[0]-a[0])*(b[1]-a[1]))
		}
	}
	return top
}

func TestMassIsKept(t *testing.T) {
	// To 0.1 % for the smooth forms: what is laid is what is weighed.
	for _, s := range []Shape{
		{Kind: Ball, WidthMM: 40}, {Kind: Cone, LengthMM: 62, WidthMM: 17}, {Kind: Cylinder, LengthMM: 80, WidthMM: 12}, {Kind: Egg, LengthMM: 80, WidthMM: 45, DepthMM: 30},
		{Kind: Rounded, LengthMM: 60, WidthMM: 20}, {Kind: Teardrop, LengthMM: 60, WidthMM: 30}, {Kind: Hoop, WidthMM: 60, ThicknessMM: 12},
		{Kind: Block, LengthMM: 60, WidthMM: 30, DepthMM: 20}, {Kind: Ear, LengthMM: 30, WidthMM: 20, ThicknessMM: 4},
	} {
		got, err := Lay(LayRequest{Shape: s, MassG: s.Volume() / 1000 * 0.15})
		if err != nil {
			t.Fatal(err)
		}
		laid := 0.0
		for _, p := range got.Pieces {
			laid += float64(p.Count) * outline.Area(p.RingsMM) * got.ThicknessMM * got.DensityGCM3 / 1000
		}
		near(t, s.Kind, laid, s.Volume()/1000*0.15, 0.001)
	}
}

func TestAStraightEdgedLayOfAConeRollsUpToABullet(t *testing.T) {
	s := Shape{Kind: Cone, LengthMM: 62, WidthMM: 17}
	got, err := Lay(LayRequest{Shape: s, MassG: 0.75})
	if err != nil {
		t.Fatal(err)
	}
	p := got.Pieces[0]
	if p.Name != "curved triangle" || p.Straight == nil {
		t.Fatalf("%+v", p)
	}
	// r = R sqrt(1 - x/l): a paraboloid, half the volume of its cylinder (Archimedes), where the cone has a third.
	middle := radius(p.Straight.ProfileMM, p.WidthMM/2)
	near(t, "radius halfway", middle, got.Start.WidthMM/2*math.Sqrt(0.5), 0.01)
	if len(p.Straight.RingsMM[0]) != 3 {
		t.Errorf("a triangle of %d corners", len(p.Straight.RingsMM[0]))
	}
}

func TestLaysThatCannotBe(t *testing.T) {
	ball := Shape{Kind: Ball, WidthMM: 40}
	bad, none := 0.5, 0
	for name, c := range map[string]struct {
		req  LayRequest
		code string
		at   string
	}{
		"no wool":            {LayRequest{Shape: ball}, fault.OutOfRange, "mass_g"},
		"denser than fibre":  {LayRequest{Shape: ball, MassG: 300}, fault.OutOfRange, "mass_g"},
		"smaller than it is": {LayRequest{Shape: ball, MassG: 5, Factor: &bad}, fault.OutOfRange, "factor"},
		"a veil":             {LayRequest{Shape: ball, MassG: 5, LayerGM2: &bad}, fault.OutOfRange, "areal_g_m2"},
		"no layers":          {LayRequest{Shape: ball, MassG: 5, Layers: &none}, fault.OutOfRange, "layers"},
		"no form":            {LayRequest{MassG: 5}, fault.NotOneOf, "shape.kind"},
	} {
		_, err := Lay(c.req)
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code || e.At != c.at {
			t.Errorf("%s: %v, want %s at %s", name, err, c.code, c.at)
		}
	}
}

func TestEdgesSayWhatTheyBecome(t *testing.T) {
	cone := Shape{Kind: Cone, LengthMM: 62, WidthMM: 17}
	got, err := Lay(LayRequest{Shape: cone, MassG: cone.Volume() / 1000 * 0.15})
	if err != nil {
		t.Fatal(err)
	}
	becomes := map[string][2][2]float64{}
	for _, edge := range got.Pieces[0].Edges {
		becomes[edge.Becomes] = edge.At
	}
	// The root is as long as the whole lay, and the tip a corner.
	near(t, "root", becomes["root"][1][1], got.Pieces[0].LengthMM, 1e-9)
	near(t, "tip at", becomes["tip"][0][0], 62*4.0/3, 1e-9)
	near(t, "tip", becomes["tip"][1][1], 0, 1e-9)
	near(t, "middle", becomes["middle"][1][0], 62*4.0/3, 1e-9)
	ball := Shape{Kind: Ball, WidthMM: 40}
	if got, err = Lay(LayRequest{Shape: ball, MassG: 5}); err != nil || len(got.Pieces[0].Edges) != 1 {
		t.Errorf("a ball has a root or a tip: %v, %v", got.Pieces[0].Edges, err)
	}
}

func TestStraightEdgesKeepToTheThickestPlace(t *testing.T) {
	// A roll with round ends is as thick as it gets for most of its length: straight edges are
	// drawn along all of that, and roll up to a cylinder there.
	roll := Shape{Kind: Rounded, LengthMM: 60, WidthMM: 12}
	got, err := Lay(LayRequest{Shape: roll, MassG: roll.Volume() / 1000 * 0.15})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range got.Pieces[0].Straight.ProfileMM {
		if x := p[0] * 3 / 4; x > 6 && x < 54 {
			near(t, "radius", p[1], 8, 1e-9)
		}
	}
}

func TestAFoldedPieceMayHaveMoreLayers(t *testing.T) {
	layers := 30
	block := Shape{Kind: Block, LengthMM: 60, WidthMM: 40, DepthMM: 40}
	got, err := Lay(LayRequest{Shape: block, MassG: 14, Layers: &layers})
	if err != nil || got.Layers != layers {
		t.Errorf("%v layers, %v", got.Layers, err)
	}
	near(t, "thickness", got.ThicknessMM*float64(layers), 40*4.0/3, 1e-9)
	roll := Shape{Kind: Cylinder, LengthMM: 60, WidthMM: 12}
	if _, err := Lay(LayRequest{Shape: roll, MassG: 1, Layers: &layers}); err == nil {
		t.Error("30 layers were rolled up")
	}
}
