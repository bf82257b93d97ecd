package proportion

import "math"

// fit is the least-squares solution of a connected group: the logarithms of its parts'
// sizes and of its sittings' scales, with their covariance. When nothing in it is in mm,
// its first part is 1 by definition.
type fit struct {
	size []float64   // ln of each part
	cov  [][]float64 // covariance of size
	own  []float64   // the weight of each part's own readings
	at   []scale     // of each sitting
}

// scale is a sitting's. Its estimate is what its readings are above their parts, on
// weighted average, so its errors follow from theirs: shares of each part's error, and
// 1/weight that is its own. What is known of it beforehand counts among them as a reading
// of something whose logarithm is 0.
type scale struct {
	ln, weight float64
	known      float64 // the part of weight that comes from knowing the scale beforehand
	parts      []int
	shares     []float64 // of weight, by parts
	carried    []float64 // cov times shares, by all parts of the group
	inner      float64   // shares times carried
}

// fitted solves the normal equations. Every scale occurs in the readings of one sitting
// only and is eliminated at once (Schur complement); what is left is a matrix over the
// parts, built from positive terms alone, so that nothing cancels. It fails when the
// weights are too unlike for the arithmetic.
func fitted(rows []row, parts int, known []float64, ruled bool) (*fit, bool) {
	f := &fit{size: make([]float64, parts), own: make([]float64, parts), at: make([]scale, len(known))}
	for i, weight := range known {
		f.at[i].weight, f.at[i].known = weight, weight
	}
	normal, right := square(parts), make([]float64, parts)
	weighted := make([]float64, len(known)) // sum of weight times y
	for _, r := range rows {
		f.own[r.part] += r.weight
		right[r.part] += float64(r.weight * r.y)
		if r.sitting < 0 {
			normal[r.part][r.part] += r.weight
			continue
		}
		f.at[r.sitting].add(r)
		weighted[r.sitting] += float64(r.weight * r.y)
	}
	for i := range f.at {
		s := &f.at[i]
		s.ln = weighted[i] / s.weight // the mean reading, until the parts are known
		s.eliminate(normal, right)
	}
	if !f.solve(normal, right, ruled) {
		return nil, false
	}
	for i := range f.at {
		f.at[i].finish(f)
	}
	return f, true
}

// add counts a reading in; repeats of one part in one sitting add up.
func (s *scale) add(r row) {
	s.weight += r.weight
	for i, part := range s.parts {
		if part == r.part {
			s.shares[i] += r.weight
			return
		}
	}
	s.parts, s.shares = append(s.parts, r.part), append(s.shares, r.weight)
}

// eliminate takes the sitting's scale out of the normal equations. Its shares are still weights.
func (s *scale) eliminate(normal [][]float64, right []float64) {
	for i, p := range s.parts {
		right[p] -= float64(s.shares[i] * s.ln)
		normal[p][p] += float64(s.shares[i] * (s.known / s.weight)) // a tie to what is held at 0
		for j, q := range s.parts[:i] {
			tie := s.shares[i] * s.shares[j] / s.weight
			normal[p][p] += tie
			normal[q][q] += tie
			normal[p][q] -= tie
			normal[q][p] -= tie
		}
	}
	for i := range s.shares {
		s.shares[i] /= s.weight
	}
}

// solve finds the sizes and their covariance; without a ruler the first part is held at 1.
func (f *fit) solve(normal [][]float64, right []float64, ruled bool) bool {
	held := 1
	if ruled {
		held = 0
	}
	free := len(normal) - held
	part := make([][]float64, free)
	for i := range part {
		part[i] = normal[i+held][held:]
	}
	if !decompose(part) {
		return false
	}
	inverse := inverseOf(part)
	f.cov = square(len(normal))
	for i, line := range inverse {
		copy(f.cov[i+held][held:], line)
		f.size[i+held] = dot(line, right[held:])
	}
	return true
}

// finish works out the sitting's scale once the parts are known.
func (s *scale) finish(f *fit) {
	s.carried = make([]float64, len(f.size))
	for i, p := range s.parts {
		s.ln -= float64(s.shares[i] * f.size[p])
		for q, c := range f.cov[p] {
			s.carried[q] += float64(s.shares[i] * c)
		}
	}
	for i, p := range s.parts {
		s.inner += float64(s.shares[i] * s.carried[p])
	}
}

// expected is what a reading of this part in this sitting (-1: with a ruler) should be,
// in logarithms, and the variance of that.
func (f *fit) expected(part, sitting int) (y, variance float64) {
	if sitting < 0 {
		return f.size[part], f.cov[part][part]
	}
	s := &f.at[sitting]
	return f.size[part] + s.ln, max(0, f.cov[part][part]-2*s.carried[part]+s.inner) + 1/s.weight
}

// residual is how far a reading is from what all of them together say, and the variance
// of that: 0 for a reading that nothing else checks.
func (f *fit) residual(r row) (off, variance float64) {
	y, known := f.expected(r.part, r.sitting)
	if variance = 1/r.weight - known; variance < 1e-9/r.weight {
		variance = 0
	}
	return r.y - y, variance
}

// chi2 is the weighted sum of the squared residuals, those of known scales too.
func (f *fit) chi2(rows []row) float64 {
	sum := 0.0
	for _, r := range rows {
		off, _ := f.residual(r)
		sum += float64(r.weight * float64(off*off))
	}
	for _, s := range f.at {
		sum += float64(s.known * float64(s.ln*s.ln))
	}
	return sum
}

// variance is that of a weighted sum of the parts' logarithms.
func (f *fit) variance(weights []float64) float64 {
	return max(0, dot(weights, f.times(weights)))
}

// times is the covariance matrix times a vector.
func (f *fit) times(v []float64) []float64 {
	product := make([]float64, len(v))
	for i, x := range v {
		if x != 0 {
			for j, c := range f.cov[i] {
				product[j] += float64(x * c)
			}
		}
	}
	return product
}

// with is the covariance of the weighted sum whose times() is given, and what a reading
// of this part in this sitting is expected to be.
func (f *fit) with(times []float64, part, sitting int) float64 {
	c := times[part]
	if sitting >= 0 {
		s := &f.at[sitting]
		for i, p := range s.parts {
			c -= float64(s.shares[i] * times[p])
		}
	}
	return c
}

// birge is the factor by which the readings scatter more than they should, or 1.
func birge(chi2 float64, free int) float64 {
	if free < 1 {
		return 1
	}
	return max(1, math.Sqrt(chi2/float64(free)))
}
