package proportion

import "math"

// placed is where a place lies along a part, as far as is known.
type placed struct {
	place, along string
	known        bool
	why          string
	at           float64 // fraction of the part from its start
	u, uWidened  float64
}

type placeKey struct{ place, along string }

// placedAll gathers the readings of each place, in the order of their first readings.
func (s *solution) placedAll() []*placed {
	var all []*placed
	first := map[placeKey]*placed{}
	readings := map[*placed][]placing{}
	for _, p := range s.placings {
		key := placeKey{p.place, p.along}
		if first[key] == nil {
			first[key] = &placed{place: p.place, along: p.along}
			all = append(all, first[key])
		}
		readings[first[key]] = append(readings[first[key]], p)
	}
	for _, one := range all {
		s.place(one, readings[one])
	}
	return all
}

// place works out at = value / (part in the sitting's scale) for each reading that can
// tell, and their mean weighted by 1/variance, with the uncertainty of the law of
// propagation (JCGM 100:2008, 5.2): the part and the scale, which several readings may
// share, with their covariance.
func (s *solution) place(one *placed, readings []placing) {
	if readings[0].part < 0 {
		one.why = WhyNotRead
		return
	}
	g, part := s.index(one.along)
	var use []reach
	for _, p := range readings {
		sitting, joined := s.scaleIn(g, p.sitting)
		if !joined {
			continue
		}
		length, variance := g.expected(part, sitting)
		scale := exp(-length)
		use = append(use, reach{sitting: sitting, at: p.value * scale, own: p.u * scale, scale: variance})
	}
	if len(use) == 0 {
		one.why = WhyNotJoined
		return
	}
	one.mean(g, part, use)
}

// reach is one reading of a place, as a fraction of its part.
type reach struct {
	sitting        int
	at, own, scale float64 // own is u of the value alone, scale the variance of ln(part in its sitting)
	weight         float64 // its share of the mean
}

// weigh shares the mean out by 1/variance. All readings take the part's and the scale's
// variance at one and the same fraction, or the smaller of two would weigh more for no
// other reason than that it is smaller.
func weigh(use []reach) (total float64) {
	at, weights := 0.0, 0.0
	for _, r := range use {
		weight := 1 / float64(r.own*r.own)
		at, weights = at+float64(weight*r.at), weights+weight
	}
	at /= weights
	for i := range use {
		r := &use[i]
		r.weight = 1 / (float64(r.own*r.own) + float64(at*at*r.scale))
		total += r.weight
	}
	for i := range use {
		use[i].weight /= total
	}
	return total
}

// scaleIn is a sitting's index within a group; -1 for a ruler in a group that has mm.
func (s *solution) scaleIn(g *group, sitting int) (int, bool) {
	if s.side.Sittings[sitting].Method == Ruler {
		return -1, g.ruled
	}
	i, known := g.sittings[sitting]
	return i, known
}

func (one *placed) mean(g *group, part int, use []reach) {
	total := weigh(use)
	for _, r := range use {
		one.at += float64(r.weight * r.at)
	}
	own, chi2 := 0.0, 0.0
	lever := make([]float64, len(g.at)+1) // how much each sitting's scale moves the mean; the last is the ruler's
	for _, r := range use {
		own += float64(r.weight * r.own * r.weight * r.own)
		chi2 += float64(total * r.weight * (r.at - one.at) * (r.at - one.at))
		i := r.sitting
		if i < 0 {
			i = len(g.at)
		}
		lever[i] += float64(r.weight * r.at)
	}
	one.known = true
	one.u = math.Sqrt(own + g.shared(part, lever))
	one.uWidened = one.u * max(g.factor, birge(chi2, len(use)-1))
}

// shared is the variance that the part and the scales bring, each sitting's with its lever.
func (g *group) shared(part int, lever []float64) float64 {
	v, alone := make([]float64, len(g.parts)), 0.0
	for i, by := range lever {
		if by == 0 {
			continue
		}
		v[part] += by
		if i == len(g.at) {
			continue
		}
		alone += float64(by*by) / g.at[i].weight
		for j, p := range g.at[i].parts {
			v[p] -= float64(by * g.at[i].shares[j])
		}
	}
	return alone + g.variance(v)
}

// places are all places, as they are answered.
func (s *solution) places() []PlaceAt {
	all := []PlaceAt{}
	for _, one := range s.placedAll() {
		answer := PlaceAt{Place: one.place, Part: one.along, Why: one.why}
		if one.known {
			answer.At, answer.U, answer.UWidened = tidied(one.at), tidied(one.u), tidied(one.uWidened)
		}
		all = append(all, answer)
	}
	return all
}
