package outline

import "math"

// bell is one normal distribution of a mixture.
type bell struct {
	mean  feel
	slant [10]float32 // the inverse of the covariance: the upper half, row by row
	cost  float32     // ln of the covariance's determinant, less twice ln of its share
	// toward is slant times the mean without its roughness, and pull the mean times that: for the depth
	// of shade that fits best.
	toward feel
	pull   float32
	share  float32
}

// off is the squared distance of d from 0, in standard deviations.
func (b *bell) off(d feel) float32 {
	s := &b.slant
	return float32(d[0]*(float32(s[0]*d[0])+float32(2*(float32(s[1]*d[1])+float32(s[2]*d[2])+float32(s[3]*d[3]))))) +
		float32(d[1]*(float32(s[4]*d[1])+float32(2*(float32(s[5]*d[2])+float32(s[6]*d[3]))))) +
		float32(d[2]*(float32(s[7]*d[2])+float32(2*s[8]*d[3]))) + float32(s[9]*d[3]*d[3])
}

// mixture is a few bells that together say which colours a thing has.
type mixture []bell

// shadedCost is -2 ln of the likelihood of a feel, up to a constant, by the bell that fits best, where
// each may stand in shade that leaves it from least to all of its lightness. Shade costs something, since it is spread over many depths and is rare.
func (m mixture) shadedCost(v feel, least, price float32) float32 {
	best := float32(math.MaxFloat32)
	for i := range m {
		b := &m[i]
		rough := v[3] - b.mean[3]
		k := (float32(b.toward[0]*v[0]) + float32(b.toward[1]*v[1]) + float32(b.toward[2]*v[2]) + float32(b.toward[3]*rough)) / b.pull
		k = min(1, max(least, k))
		d := feel{v[0] - float32(k*b.mean[0]), v[1] - float32(k*b.mean[1]), v[2] - float32(k*b.mean[2]), rough}
		extra := price
		if deep := (1 - k) * 20; deep < 1 { // the first 5 % are nothing out of the ordinary
			extra *= deep
		}
		best = min(best, b.off(d)+b.cost+extra)
	}
	return best
}

// learn fits at most k bells to samples, by parting them among the bells that fit best,
// over and over. Bells with less than the share few are dropped. The floors are the least
// standard deviations.
func learn(samples []feel, k int, few float32, floor feel) mixture {
	if len(samples) == 0 {
		return nil
	}
	owner := make([]uint8, len(samples))
	partAround(samples, farApart(samples, k), owner, floor)
	var m mixture
	for range 6 {
		m = bellsOf(samples, owner, k, floor)
		for i, v := range samples {
			best := float32(math.MaxFloat32)
			for j := range m {
				b := &m[j]
				d := feel{v[0] - b.mean[0], v[1] - b.mean[1], v[2] - b.mean[2], v[3] - b.mean[3]}
				if cost := b.off(d) + b.cost; cost < best {
					best, owner[i] = cost, uint8(j)
				}
			}
		}
	}
	kept := m[:0]
	for _, b := range m {
		if b.share >= few {
			kept = append(kept, b)
		}
	}
	return kept
}

// farApart chooses k samples far from each other, the first near the mean.
func farApart(samples []feel, k int) []feel {
	var mean feel
	for _, v := range samples {
		for j := range mean {
			mean[j] += v[j] / float32(len(samples))
		}
	}
	near := make([]float32, len(samples))
	for i := range near {
		near[i] = math.MaxFloat32
	}
	chosen := []feel{mean}
	for len(chosen) < k {
		last, best, at := chosen[len(chosen)-1], float32(-1), 0
		for i, v := range samples {
			var d float32
			for j := range v {
				d += float32((v[j] - last[j]) * (v[j] - last[j]))
			}
			near[i] = min(near[i], d)
			// Of every 7th alone, so that not every outlier founds a bell.
			if i%7 == 0 && near[i] > best {
				best, at = near[i], i
			}
		}
		chosen = append(chosen, samples[at])
	}
	return chosen
}

// partAround gives each sample to the nearest of the centres, a few rounds of k-means.
func partAround(samples, centres []feel, owner []uint8, floor feel) {
	for range 4 {
		sum := make([]feel, len(centres))
		count := make([]float32, len(centres))
		for i, v := range samples {
			best := float32(math.MaxFloat32)
			for j, c := range centres {
				var d float32
				for k := range v {
					d += float32((v[k] - c[k]) * (v[k] - c[k]))
				}
				if d < best {
					best, owner[i] = d, uint8(j)
				}
			}
			o := owner[i]
			for k := range v {
				sum[o][k] += v[k]
			}
			count[o]++
		}
		for j := range centres {
			for k := range centres[j] {
				if count[j] > 0 {
					centres[j][k] = sum[j][k] / count[j]
				}
			}
		}
	}
}

// bellsOf makes a bell of the samples of each owner; owners of next to none are left out.
func bellsOf(samples []feel, owner []uint8, k int, floor feel) mixture {
	var m mixture
	for j := range k {
		var mean [4]float64
		n := 0.
		for i, v := range samples {
			if int(owner[i]) == j {
				n++
				for a := range v {
					mean[a] += float64(v[a])
				}
			}
		}
		if n < 3 {
			continue
		}
		for a := range mean {
			mean[a] /= n
		}
		var cov [4][4]float64
		for i, v := range samples {
			if int(owner[i]) != j {
				continue
			}
			for a := range v {
				for b := a; b < 4; b++ {
					cov[a][b] += (float64(v[a]) - mean[a]) * (float64(v[b]) - mean[b]) / n
				}
			}
		}
		for a := range cov {
			cov[a][a] += float64(floor[a] * floor[a])
		}
		m = append(m, newBell(mean, cov, n/float64(len(samples))))
	}
	return m
}

// newBell turns a covariance (its upper half) into a bell, by Cholesky's factor.
func newBell(mean [4]float64, cov [4][4]float64, share float64) bell {
	var low, inv [4][4]float64
	det := 0.0
	for i := range 4 {
		for j := 0; j <= i; j++ {
			sum := cov[j][i]
			for k := range j {
				sum -= float64(low[i][k] * low[j][k])
			}
			if i == j {
				low[i][i] = math.Sqrt(max(sum, 1e-6))
				det += float64(2 * math.Log(low[i][i]))
			} else {
				low[i][j] = sum / low[j][j]
			}
		}
	}
	for c := range 4 { // the factor's inverse
		for i := c; i < 4; i++ {
			sum := 0.0
			if i == c {
				sum = 1
			}
			for k := c; k < i; k++ {
				sum -= float64(low[i][k] * inv[k][c])
			}
			inv[i][c] = sum / low[i][i]
		}
	}
	b := bell{cost: float32(det - float64(2*math.Log(share))), share: float32(share)}
	at := 0
	var full [4][4]float32
	for i := range 4 {
		b.mean[i] = float32(mean[i])
		for j := i; j < 4; j++ {
			sum := 0.0
			for k := j; k < 4; k++ {
				sum += float64(inv[k][i] * inv[k][j])
			}
			b.slant[at] = float32(sum)
			full[i][j], full[j][i] = float32(sum), float32(sum)
			at++
		}
	}
	for i := range 4 {
		b.toward[i] = float32(full[i][0]*b.mean[0]) + float32(full[i][1]*b.mean[1]) + float32(full[i][2]*b.mean[2])
	}
	b.pull = float32(b.toward[0]*b.mean[0]) + float32(b.toward[1]*b.mean[1]) + float32(b.toward[2]*b.mean[2])
	return b
}
