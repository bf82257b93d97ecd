package main

import "math"

// outline goes round what the animal covers, as lists x0, y0, x1, y1, ... in px: each place on the edge is where the cover is a half.
func (ph *photo) outline() [][]float64 {
	w, h := ph.s.width, ph.s.height
	at := func(x, y int) float64 {
		if x < 0 || y < 0 || x >= w || y >= h {
			return 0
		}
		return ph.cover[y*w+x]
	}
	// Marching squares over the pixels' centres: from each edge point to the next.
	type spot struct{ x, y, way int } // way 0: between (x,y) and (x+1,y); 1: between (x,y) and (x,y+1)
	next := map[spot]spot{}
	for y := -1; y < h; y++ {
		for x := -1; x < w; x++ {
			sides := [4]spot{{x, y, 0}, {x + 1, y, 1}, {x, y + 1, 0}, {x, y, 1}} // top, right, bottom, left
			in := [4]bool{at(x, y) >= 0.5, at(x+1, y) >= 0.5, at(x+1, y+1) >= 0.5, at(x, y+1) >= 0.5}
			for i := range 4 { // from each corner that is in, walk with the inside to the right
				if in[i] && !in[(i+1)%4] { // the edge enters at side i
					j := i
					for range 4 {
						j = (j + 3) % 4
						if in[(j+1)%4] && !in[j] {
							break
						}
					}
					next[sides[i]] = sides[j]
				}
			}
		}
	}
	place := func(s spot) [2]float64 {
		a, x, y := at(s.x, s.y), float64(s.x)+0.5, float64(s.y)+0.5
		if s.way == 0 {
			return [2]float64{x + share(a, at(s.x+1, s.y)), y}
		}
		return [2]float64{x, y + share(a, at(s.x, s.y+1))}
	}
	var rings [][]float64
	for y := -1; y < h; y++ {
		for x := -1; x < w; x++ {
			for way := range 2 {
				start := spot{x, y, way}
				var ring [][2]float64
				for s, there := next[start]; there; s, there = next[start] {
					delete(next, start)
					ring = append(ring, place(start))
					start = s
				}
				if len(ring) > 60 {
					rings = append(rings, thinned(ring, 0.8))
				}
			}
		}
	}
	return rings
}

func share(a, b float64) float64 { return (0.5 - a) / (b - a) }

// thinned leaves out the points that lie within so many px of the line without them.
func thinned(ring [][2]float64, within float64) []float64 {
	keep := make([]bool, len(ring))
	var cut func(i, j int)
	cut = func(i, j int) {
		far, at := within, -1
		a, b := ring[i], ring[j]
		for k := i + 1; k < j; k++ {
			dx, dy, px, py := b[0]-a[0], b[1]-a[1], ring[k][0]-a[0], ring[k][1]-a[1]
			t := math.Max(0, math.Min(1, (px*dx+py*dy)/math.Max(dx*dx+dy*dy, 1e-9)))
			if d := math.Hypot(px-t*dx, py-t*dy); d > far {
				far, at = d, k
			}
		}
		if at >= 0 {
			keep[at] = true
			cut(i, at)
			cut(at, j)
		}
	}
	half := len(ring) / 2
	keep[0], keep[half] = true, true
	cut(0, half)
	cut(half, len(ring)-1)
	var flat []float64
	for i, p := range ring {
		if keep[i] {
			q := tenth(p)
			flat = append(flat, q[0], q[1])
		}
	}
	return flat
}
