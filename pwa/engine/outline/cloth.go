package outline

import "math"

// What a cell is known to be before anything is worked out.
const (
	unknown = iota
	apart   // the card, and what a tap says is not the piece
	wanted  // a tap on the piece
)

// scan is what is worked out on the cells of one photo.
type scan struct {
	*cells
	known []uint8
	light []float32 // how bright the cloth is there: what a lightness is divided by
	plain []feel    // the cells' feel with the light divided out
	cloth mixture
}

// clothFloor are the least standard deviations of cloth, pieceFloor those of a piece.
var (
	clothFloor = feel{0.9, 0.6, 0.6, 1.2}
	pieceFloor = feel{2.5, 1.5, 1.5, 1.8}
)

// rim tells whether a cell lies in the frame's rim, which is taken to be mostly cloth.
func (s *scan) rim(x, y int) bool {
	wide := max(2, min(s.w, s.h)/14)
	return x < wide || y < wide || x >= s.w-wide || y >= s.h-wide
}

// fitLight fits a surface of the second order to the logarithm of the lightness of cells for
// which use is true, so that single cells far off have no say (Tukey's biweight).
func (s *scan) fitLight(use func(i int) bool) {
	const terms = 6
	shape := func(i int) [terms]float64 {
		u := 2*(float64(i%s.w)+0.5)/float64(s.w) - 1
		v := 2*(float64(i/s.w)+0.5)/float64(s.h) - 1
		return [terms]float64{1, u, v, u * u, u * v, v * v}
	}
	var chosen []int
	for i := range s.feel {
		if s.known[i] == unknown && use(i) {
			chosen = append(chosen, i)
		}
	}
	step := max(1, len(chosen)/3000)
	var beta [terms]float64
	scale := 0.0
	for round := range 6 {
		var a [terms][terms + 1]float64
		var offs []float64
		for k := 0; k < len(chosen); k += step {
			i := chosen[k]
			f := shape(i)
			y := math.Log(float64(max(1, s.feel[i][0])))
			off := y
			for j := range f {
				off -= float64(beta[j] * f[j])
			}
			offs = append(offs, math.Abs(off))
			weight := 1.0
			if round > 0 {
				r := off / (4.7 * scale)
				if r*r >= 1 {
					continue
				}
				weight = (1 - float64(r*r)) * (1 - float64(r*r))
			}
			for j := range f {
				for l := range f {
					a[j][l] += float64(weight * f[j] * f[l])
				}
				a[j][terms] += float64(weight * f[j] * y)
			}
		}
		beta = solve6(a)
		scale = max(0.004, 1.4826*median(offs))
		if round == 0 {
			scale = 0.1
		}
	}
	for i := range s.light {
		f := shape(i)
		at := 0.0
		for j := range f {
			at += float64(beta[j] * f[j])
		}
		s.light[i] = float32(math.Exp(at) / 80)
	}
}

// solve6 solves the normal equations, with a little ridge on all but the constant.
func solve6(a [6][7]float64) [6]float64 {
	ridge := float64(1e-4 * a[0][0])
	for i := range a {
		a[i][i] += ridge + 1e-12
	}
	for i := range a {
		for j := range a {
			if j == i {
				continue
			}
			f := a[j][i] / a[i][i]
			for k := i; k < 7; k++ {
				a[j][k] -= float64(f * a[i][k])
			}
		}
	}
	var x [6]float64
	for i := range x {
		x[i] = a[i][6] / a[i][i]
	}
	return x
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	// By halves around a pivot; v is the caller's own to shuffle.
	low, high, k := 0, len(v)-1, len(v)/2
	for low < high {
		pivot := v[(low+high)/2]
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		if k <= j {
			high = j
		} else if k >= i {
			low = i
		} else {
			break
		}
	}
	return v[k]
}

// evenOut divides the light out of the cells.
func (s *scan) evenOut() {
	for i, v := range s.feel {
		l := s.light[i]
		s.plain[i] = feel{v[0] / l, v[1] / l, v[2] / l, v[3]}
	}
}

// learnCloth learns the cloth's colours from cells for which use is true.
func (s *scan) learnCloth(use func(i int) bool, bells int) {
	s.cloth = learn(s.some(use, 4000), bells, 0.04, clothFloor)
}

// some takes at most about so many of the cells for which use is true, evenly.
func (s *scan) some(use func(i int) bool, most int) []feel {
	var all []feel
	for i := range s.plain {
		if use(i) {
			all = append(all, s.plain[i])
		}
	}
	step := max(1, (len(all)+most-1)/most)
	kept := all[:0]
	for i := 0; i < len(all); i += step {
		kept = append(kept, all[i])
	}
	return kept
}

// boxes averages over squares of 2r+1 cells, in place; beyond the frame is nothing.
func boxes(v []float32, w, h, r int) {
	line := make([]float32, max(w, h))
	over := 1 / float32(2*r+1)
	run := func(start, step, n int) {
		sum := float32(0)
		for i := range n {
			line[i] = v[start+i*step]
		}
		for i := range min(r, n) {
			sum += line[i]
		}
		for i := range n {
			if i+r < n {
				sum += line[i+r]
			}
			if i-r-1 >= 0 {
				sum -= line[i-r-1]
			}
			v[start+i*step] = sum * over
		}
	}
	for y := range h {
		run(y*w, 1, w)
	}
	for x := range w {
		run(x, w, h)
	}
}
