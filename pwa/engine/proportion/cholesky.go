package proportion

import "math"

// square makes an n by n matrix of zeros.
func square(n int) [][]float64 {
	m, all := make([][]float64, n), make([]float64, n*n)
	for i := range m {
		m[i] = all[i*n : (i+1)*n]
	}
	return m
}

// decompose overwrites the lower triangle of a symmetric, positive definite matrix with
// its Cholesky factor; false when it is not positive definite.
func decompose(a [][]float64) bool {
	for i, row := range a {
		for j := 0; j <= i; j++ {
			rest := row[j] - dot(row[:j], a[j][:j])
			if j < i {
				row[j] = rest / a[j][j]
			} else if rest > 0 {
				row[i] = math.Sqrt(rest)
			} else {
				return false
			}
		}
	}
	return true
}

// inverseOf is the inverse of the matrix whose Cholesky factor is l, which it overwrites
// with the factor's own inverse.
func inverseOf(l [][]float64) [][]float64 {
	n := len(l)
	for j := range n { // column by column, from the top
		l[j][j] = 1 / l[j][j]
		for i := j + 1; i < n; i++ {
			sum := 0.0
			for k := j; k < i; k++ {
				sum += float64(l[i][k] * l[k][j])
			}
			l[i][j] = -sum / l[i][i]
		}
	}
	inverse := square(n)
	for i := range n {
		for j := 0; j <= i; j++ {
			sum := 0.0
			for k := i; k < n; k++ {
				sum += float64(l[k][i] * l[k][j])
			}
			inverse[i][j], inverse[j][i] = sum, sum
		}
	}
	return inverse
}
