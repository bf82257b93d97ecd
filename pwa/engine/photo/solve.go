package photo

import "math"

// smallest gives the eigenvector of the smallest eigenvalue of a symmetric 9 by 9 matrix,
// and the eigenvalues from small to large, by Jacobi's cyclic rotations (Jacobi 1846; as in
// Golub and Van Loan, Matrix Computations, 8.5).
func smallest(a [9][9]float64) (vector [9]float64, values [9]float64) {
	var v [9][9]float64
	for i := range v {
		v[i][i] = 1
	}
	for range 60 {
		off, all := 0.0, 0.0
		for i := range a {
			for j := range a {
				all += float64(a[i][j] * a[i][j])
				if i != j {
					off += float64(a[i][j] * a[i][j])
				}
			}
		}
		if off <= 1e-30*all {
			break
		}
		for p := range 8 {
			for q := p + 1; q < 9; q++ {
				rotate(&a, &v, p, q)
			}
		}
	}
	order := [9]int{0, 1, 2, 3, 4, 5, 6, 7, 8}
	for i := range order { // nine numbers: put the smallest first, then the next
		for j := i + 1; j < 9; j++ {
			if a[order[j]][order[j]] < a[order[i]][order[i]] {
				order[i], order[j] = order[j], order[i]
			}
		}
		values[i] = max(a[order[i]][order[i]], 0)
	}
	for i := range vector {
		vector[i] = v[i][order[0]]
	}
	return vector, values
}

// rotate makes a[p][q] nought, and turns v along.
func rotate(a, v *[9][9]float64, p, q int) {
	if a[p][q] == 0 {
		return
	}
	theta := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := 1 / (math.Abs(theta) + math.Sqrt(float64(theta*theta)+1))
	if theta < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(float64(t*t)+1)
	s := float64(t * c)
	mix := func(x, y float64) (float64, float64) {
		return float64(c*x) - float64(s*y), float64(s*x) + float64(c*y)
	}
	for k := range 9 {
		a[k][p], a[k][q] = mix(a[k][p], a[k][q])
	}
	for k := range 9 {
		a[p][k], a[q][k] = mix(a[p][k], a[q][k])
	}
	for k := range 9 {
		v[k][p], v[k][q] = mix(v[k][p], v[k][q])
	}
}

// eliminate solves a x = b for several columns b at once, by Gauss's elimination with the
// largest pivot of each column; b becomes x. False when a has no inverse.
func eliminate(a [][]float64, b [][]float64) bool {
	n := len(a)
	for col := range n {
		best := col
		for row := col + 1; row < n; row++ {
			if math.Abs(a[row][col]) > math.Abs(a[best][col]) {
				best = row
			}
		}
		pivot := a[best][col]
		if !(math.Abs(pivot) > 1e-300) || math.IsInf(pivot, 0) {
			return false
		}
		a[col], a[best], b[col], b[best] = a[best], a[col], b[best], b[col]
		for row := range n {
			if row == col {
				continue
			}
			f := a[row][col] / pivot
			if f == 0 {
				continue
			}
			for k := col; k < n; k++ {
				a[row][k] -= float64(f * a[col][k])
			}
			for k := range b[row] {
				b[row][k] -= float64(f * b[col][k])
			}
		}
	}
	for row := range n {
		for k := range b[row] {
			b[row][k] /= a[row][row]
		}
	}
	return true
}

// table makes n rows of m noughts.
func table(n, m int) [][]float64 {
	rows, all := make([][]float64, n), make([]float64, n*m)
	for i := range rows {
		rows[i] = all[i*m : (i+1)*m]
	}
	return rows
}
