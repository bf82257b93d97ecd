package outline

// The piece as a shape of whole pixels in its window: edge set, hairs taken off, holes kept.

// settle turns how likely each pixel is piece into a shape.
func (win *window) settle(contrast float32, piece func(x, y int) bool) {
	soft := smooth(win.likely, win.w, win.h)
	for limit := float32(weak); contrast < limit && limit > 2; limit /= 2 {
		soft = smooth(soft, win.w, win.h) // the weaker, the more pixels it takes to tell
		soft = smooth(soft, win.w, win.h)
	}
	at := rootOf(soft, win.w, win.h)
	for i, v := range soft {
		win.in[i] = v > at
	}
	win.offHairs()
	win.keepPiece(piece)
	win.fillSpecks()
}

// smooth is a blur over 5 x 5 px by the binomials 1 4 6 4 1.
func smooth(v []float32, w, h int) []float32 {
	out := make([]float32, len(v))
	line := make([]float32, max(w, h)+4)
	run := func(src, dst []float32, start, step, n int) {
		for i := range n {
			line[i+2] = src[start+i*step]
		}
		line[0], line[1], line[n+2], line[n+3] = line[2], line[2], line[n+1], line[n+1]
		for i := range n {
			dst[start+i*step] = (line[i] + line[i+4] + float32(4*(line[i+1]+line[i+3])) + float32(6*line[i+2])) / 16
		}
	}
	for y := range h {
		run(v, out, y*w, 1, w)
	}
	for x := range w {
		run(out, out, x, w, h)
	}
	return out
}

// rootOf is the likelihood at which the felt ends and the fuzz that stands off it begins. Of a bare edge that
// is one half. Fuzz covers part of the cloth beside it: as it covers a share c there, the likelihood
// goes from 1 to c across the edge, and is half-way at (1+c)/2. The share is read two
// pixels outside the place where the likelihood is one half.
func rootOf(soft []float32, w, h int) float32 {
	far := steps(soft, w, h)
	var beside, base float32
	n, m := float32(0), float32(0)
	for i, d := range far {
		switch {
		case d == 2 || d == 3:
			beside += soft[i]
			n++
		case d >= 14 && d < 18:
			base += soft[i]
			m++
		}
	}
	c := beside/max(1, n) - base/max(1, m)
	return 0.5 + float32(0.5*min(0.5, max(0, c)))
}

// steps tells for pixels below one half how many steps they are from one that is not,
// 0 for those that are not; beyond 20 they stay at 255.
func steps(soft []float32, w, h int) []uint8 {
	far := make([]uint8, len(soft))
	var front, next []int
	for i, v := range soft {
		if v <= 0.5 {
			far[i] = 255
			continue
		}
		x, y := i%w, i/w
		if x > 0 && soft[i-1] <= 0.5 || x < w-1 && soft[i+1] <= 0.5 || y > 0 && soft[i-w] <= 0.5 || y < h-1 && soft[i+w] <= 0.5 {
			front = append(front, i)
		}
	}
	for d := uint8(1); d <= 20; d++ {
		next = next[:0]
		for _, i := range front {
			x, y := i%w, i/w
			for _, j := range [4]int{i - 1, i + 1, i - w, i + w} {
				if x == 0 && j == i-1 || x == w-1 && j == i+1 || y == 0 && j == i-w || y == h-1 && j == i+w || far[j] != 255 {
					continue
				}
				far[j] = d
				next = append(next, j)
			}
		}
		front, next = next, front
	}
	return far
}

// offHairs takes off what a disc of 5 px does not fit into, but lets what is left grow
// back two pixels, so that points stay points.
func (win *window) offHairs() {
	was := append([]bool(nil), win.in...)
	win.shrink()
	win.grow(nil)
	win.grow(was)
	win.grow(was)
}

// shrink takes off two pixels all round: a disc of radius 2.
func (win *window) shrink() {
	src := append([]bool(nil), win.in...)
	w, h := win.w, win.h
	for y := range h {
		for x := range w {
			i := y*w + x
			if !src[i] {
				continue
			}
			if x < 2 || y < 2 || x >= w-2 || y >= h-2 {
				continue // a piece that runs out of the frame is not eaten there
			}
			win.in[i] = src[i-2] && src[i-1] && src[i+1] && src[i+2] && src[i-2*w] && src[i-w] && src[i+w] && src[i+2*w] &&
				src[i-w-1] && src[i-w+1] && src[i+w-1] && src[i+w+1]
		}
	}
}

// grow adds the disc of radius 2 round every pixel; with within, the four neighbours that lie in it.
func (win *window) grow(within []bool) {
	src := append([]bool(nil), win.in...)
	w, h := win.w, win.h
	disc := [...][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}, {-1, -1}, {1, -1}, {-1, 1}, {1, 1}, {-2, 0}, {2, 0}, {0, -2}, {0, 2}}
	most := len(disc)
	if within != nil {
		most = 4
	}
	for y := range h {
		for x := range w {
			i := y*w + x
			if !src[i] || x > 0 && x < w-1 && y > 0 && y < h-1 && src[i-1] && src[i+1] && src[i-w] && src[i+w] {
				continue
			}
			for _, d := range disc[:most] {
				u, v := x+d[0], y+d[1]
				if u >= 0 && v >= 0 && u < w && v < h && (within == nil || within[v*w+u]) {
					win.in[v*w+u] = true
				}
			}
		}
	}
}

// keepPiece keeps, of what hangs together, that which lies where the piece was found on the cells, if it
// is not a crumb.
func (win *window) keepPiece(piece func(x, y int) bool) {
	label, sizes, share := win.blobs(true, piece)
	most := 0
	for i, n := range sizes {
		if 2*share[i] > n {
			most = max(most, n)
		}
	}
	for i, l := range label {
		if l > 0 {
			n := sizes[l-1]
			win.in[i] = 4*share[l-1] > n && 200*n > most
		}
	}
}

// fillSpecks fills holes of a few pixels, which are shades in the fleece and no holes.
func (win *window) fillSpecks() {
	const least = 14
	label, sizes, rim := win.blobs(false, func(x, y int) bool {
		return x == win.left || y == win.top || x == win.left+win.w-1 || y == win.top+win.h-1
	})
	for i, l := range label {
		if l > 0 && sizes[l-1] < least && rim[l-1] == 0 {
			win.in[i] = true
		}
	}
}

// blobs labels what hangs together (by sides) of pixels that are in, or of those that are not: from 1, 0
// for the others. For each it gives the size, and how many of its pixels a test holds for.
func (win *window) blobs(in bool, test func(x, y int) bool) (label []int32, sizes, tested []int) {
	label = make([]int32, len(win.in))
	var open []int
	for i, v := range win.in {
		if v != in || label[i] != 0 {
			continue
		}
		l := int32(len(sizes) + 1)
		size, yes := 0, 0
		label[i] = l
		open = append(open[:0], i)
		for len(open) > 0 {
			k := open[len(open)-1]
			open = open[:len(open)-1]
			size++
			x, y := k%win.w, k/win.w
			if test(win.left+x, win.top+y) {
				yes++
			}
			for _, j := range [4]int{k - 1, k + 1, k - win.w, k + win.w} {
				if x == 0 && j == k-1 || x == win.w-1 && j == k+1 || j < 0 || j >= len(label) {
					continue
				}
				if win.in[j] == in && label[j] == 0 {
					label[j] = l
					open = append(open, j)
				}
			}
		}
		sizes, tested = append(sizes, size), append(tested, yes)
	}
	return label, sizes, tested
}
