package outline

// trace gives the rings round the pixels of a window that are in, in the photo's px. The shape
// is blurred a little and followed where it is one half, between pixels (marching squares), so
// that its edge is a line and no staircase.
func (win *window) trace() []Ring {
	w, h := win.w+4, win.h+4 // a frame of pixels that are out, so that each ring closes
	level := make([]float32, w*h)
	for y := range win.h {
		for x := range win.w {
			if win.in[y*win.w+x] {
				level[(y+2)*w+x+2] = 1
			}
		}
	}
	smooth3(level, w, h)
	next := map[int]int{}
	var starts []int
	for y := range h - 1 {
		for x := range w - 1 {
			starts = link(level, w, x, y, next, starts)
		}
	}
	var rings []Ring
	for _, at := range starts {
		var ring Ring
		for to, ok := next[at]; ok; to, ok = next[at] {
			delete(next, at)
			p := between(level, w, at)
			ring = append(ring, [2]float64{p[0] + float64(win.left) - 1.5, p[1] + float64(win.top) - 1.5})
			at = to
		}
		if len(ring) >= 3 {
			rings = append(rings, ring)
		}
	}
	return rings
}

// smooth3 is a blur over 3 x 3 px by the binomials 1 2 1, in place.
func smooth3(v []float32, w, h int) {
	run := func(start, step, n int) {
		last := v[start]
		for i := range n - 1 {
			at := start + i*step
			now := v[at]
			v[at] = (last + float32(2*now) + v[at+step]) / 4
			last = now
		}
	}
	for y := range h {
		run(y*w, 1, w)
	}
	for x := range w {
		run(x, w, h)
	}
}

// link notes how the line passes through the square whose top-left sample is (x,y): from the side where
// a walk round it clockwise comes in to the side where it goes out again. A side that is level
// has the number twice that of its first sample, an upright one that and 1.
func link(level []float32, w, x, y int, next map[int]int, starts []int) []int {
	o := y*w + x
	corner := [4]float32{level[o], level[o+1], level[o+w+1], level[o+w]}
	in := [4]bool{corner[0] > 0.5, corner[1] > 0.5, corner[2] > 0.5, corner[3] > 0.5}
	if in[0] == in[1] && in[1] == in[2] && in[2] == in[3] {
		return starts
	}
	side := [4]int{2 * o, 2*(o+1) + 1, 2 * (o + w), 2*o + 1}
	saddle := in[0] == in[2] && in[1] == in[3]
	joined := saddle && corner[0]+corner[1]+corner[2]+corner[3] > 2
	for k := range 4 {
		if in[k] || !in[(k+1)%4] {
			continue
		}
		out := (k + 1) % 4
		for !in[out] || in[(out+1)%4] {
			out = (out + 1) % 4
		}
		if joined { // the other way out: what is in stays in one
			out = (out + 2) % 4
		}
		next[side[k]] = side[out]
		starts = append(starts, side[k])
	}
	return starts
}

// between is where on a side the level is one half.
func between(level []float32, w, side int) [2]float64 {
	o := side / 2
	x, y := float64(o%w), float64(o/w)
	step := 1
	if side%2 == 1 {
		step = w
	}
	a, b := float64(level[o]), float64(level[o+step])
	t := (0.5 - a) / (b - a)
	if side%2 == 1 {
		return [2]float64{x, y + t}
	}
	return [2]float64{x + t, y}
}
