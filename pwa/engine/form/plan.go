package form

import (
	"math"

	"needlesight/pwa/engine/outline"
)

// sums is an outline from above, ready to tell how much of it lies in a rectangle: at
// (col, row) stands how many cells lie inside it to the left of col and below row.
type sums struct {
	cols, rows int
	at         []int
}

// sum puts the outline from above on a grid whose columns are those of the side and whose
// rows are those of the front. Cell is the size of a cell along each in mm.
func sum(rings []outline.Ring, low, cell [2]float64, cols, rows int) *sums {
	scaled := make([]outline.Ring, len(rings))
	for i, ring := range rings {
		for _, p := range ring {
			scaled[i] = append(scaled[i], [2]float64{(p[0] - low[0]) / cell[0], (p[1]-low[1])/cell[1] + 1})
		}
	}
	across, _ := grid{cell: 1, cols: cols, rows: rows}.crossings(scaled)
	s := &sums{cols, rows, make([]int, (cols+1)*(rows+1))}
	for row, runs := range runsOf(across) {
		line := make([]int, cols)
		within(runs, cols, func(col int) { line[col] = 1 })
		left := 0
		for col := range cols {
			left += line[col]
			s.at[(row+1)*(cols+1)+col+1] = s.at[row*(cols+1)+col+1] + left
		}
	}
	return s
}

// under is the area, in cells, of the outline from above inside all rectangles of a run
// of the side by a run of the front: nothing of a slice lies outside it.
func (s *sums) under(side, front [][2]float64) float64 {
	area := 0
	for _, x := range side {
		for _, y := range front {
			left, right := s.edge(x, s.cols)
			low, high := s.edge(y, s.rows)
			area += s.until(right, high) - s.until(left, high) - s.until(right, low) + s.until(left, low)
		}
	}
	return float64(area)
}

func (s *sums) edge(run [2]float64, n int) (from, to int) {
	return min(n, max(0, int(math.Round(run[0])))), min(n, max(0, int(math.Round(run[1]))))
}

func (s *sums) until(col, row int) int { return s.at[row*(s.cols+1)+col] }
