package proportion

import "math"

// difference is d of one part and how it depends on both sides' parts.
type difference struct {
	d            float64
	onS, onP     []float64 // d = onP·piece - onS·subject - offset
	u, uWidened  float64
	part, pieceP int
}

// noise is what rounding alone leaves of a difference of logarithms.
const noise = 1e-13

// judge tells whether one part is out.
func (c *comparison) judge(name string) PartVerdict {
	v := PartVerdict{Part: name, Verdict: Unknown, Nailed: c.nailed[name]}
	s, i := c.subject.index(name)
	p, j := c.piece.index(name)
	if s != nil {
		v.SubjectSize = tidied(exp(s.size[i]))
	}
	if p != nil && p.ruled {
		v.PieceMM = tidied(exp(p.size[j]))
	}
	if s != nil && c.from != "" && s == c.s {
		v.RatioSubject = tidied(exp(s.size[i] - dot(c.onS, s.size)))
		if t, known := c.target(i); known {
			v.TargetMM = tidied(exp(t.ln))
		}
	}
	if v.Why = c.missing(s, p); v.Why == "" {
		c.weigh(&v, c.difference(i, j))
	}
	return v
}

// missing says why a part cannot be compared, if so.
func (c *comparison) missing(s, p *group) string {
	switch {
	case s == nil:
		return NotReadOnSubject
	case p == nil:
		return NotReadOnPiece
	case c.from == FromSize && !p.ruled:
		return NoMillimetres
	case c.from == "" || s != c.s || p != c.p:
		return NotJoined
	}
	return ""
}

// difference is d of part i of the subject's group, j of the piece's.
func (c *comparison) difference(i, j int) difference {
	diff := difference{onS: minus(c.s.only(i), c.onS), onP: minus(c.p.only(j), c.onP), part: i, pieceP: j}
	diff.d = dot(diff.onP, c.p.size) - dot(diff.onS, c.s.size) - c.offset
	if math.Abs(diff.d) < noise {
		diff.d = 0
	}
	diff.u, diff.uWidened = c.spread(diff.onS, diff.onP)
	return diff
}

// spread is the standard uncertainty of a weighted sum over both sides, plain and widened.
func (c *comparison) spread(onS, onP []float64) (u, widened float64) {
	s, p := c.s.variance(onS), 0.0
	wide := float64(s * float64(c.s.factor*c.s.factor))
	if c.p != nil {
		p = c.p.variance(onP)
		wide += float64(p * float64(c.p.factor*c.p.factor))
	}
	return math.Sqrt(s + p), math.Sqrt(wide)
}

// weigh fills in what follows from the difference.
func (c *comparison) weigh(v *PartVerdict, diff difference) {
	v.D, v.UD, v.UDWidened = tidied(diff.d), tidied(diff.u), tidied(diff.uWidened)
	v.RatioPiece = tidied(exp(dot(diff.onP, c.p.size) - c.offset))
	v.AmountRatio = tidied(math.Abs(exp(diff.d) - 1))
	v.Verdict, v.Why = called(diff.d, diff.uWidened, c.req.Tolerance)
	if v.Verdict == Right && v.Part == c.part && c.from == FromPart {
		v.Why = Kept
	}
	if v.Verdict == Right && v.Nailed && c.from == FromNailed {
		v.Why = Nailed
	}
	if v.Verdict == TooRough {
		v.Repeat = c.repeat(diff)
	}
	c.amount(v, diff)
}

// called is the verdict on a difference.
func called(d, u, tolerance float64) (verdict, why string) {
	switch away := math.Abs(d); {
	case away > tolerance && away <= 2*u:
		return TooRough, RougherThanDifference
	case away <= tolerance && u > 2*tolerance:
		return TooRough, TooRoughForTolerance
	case away <= tolerance:
		return Right, WithinTolerance
	case d < 0:
		return Add, BeyondTolerance
	}
	return TakeIn, BeyondTolerance
}

// aim is a target in mm: its logarithm, and how that depends on both sides' parts.
type aim struct {
	ln       float64
	onS, onP []float64
}

// target is what part i of the subject's group should measure, when mm are known.
func (c *comparison) target(i int) (aim, bool) {
	t := aim{onS: minus(c.s.only(i), c.onS), onP: c.onP}
	switch {
	case c.basis == nominally:
		_, n := c.subject.index(c.req.Nominal.Part)
		t.onS, t.onP = minus(c.s.only(i), c.s.only(n)), make([]float64, len(c.p.parts))
		t.ln = ln(c.req.Nominal.MM) + dot(t.onS, c.s.size)
	case c.from == FromSize:
		t.ln = c.offset + dot(t.onS, c.s.size)
	case c.basis == ruled:
		t.ln = dot(t.onP, c.p.size) + dot(t.onS, c.s.size)
	default:
		return aim{}, false
	}
	return t, true
}

// amount turns a difference into mm. The amount piece - target depends on the target's
// logarithm t and on d as target x (e^d - 1), so by the law of propagation its
// uncertainty is that of (piece - target) t + piece d.
func (c *comparison) amount(v *PartVerdict, diff difference) {
	t, known := c.target(diff.part)
	if !known {
		return
	}
	target := exp(t.ln)
	piece := float64(target * exp(diff.d))
	out := piece - target
	onS, onP := make([]float64, len(t.onS)), make([]float64, len(t.onP))
	for i := range onS {
		onS[i] = float64(out*t.onS[i]) - float64(piece*diff.onS[i])
	}
	for i := range onP {
		onP[i] = float64(out*t.onP[i]) + float64(piece*diff.onP[i])
	}
	u, widened := c.spread(onS, onP)
	v.PieceMM, v.AmountMM, v.EachSideMM = tidied(piece), tidied(math.Abs(out)), tidied(math.Abs(out)/2)
	v.UMM, v.UMMWidened = tidied(u), tidied(widened)
}

// repeat finds the reading which, taken once more in its sitting and with its
// uncertainty, would lessen the variance of d most. A further reading of variance v
// lessens it by cov(d, reading)^2 / (v + var(reading)), the covariance and variance
// being those of what is known already (the update of least squares by one observation).
func (c *comparison) repeat(diff difference) *Repeat {
	var best *Repeat
	most := 0.0
	for _, side := range []struct {
		of string
		s  *solution
		g  *group
		on []float64
	}{{"subject", c.subject, c.s, diff.onS}, {"piece", c.piece, c.p, diff.onP}} {
		times := side.g.times(side.on)
		for _, r := range side.g.rows {
			cov := side.g.with(times, r.part, r.sitting)
			_, known := side.g.expected(r.part, r.sitting)
			gain := float64(side.g.factor*side.g.factor) * (cov * cov / (1/r.weight + known))
			if gain > most*(1+1e-9) {
				reading := side.s.side.Readings[r.reading]
				best, most = &Repeat{side.of, reading.ID, reading.Part}, gain
			}
		}
	}
	return best
}

// places compares where places lie, in fractions of their parts.
func (c *comparison) places() []PlaceVerdict {
	subject, piece := c.subject.placedAll(), c.piece.placedAll()
	onPiece := map[placeKey]*placed{}
	for _, p := range piece {
		onPiece[placeKey{p.place, p.along}] = p
	}
	all, seen := []PlaceVerdict{}, map[placeKey]bool{}
	for _, s := range subject {
		key := placeKey{s.place, s.along}
		seen[key] = true
		all = append(all, c.judgePlace(s, onPiece[key]))
	}
	for _, p := range piece {
		if !seen[placeKey{p.place, p.along}] {
			all = append(all, c.judgePlace(nil, p))
		}
	}
	return all
}

// judgePlace compares one place; one of the two may be nil.
func (c *comparison) judgePlace(s, p *placed) PlaceVerdict {
	v := PlaceVerdict{Verdict: Unknown}
	if s != nil {
		v.Place, v.Part = s.place, s.along
		if s.known {
			v.AtSubject = tidied(s.at)
		}
	}
	if p != nil {
		v.Place, v.Part = p.place, p.along
		if p.known {
			v.AtPiece = tidied(p.at)
		}
	}
	switch {
	case s == nil || s.why == WhyNotRead:
		v.Why = NotReadOnSubject
	case p == nil || p.why == WhyNotRead:
		v.Why = NotReadOnPiece
	case !s.known || !p.known:
		v.Why = NotJoined
	default:
		c.weighPlace(&v, s, p)
	}
	return v
}

func (c *comparison) weighPlace(v *PlaceVerdict, s, p *placed) {
	out := p.at - s.at
	if math.Abs(out) < noise {
		out = 0
	}
	u := math.Sqrt(float64(s.u*s.u) + float64(p.u*p.u))
	widened := math.Sqrt(float64(s.uWidened*s.uWidened) + float64(p.uWidened*p.uWidened))
	v.Verdict, v.Why = called(out, widened, c.req.Tolerance)
	if v.Verdict == Add || v.Verdict == TakeIn {
		v.Verdict = Move
	}
	switch {
	case out > 0:
		v.Toward = "start"
	case out < 0:
		v.Toward = "end"
	}
	if mm := c.judge(v.Part).PieceMM; mm != nil {
		v.MoveMM, v.UMM = tidied(math.Abs(out)**mm), tidied(u**mm)
	}
}
