package form

import (
	"math"
	"testing"

	"needlesight/pwa/engine/outline"
)

// beast is a drawn animal: a trunk 160 x 60 whose middle is 80 above the ground, two legs of 14 by 60,
// a neck and a head that look forward, a tail that tapers off behind.
func beast() []outline.Ring {
	ring := outline.Ring{}
	arc := func(x, y, a, b, from, to float64) {
		for i := range 60 {
			sin, cos := math.Sincos(from + (to-from)*float64(i)/59)
			ring = append(ring, [2]float64{x + a*cos, y + b*sin})
		}
	}
	ring = append(ring, [2]float64{-46, 58}, [2]float64{-46, 0}, [2]float64{-32, 0}, [2]float64{-32, 53}) // the hind leg
	ring = append(ring, [2]float64{32, 53}, [2]float64{32, 0}, [2]float64{46, 0}, [2]float64{46, 58})     // the foreleg
	arc(0, 80, 80, 30, -0.6, 0.35)
	arc(115, 122, 24, 15, -2.4, 2.6) // the head, on a neck that leans forward
	arc(0, 80, 80, 30, 0.75, math.Pi-0.2)
	ring = append(ring, [2]float64{-150, 84}) // the tail
	arc(0, 80, 80, 30, math.Pi+0.2, 4.0)
	return []outline.Ring{ring}
}

func TestABeastIsTakenApart(t *testing.T) {
	front := []outline.Ring{{{-28, 0}, {-14, 0}, {-14, 60}, {14, 60}, {14, 0}, {28, 0}, {28, 110}, {12, 137}, {-12, 137}, {-28, 110}}}
	got, err := Breakdown(BreakdownRequest{HeightMM: 137, Side: beast(), Front: front, Parts: []Part{{ID: "trunk", Name: "Body length", MM: 165, Axis: "length"}, {ID: "far", Name: "Leg length", MM: 300, Axis: "length"}}})
	if err != nil {
		t.Fatal(err)
	}
	n := map[string]int{}
	for _, p := range got.Forms {
		n[p.StandsFor] += p.Count
		t.Logf("%s x%d %s %.0f x %.0f x %.0f at %.0f", p.StandsFor, p.Count, p.Shape.Kind, p.Shape.length(), p.Shape.width(), p.Shape.depth(), p.Side.At)
	}
	for part, want := range map[string]int{Body: 1, Head: 1, Leg: 4, Tail: 1} {
		if n[part] != want {
			t.Errorf("%d of %s, want %d", n[part], part, want)
		}
	}
	body := got.Forms[0]
	if body.StandsFor != Body || math.Abs(body.Shape.LengthMM/160-1) > 0.12 || math.Abs(body.Shape.WidthMM/60-1) > 0.12 || math.Abs(body.Shape.DepthMM/56-1) > 0.05 {
		t.Errorf("the trunk is %+v", body.Shape)
	}
	if len(body.Binds) != 1 || body.Binds[0] != (Bind{"length_mm", "trunk"}) {
		t.Errorf("bound to %+v", body.Binds)
	}
	for _, p := range got.Forms {
		if p.StandsFor == Leg && (math.Abs(p.Shape.width()/14-1) > 0.35 || len(p.Binds) > 0 || !p.Mirrored || len(p.Front) != 2) {
			t.Errorf("a leg is %+v", p)
		}
	}
	if got.Covered < 0.8 {
		t.Errorf("the forms cover %.2f of the outline", got.Covered)
	}
}

func TestABallIsOneForm(t *testing.T) {
	got, err := Breakdown(BreakdownRequest{HeightMM: 100, Side: ellipse(0, 70, 50), Front: ellipse(0, 40, 50)})
	if err != nil || len(got.Forms) != 1 {
		t.Fatalf("%+v %v", got.Forms, err)
	}
	s := got.Forms[0].Shape
	near(t, "length", s.LengthMM, 140, 0.01)
	near(t, "width", s.WidthMM, 100, 0.01)
	near(t, "depth", s.DepthMM, 80, 0.01)
	if got.Covered < 0.98 {
		t.Errorf("covers %.3f", got.Covered)
	}
}

func TestKnownAnimalsAreCoveredByTheirForms(t *testing.T) {
	// The animals of testdata that look forward as the request asks. How much simple solids
	// can cover is nothing a handbook says; less than this would not look like the animal.
	for _, name := range []string{"cow", "pig", "bear", "elephant", "camel", "diplodocus", "triceratops"} {
		a := animals(t)[name]
		got, err := Breakdown(BreakdownRequest{HeightMM: a.HeightMM, Side: a.Side, Front: a.Front})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got.Covered < 0.6 || len(got.Forms) < 2 || len(got.Forms) > MaxProposed {
			t.Errorf("%s: %d forms cover %.2f", name, len(got.Forms), got.Covered)
		}
		for _, p := range got.Forms {
			if err := p.Shape.check("shape"); err != nil {
				t.Errorf("%s: a form that cannot be: %v", name, err)
			}
		}
	}
}

func TestBreakdownWithoutAFrontSaysSo(t *testing.T) {
	got, err := Breakdown(BreakdownRequest{HeightMM: 137, Side: beast()})
	if err != nil || len(got.Notes) != 1 || got.Notes[0].Code != NoteNoFront {
		t.Errorf("%+v %v", got.Notes, err)
	}
	if _, err := Breakdown(BreakdownRequest{HeightMM: 137}); err == nil {
		t.Error("nothing to break down, and no word of it")
	}
}

func BenchmarkBreakdown(b *testing.B) {
	a := animals(b)["cow"]
	for b.Loop() {
		if _, err := Breakdown(BreakdownRequest{HeightMM: a.HeightMM, Side: a.Side, Front: a.Front}); err != nil {
			b.Fatal(err)
		}
	}
}
