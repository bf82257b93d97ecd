package proportion

import "math"

// MaxNamed is how many rounds of naming a group goes through.
const MaxNamed = 10

// disagreeing names the readings that the rest of their group contradicts, by
// standardised deleted residuals (R. D. Cook, S. Weisberg, Residuals and Influence in
// Regression, 1982, 2.2): how far a reading lies from what all the others say, over the
// standard uncertainty of that distance. When the others scatter more than they should
// among themselves, by their own Birge ratio, the distance counts for less by as much.
//
// The farthest is named when it is beyond fairLimit for the number of readings that any
// other checks; then it is set aside and the rest are looked at again, so that one
// slip does not put its neighbours in the wrong. Readings that lie equally far because
// nothing tells which of them is wrong (two holds of two parts) are named together.
// Nothing is taken out of the answer's figures: only a hand strikes a reading out.
func (s *solution) disagreeing(g *group) []Disagreement {
	named, seen := []Disagreement{}, map[int]bool{}
	rows, f, free := append([]row(nil), g.rows...), g.fit, g.free
	for range MaxNamed {
		far, times := f.farthest(rows, free)
		if len(far) == 0 {
			break
		}
		for _, i := range far {
			if r := s.side.Readings[rows[i].reading]; !seen[rows[i].reading] {
				seen[rows[i].reading] = true
				named = append(named, Disagreement{r.ID, r.Part, r.Sitting, tidy(times)})
			}
		}
		rows = append(rows[:far[0]], rows[far[0]+1:]...)
		free--
		var ok bool
		if f, ok = fitted(rows, len(g.parts), g.known, g.ruled); !ok || free < 1 {
			break
		}
	}
	return named
}

// farthest gives the readings that lie farthest from what the others say, and by how
// many standard uncertainties, if that is beyond the fair limit.
func (f *fit) farthest(rows []row, free int) (far []int, times float64) {
	if free < 1 {
		return nil, 0
	}
	chi2, checked, away := f.chi2(rows), 0, make([]float64, len(rows))
	for i, r := range rows {
		off, variance := f.residual(r)
		if variance == 0 {
			continue
		}
		checked++
		square := float64(off*off) / variance
		away[i] = math.Sqrt(square) / birge(max(0, chi2-square), free-1)
		times = max(times, away[i])
	}
	if checked == 0 || times <= fairLimit(checked) {
		return nil, 0
	}
	for i, one := range away {
		if one > times*(1-1e-9) {
			far = append(far, i)
		}
	}
	return far, times
}
