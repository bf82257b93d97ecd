package sheet

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// anyGrid is a drawing of any size and place that can be printed, cut into pages.
func anyGrid(t *rapid.T) (box, grid, paper, float64) {
	p := papers[rapid.SampledFrom([]string{"A4", "Letter"}).Draw(t, "paper")]
	margin := rapid.Float64Range(MinMarginMM, MaxMarginMM).Draw(t, "margin")
	overlap := rapid.Float64Range(MinOverlapMM, MaxOverlapMM).Draw(t, "overlap")
	left, top := rapid.Float64Range(-1e5, 1e5).Draw(t, "left"), rapid.Float64Range(-1e5, 1e5).Draw(t, "top")
	drawing := box{left, top, left + rapid.Float64Range(0.5, 1500).Draw(t, "wide"), top + rapid.Float64Range(0.5, 1500).Draw(t, "high")}
	g, pages := cut(p, drawing, margin, overlap)
	if pages > MaxPages {
		t.SkipNow()
	}
	if float64(g.pages()) != pages {
		t.Fatalf("%v pages are told, and %d x %d made", pages, g.columns, g.rows)
	}
	return drawing, g, p, margin
}

const tiny = 1e-6 // mm

func TestEveryPointOfTheDrawingIsOnAPage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drawing, g, p, margin := anyGrid(t)
		wide, high := p.size(g.landscape)
		if f := g.frame; f.left < margin-tiny || f.right > wide-margin+tiny || f.top < margin+headMM-tiny || f.bottom > high-margin-footMM+tiny {
			t.Fatalf("the frame %v leaves the printable part of %v x %v", f, wide, high)
		}
		x := drawing.left + rapid.Float64Range(0, 1).Draw(t, "x")*drawing.width()
		y := drawing.top + rapid.Float64Range(0, 1).Draw(t, "y")*drawing.height()
		found := 0
		for c := range g.columns {
			for r := range g.rows {
				if w := g.window(c, r).around(tiny); w.meets(box{x, y, x, y}) {
					found++
				}
			}
		}
		if found == 0 {
			t.Fatalf("%v, %v of %v is on no page of %v", x, y, drawing, g)
		}
	})
}

func TestMatchMarksCoincideWhenPagesAreLaidTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, g, _, _ := anyGrid(t)
		if g.pages() == 1 {
			t.SkipNow()
		}
		c, r := rapid.IntRange(0, g.columns-1).Draw(t, "column"), rapid.IntRange(0, g.rows-1).Draw(t, "row")
		w := g.window(c, r)
		for _, j := range g.joints(c, r) {
			other := j.first
			if other == [2]int{c, r} {
				other = j.then
			}
			twin, found := joint{}, false
			for _, k := range g.joints(other[0], other[1]) {
				if k.first == j.first && k.then == j.then {
					twin, found = k, true
				}
			}
			if !found {
				t.Fatalf("page %v does not know its joint with %d, %d", other, c, r)
			}
			far := g.window(other[0], other[1])
			for i, m := range j.marks() {
				if n := twin.marks()[i]; math.Hypot(m[0]-n[0], m[1]-n[1]) > tiny {
					t.Fatalf("a mark lies at %v on one page and at %v on the other", m, n)
				}
				// Both pages show the mark whole.
				if m := nowhere().add(m).around(markMM); m.meet(w) != m || m.meet(far) != m {
					t.Fatalf("the mark %v leaves %v or %v", m, w, far)
				}
			}
		}
	})
}

// The grid has no fewer pages the other way up, and no page that is not needed.
func TestTheBetterWayUpIsTaken(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		drawing, g, p, margin := anyGrid(t)
		for _, landscape := range []bool{false, true} {
			f := p.frame(landscape, margin)
			for columns := 1; columns < g.pages(); columns++ {
				for rows := 1; columns*rows < g.pages(); rows++ {
					if float64(columns)*(f.width()-g.overlap)+g.overlap >= drawing.width()+tiny && float64(rows)*(f.height()-g.overlap)+g.overlap >= drawing.height()+tiny {
						t.Fatalf("%v fits on %d x %d pages (lying: %v), and %d x %d are made", drawing, columns, rows, landscape, g.columns, g.rows)
					}
				}
			}
		}
	})
}

func TestTileNames(t *testing.T) {
	for want, at := range map[string][2]int{"A1": {0, 0}, "C2": {2, 1}, "Z10": {25, 9}, "AA1": {26, 0}, "BH1": {59, 0}} {
		if got := tile(at[0], at[1]); got != want {
			t.Errorf("%v is called %s, want %s", at, got, want)
		}
	}
}
