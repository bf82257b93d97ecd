package outline

import (
	"needlesight/pwa/engine/raster"
)

// found is what one look at a photo gives.
type found struct {
	rings      []Ring
	confidence float64
	ask        string
	notes      []Note
}

// tapped are taps in px.
type tapped struct{ on, off [][2]float64 }

// newScan makes the cells of a photo; the card's cells are known to be apart.
func newScan(p *raster.Picture, card Ring, colours *palette) *scan {
	c := newCells(p, colours)
	n := len(c.feel)
	s := &scan{cells: c, known: make([]uint8, n), light: make([]float32, n), plain: make([]feel, n)}
	if len(card) >= 3 {
		s.setApart(card)
	}
	return s
}

// setApart marks the cells that a ring touches, and those beside it.
func (s *scan) setApart(ring Ring) {
	low, high, _ := Bounds([]Ring{ring})
	side := float64(s.side)
	margin := 1.5 * side
	for y := max(0, int((low[1]-margin)/side)); y < min(s.h, int((high[1]+margin)/side)+1); y++ {
		for x := max(0, int((low[0]-margin)/side)); x < min(s.w, int((high[0]+margin)/side)+1); x++ {
			at := [2]float64{(float64(x) + 0.5) * side, (float64(y) + 0.5) * side}
			if Inside([]Ring{ring}, at) || offRing(ring, at) < margin*margin {
				s.known[y*s.w+x] = apart
			}
		}
	}
}

// offRing is the square of a point's distance from a ring's line.
func offRing(ring Ring, p [2]float64) float64 {
	best := squared(minus(p, ring[0]))
	for i, b := range ring {
		best = min(best, offLine(p, ring[(i+len(ring)-1)%len(ring)], b))
	}
	return best
}

// tap marks what a hand said, and gives the cells of the taps.
func (s *scan) tap(at tapped) taps {
	var t taps
	mark := func(points [][2]float64, as uint8) (cells []int) {
		for _, p := range points {
			x := min(s.w-1, max(0, int(p[0])/s.side))
			y := min(s.h-1, max(0, int(p[1])/s.side))
			cells = append(cells, y*s.w+x)
			for v := max(0, y-1); v <= min(s.h-1, y+1); v++ {
				for u := max(0, x-1); u <= min(s.w-1, x+1); u++ {
					s.known[v*s.w+u] = as
				}
			}
		}
		return cells
	}
	t.on = mark(at.on, wanted)
	t.off = mark(at.off, apart)
	return t
}

// guesses are what may be so: how much of its lightness shade may take from the cloth.
var guesses = [...]float32{0.6, 0.85, 0.97}

// coarse finds the piece to within a cell. Of several guesses at how deep the shadow is it takes the
// one that gives a piece whose edge is one all the way round.
func (s *scan) coarse(t taps) (guess, bool) {
	rim := func(i int) bool { return s.rim(i%s.w, i/s.w) && s.known[i] == unknown }
	s.fitLight(rim)
	s.evenOut()
	s.learnCloth(rim, 4)
	best, any := guess{}, false
	for _, least := range guesses {
		g, ok := s.lookFor(least, t)
		if ok && (!any || g.edged > best.edged) {
			best, any = g, true
		}
		if best.edged > 0.93 {
			break
		}
	}
	return best, any
}

// find outlines the piece on a photo of which the card's ring, if any, is known.
func find(p *raster.Picture, card Ring, at tapped) found {
	colours := newPalette()
	s := newScan(p, card, colours)
	g, ok := s.coarse(s.tap(at))
	if !ok {
		return found{ask: "tap", notes: []Note{{NoPiece, "Nothing was found that stands out from the cloth. Tap on the piece."}}}
	}
	win := s.around(g.piece, p.Width, p.Height)
	s.judge(p, colours, &win, g.piece)
	win.settle(func(x, y int) bool { return g.piece[y/s.side*s.w+x/s.side] })
	return found{rings: win.trace(), confidence: g.edged}
}
