package form

import (
	"cmp"
	"math"
	"slices"

	"needlesight/pwa/engine/outline"
)

// rows is into how many slices the height is cut. A 200 mm animal is looked at every
// 0.8 mm; more changes no volume by 0.1 %.
const rows = 256

// view is one outline on a grid of square cells whose rows are the slices, the lowest
// first. All lengths in it are in cells.
type view struct {
	cols  int
	width float64        // from the leftmost point to the rightmost
	runs  [][][2]float64 // of each row: where the outline is entered and left, in cells from the left
	disc  []float64      // of each cell: its distance to the outline; 0 outside
	half  []float64      // of each cell: half the thickness there when the outline is blown up with balls; 0 outside
}

// grid is where an outline lies: its cells in mm, its low left corner, how many columns
// and rows.
type grid struct {
	cell, left, low float64
	cols, rows      int
}

// columns is how many cells a width takes, with one to spare on each side.
func columns(width, cell float64) int { return int(math.Ceil(width/cell)) + 2 }

// crossings tells where the rings cross the middle of each row and of each column, in
// cells, in order. One column is kept free on the left.
func (g grid) crossings(rings []outline.Ring) (across, up [][]float64) {
	across, up = make([][]float64, g.rows), make([][]float64, g.cols)
	on := func(p [2]float64) [2]float64 { return [2]float64{(p[0]-g.left)/g.cell + 1, (p[1] - g.low) / g.cell} }
	for _, ring := range rings {
		for i := range ring {
			a, b := on(ring[i]), on(ring[(i+1)%len(ring)])
			cross(across, a, b)
			cross(up, [2]float64{a[1], a[0]}, [2]float64{b[1], b[0]})
		}
	}
	for _, lines := range [][][]float64{across, up} {
		for _, at := range lines {
			slices.Sort(at)
		}
	}
	return across, up
}

// runsOf pairs where a row is entered and left.
func runsOf(across [][]float64) [][][2]float64 {
	runs := make([][][2]float64, len(across))
	for row, xs := range across {
		for i := 0; i+1 < len(xs); i += 2 {
			runs[row] = append(runs[row], [2]float64{xs[i], xs[i+1]})
		}
	}
	return runs
}

// rasterise puts rings on a grid of the usual number of rows, and blows them up.
func rasterise(rings []outline.Ring, g grid) *view {
	across, up := g.crossings(rings)
	low, high, _ := outline.Bounds(rings)
	v := &view{cols: g.cols, width: (high[0] - low[0]) / g.cell, runs: runsOf(across), half: make([]float64, rows*g.cols), disc: make([]float64, rows*g.cols)}
	v.blowUp(across, up)
	return v
}

// cross notes where an edge crosses the middle of each line of cells.
func cross(crossed [][]float64, a, b [2]float64) {
	if a[1] > b[1] {
		a, b = b, a
	}
	for row := max(0, int(math.Ceil(a[1]-0.5))); row < len(crossed) && float64(row)+0.5 < b[1]; row++ {
		share := (float64(row) + 0.5 - a[1]) / (b[1] - a[1])
		crossed[row] = append(crossed[row], a[0]+float64(share*(b[0]-a[0])))
	}
}

// inside marks the cells of a row whose middle lies in a run.
func (v *view) inside(row int, mark func(col int)) { within(v.runs[row], v.cols, mark) }

// within marks the cells whose middle lies in one of the runs.
func within(runs [][2]float64, cols int, mark func(col int)) {
	for _, run := range runs {
		for col := max(0, int(math.Ceil(run[0]-0.5))); col < cols && float64(col)+0.5 < run[1]; col++ {
			mark(col)
		}
	}
}

// blowUp fills half: the union of all balls whose discs fit into the outline. With D
// the distance of a cell to the outline, the half thickness at p is the root of the
// greatest D(c)^2 - |p-c|^2 over all centres c.
func (v *view) blowUp(across, up [][]float64) {
	n := rows * v.cols
	one, other := make([]float64, n), make([]float64, n)
	for row, at := range across {
		nearest(one[row*v.cols:], v.cols, 1, at)
	}
	for col, at := range up {
		nearest(other[col:], rows, v.cols, at)
	}
	e := newEnvelope(max(rows, v.cols))
	for col := range v.cols {
		e.along(one[col:], rows, v.cols)
	}
	for row := range rows {
		e.along(other[row*v.cols:], v.cols, 1)
	}
	far := float64(rows*rows + v.cols*v.cols)
	balls := make([]float64, n)
	for i := range balls {
		balls[i] = far
	}
	for row := range rows {
		v.inside(row, func(col int) {
			i := row*v.cols + col
			balls[i] = -min(one[i], other[i])
			v.disc[i] = math.Sqrt(-balls[i])
		})
	}
	for row := range rows {
		e.along(balls[row*v.cols:], v.cols, 1)
	}
	for col := range v.cols {
		e.along(balls[col:], rows, v.cols)
	}
	for row := range rows {
		v.inside(row, func(col int) { i := row*v.cols + col; v.half[i] = math.Sqrt(max(0, -balls[i])) })
	}
}

// nearest fills a line of n cells that lie step apart with the squared distance to the nearest of
// the crossings, which are sorted.
func nearest(f []float64, n, step int, at []float64) {
	k := 0
	for i := range n {
		x := float64(i) + 0.5
		for k+1 < len(at) && at[k+1]-x < x-at[k] {
			k++
		}
		d := 1e6
		if len(at) > 0 {
			d = at[k] - x
		}
		f[i*step] = float64(d * d)
	}
}

// envelope is the room that one pass of lowest works in.
type envelope struct {
	from   []int     // whose parabola is lowest
	until  []float64 // up to where
	before []float64
}

func newEnvelope(n int) *envelope {
	return &envelope{make([]int, n), make([]float64, n), make([]float64, n)}
}

// along does one line of n cells that lie step apart.
func (e *envelope) along(f []float64, n, step int) {
	for i := range n {
		e.before[i] = f[i*step]
	}
	k := -1
	for i := range n {
		at := math.Inf(-1)
		for k >= 0 {
			j := e.from[k]
			at = (e.before[i] + float64(i*i) - e.before[j] - float64(j*j)) / float64(2*(i-j))
			if k == 0 || at > e.until[k-1] {
				break
			}
			k--
		}
		if k >= 0 {
			e.until[k] = at
		}
		k++
		e.from[k], e.until[k] = i, math.Inf(1)
	}
	k = 0
	for i := range n {
		for e.until[k] < float64(i) {
			k++
		}
		d := i - e.from[k]
		f[i*step] = e.before[e.from[k]] + float64(d*d)
	}
}

// slice is what one row of a view says.
type slice struct {
	width   float64 // all runs together
	longest float64 // the longest run
	full    float64 // mean half thickness over the greatest: pi/4 where the section is round
	most    float64 // the greatest half thickness
}

func (v *view) slice(row int) slice {
	var s slice
	for _, run := range v.runs[row] {
		s.width += run[1] - run[0]
		s.longest = max(s.longest, run[1]-run[0])
	}
	sum, n := 0.0, 0
	v.inside(row, func(col int) {
		half := v.half[row*v.cols+col]
		sum, n, s.most = sum+half, n+1, max(s.most, half)
	})
	if n > 0 && s.most > 0 {
		s.full = sum / float64(n) / s.most
	}
	return s
}

// weightedMedian is the value below which half of the weight lies.
func weightedMedian(pairs [][2]float64) float64 {
	slices.SortFunc(pairs, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
	all := 0.0
	for _, p := range pairs {
		all += p[1]
	}
	below := 0.0
	for _, p := range pairs {
		if below += p[1]; below >= all/2 {
			return p[0]
		}
	}
	return 0
}
