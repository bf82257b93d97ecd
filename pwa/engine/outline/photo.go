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
	margin := float64(1.5 * side)
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

// guesses are what may be so. A shadow is spread over depths some 15 times as wide as the cloth's own colours, and
// covers perhaps a fifth of them, which makes its price about 8.
var guesses = [...]shade{{0.6, 8}, {0.85, 8}, {0.97, 8}}

// coarse finds the piece to within a cell. Of several guesses at how deep the shadow is it takes the
// one that gives a piece whose edge is one all the way round. It tells too how far the guesses that
// are nearly as good agree with it, 0 to 1.
func (s *scan) coarse(t taps) (best guess, agree float64, ok bool) {
	rim := func(i int) bool { return s.rim(i%s.w, i/s.w) && s.known[i] == unknown }
	s.fitLight(rim)
	s.evenOut()
	s.learnCloth(rim, 4)
	s.learnRefused(t)
	var all []guess
	for _, shade := range guesses {
		g, any := s.lookFor(shade, t)
		if !any {
			continue
		}
		all = append(all, g)
		if !ok || g.edged > best.edged {
			best, ok = g, true
		}
		if best.edged > 0.94 {
			break
		}
	}
	agree = 1
	for _, g := range all {
		if g.edged > best.edged-0.06 {
			agree = min(agree, 1-float64(max(g.size, best.size)-min(g.size, best.size))/float64(max(g.size, best.size)))
		}
	}
	return best, agree, ok
}

// learnRefused adds to the cloth what was tapped on as not being the piece, where it is of another
// colour than what was tapped on as the piece.
func (s *scan) learnRefused(t taps) {
	if len(t.on) == 0 {
		return
	}
	for _, i := range t.off {
		here := s.about(i)
		mean := meanOf(here)
		alike := false
		for _, k := range t.on {
			other := meanOf(s.about(k))
			d := feel{mean[0] - other[0], mean[1] - other[1], mean[2] - other[2], mean[3] - other[3]}
			alike = alike || float32(d[0]*d[0])+float32(d[1]*d[1])+float32(d[2]*d[2])+float32(d[3]*d[3]) < 100
		}
		if !alike {
			s.cloth = append(s.cloth, learn(here, 1, 0, clothFloor)...)
		}
	}
}

// about are the cells round one, 5 x 5.
func (s *scan) about(i int) []feel {
	var all []feel
	for y := max(0, i/s.w-2); y <= min(s.h-1, i/s.w+2); y++ {
		for x := max(0, i%s.w-2); x <= min(s.w-1, i%s.w+2); x++ {
			all = append(all, s.plain[y*s.w+x])
		}
	}
	return all
}

func meanOf(all []feel) feel {
	var mean feel
	for _, v := range all {
		for k := range v {
			mean[k] += v[k] / float32(len(all))
		}
	}
	return mean
}

// find outlines the piece on a photo of which the card's ring, if any, is known.
func find(p *raster.Picture, card Ring, at tapped) found {
	nothing := found{ask: "tap", notes: []Note{{NoPiece, "Nothing was found that stands out from the cloth. Tap on the piece."}}}
	colours := newPalette()
	s := newScan(p, card, colours)
	t := s.tap(at)
	g, agree, ok := s.coarse(t)
	if !ok {
		return nothing
	}
	win := s.around(g.piece, p.Width, p.Height)
	contrast := s.judge(p, colours, &win, g.piece)
	win.settle(contrast, func(x, y int) bool { return g.piece[y/s.side*s.w+x/s.side] })
	rings := win.trace()
	if len(rings) == 0 {
		return nothing
	}
	look := found{rings: rings, notes: []Note{}}
	look.confidence = g.edged * agree * (0.7 + float64(0.3*min(1, float64(contrast)/weak)))
	look.remark(s, g, t, p)
	return look
}

// remark says what is doubtful, and which tap would help.
func (look *found) remark(s *scan, g guess, t taps, p *raster.Picture) {
	low, high, _ := Bounds(look.rings)
	if low[0] < 1.5 || low[1] < 1.5 || high[0] > float64(p.Width)-1.5 || high[1] > float64(p.Height)-1.5 {
		look.confidence *= 0.6
		look.notes = append(look.notes, Note{CutOff, "The piece runs out of the photo, so part of its outline is missing."})
	}
	if len(t.on) == 0 && 10*g.other > 3*g.size {
		look.confidence *= 0.8
		look.ask = "tap"
		look.notes = append(look.notes, Note{MoreThere, "There is something else of about that size. Tap on the piece that is meant."})
	}
	if look.confidence < DoubtBelow {
		look.notes = append(look.notes, Note{Doubtful, "The edge cannot be told from the cloth everywhere. Tap on what is missing, or on what is too much."})
		switch {
		case len(t.on) == 0:
			look.ask = "tap"
		case len(t.off) == 0:
			look.ask = "not"
		default:
			look.ask = "also"
		}
	}
}
