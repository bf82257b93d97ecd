package proportion

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"needlesight/pwa/engine/fault"
)

// randomPhotos is a random network in which some of the photos have a known scale, off
// by about what is said of it.
func randomPhotos(r *rand.Rand, parts, sittings, readings int) Side {
	side := randomSide(r, parts, sittings, readings, true, 1)
	inMM := map[string]float64{}
	for i, s := range side.Sittings {
		if s.Method == Photo && r.IntN(2) == 0 {
			share := 0.002 + 0.03*r.Float64()
			side.Sittings[i].ScaleU, inMM[s.ID] = p(share), math.Exp(share*r.NormFloat64())
		}
	}
	// Anew, as what a scale near 1 makes of a part's true size.
	size := map[string]float64{}
	for i, reading := range side.Readings {
		if off, ok := inMM[reading.Sitting]; ok {
			if size[reading.Part] == 0 {
				size[reading.Part] = math.Exp(r.NormFloat64())
			}
			share := *reading.U / reading.Value
			value := size[reading.Part] * off * math.Exp(share*r.NormFloat64())
			side.Readings[i].Value, side.Readings[i].U = value, p(share*value)
		}
	}
	return side
}

// augmented is the network as one linear system, in which each known scale is a row of
// its own that says: its logarithm is 0, to within its uncertainty.
func augmented(t *testing.T, n *network) *full {
	t.Helper()
	f := outside(t, n)
	_, unknowns := f.design.Dims()
	for i, s := range n.side.Sittings {
		if s.ScaleU == nil {
			continue
		}
		row := mat.NewDense(1, unknowns, nil)
		row.Set(0, f.column[i], 1 / *s.ScaleU)
		var taller mat.Dense
		taller.Stack(f.design, row)
		f.design = &taller
		f.right = mat.NewVecDense(f.right.Len()+1, append(f.right.RawVector().Data, 0))
	}
	f.solve(t)
	return f
}

// solve finds the best fit and its covariance anew, by the singular values.
func (f *full) solve(t *testing.T) {
	t.Helper()
	var svd mat.SVD
	if !svd.Factorize(f.design, mat.SVDFull) {
		t.Fatal("no decomposition")
	}
	f.rank = svd.Rank(1e-10)
	f.best.Reset()
	svd.SolveVecTo(&f.best, f.right, f.rank)
	var v mat.Dense
	svd.VTo(&v)
	f.cov.Zero()
	for k, sigma := range svd.Values(nil)[:f.rank] {
		f.cov.RankOne(f.cov, 1/(sigma*sigma), v.ColView(k), v.ColView(k))
	}
}

// Random networks with scales known to within a share, against gonum's decompositions of
// the augmented system: estimates and covariances of every ratio, size, reading and
// known scale agree to 1e-9, and so does the sum of squares that Birge's ratio rests on.
func TestKnownScalesAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	scales, checked, byQR, whole := 0, 0, 0, 0
	for range 200 {
		n, err := connect(randomPhotos(r, 2+r.IntN(9), 1+r.IntN(6), 2+r.IntN(40)), "")
		if err != nil {
			t.Fatal(err)
		}
		s, err := solved(n)
		if err != nil {
			t.Fatal(err)
		}
		f := augmented(t, n)
		for _, g := range s.groups {
			checked += sameRatios(t, g, f)
			for sitting, i := range g.sittings {
				if !g.ruled || g.known[i] == 0 {
					continue
				}
				_, unknowns := f.design.Dims()
				line := mat.NewVecDense(unknowns, nil)
				line.SetVec(f.column[sitting], 1)
				f.same(t, "a scale", g.at[i].ln, 1/g.at[i].weight+g.at[i].inner, line)
				scales++
			}
		}
		for _, row := range n.rows {
			g, i := s.index(n.parts[row.part])
			sitting, _ := s.scaleIn(g, row.sitting)
			y, variance := g.expected(i, sitting)
			f.same(t, "a reading", y, variance, f.line(row.part, row.sitting))
		}
		if len(s.groups) == 1 {
			sameSquares(t, s.groups[0], f)
			whole++
		}
		if _, unknowns := f.design.Dims(); f.rank == unknowns {
			sameByQR(t, s, f)
			byQR++
		}
	}
	if scales < 100 || checked < 500 || byQR < 10 || whole < 50 {
		t.Error("too little was checked:", scales, "scales,", checked, "ratios,", byQR, "by QR,", whole, "whole")
	}
}

// sameSquares checks the degrees of freedom and the sum of squared residuals of a network
// that is all one group. (A known scale of a photo without readings adds one to both the
// rows and the rank.)
func sameSquares(t *testing.T, g *group, f *full) {
	t.Helper()
	rows, _ := f.design.Dims()
	var off mat.VecDense
	off.MulVec(f.design, &f.best)
	off.SubVec(&off, f.right)
	if free := rows - f.rank; g.free != free {
		t.Error("degrees of freedom:", g.free, "for", free)
	}
	near(t, "chi^2", g.chi2(g.rows), mat.Dot(&off, &off), 1e-8)
}

// JCGM 100:2008, 5.2.2, example: ten resistors of 1000 ohm, each compared with the same
// standard of u = 100 milliohm, the comparisons themselves all but exact; in a row they
// have u = 1 ohm, and not the 0.32 ohm of uncorrelated ones. As lengths on one photo: the
// scale is the standard.
func TestGUMOneStandardForAll(t *testing.T) {
	side := Side{Sittings: []Sitting{{ID: "photo", Method: Photo, ScaleU: p(0.1 / 1000)}}}
	for i := range 10 {
		side.Readings = append(side.Readings, Reading{ID: fmt.Sprint("r", i), Sitting: "photo", Part: fmt.Sprint("p", i), Value: 1000, U: p(1000 * MinShare)})
	}
	n, err := connect(side, "")
	if err != nil {
		t.Fatal(err)
	}
	s, err := solved(n)
	if err != nil {
		t.Fatal(err)
	}
	all := make([]float64, 10)
	for i := range all {
		all[i] = 1000 // what the sum gains for one more of the part's logarithm
	}
	near(t, "u of ten in a row", math.Sqrt(s.groups[0].variance(all)), math.Sqrt(1*1+10*0.01*0.01), 1e-9)
	// Over one another the standard is gone.
	near(t, "u of a ratio", *ratios(t, side, "p0", "p1")[0].U, MinShare*math.Sqrt2, 1e-9)
}

// Common practice: a card gives the scale to 0.5 %. A photo's 100 mm over a ruler's 100 mm is 1 to
// within all three uncertainties, and two parts of one photo to within two.
func TestPhotoBesideRuler(t *testing.T) {
	side := ruler("body", 100., 0.7)
	side.Sittings = append(side.Sittings, Sitting{ID: "photo", Method: Photo, ScaleU: p(0.005)})
	side.Readings = append(side.Readings, Reading{ID: "a", Sitting: "photo", Part: "head", Value: 100, U: p(0.4)}, Reading{ID: "b", Sitting: "photo", Part: "tail", Value: 50, U: p(0.4)})
	got := ratios(t, side, "head", "body", "head", "tail")
	near(t, "head/body", *got[0].U, math.Sqrt(0.007*0.007+0.005*0.005+0.004*0.004), 1e-12)
	near(t, "head/tail", *got[1].U, 2*math.Sqrt(0.004*0.004+0.008*0.008), 1e-12)
	answer, err := Solve(Request{Side: side})
	if err != nil {
		t.Fatal(err)
	}
	if len(answer.Groups) != 1 || len(answer.Joins) != 0 {
		t.Error("a photo of known scale is not joined to the ruler:", answer.Groups)
	}
	for _, part := range answer.Parts {
		if part.MM == nil {
			t.Error(part.Part, "is not in mm")
		}
	}
}

// A photo of known scale fixes millimetres as a ruler does: the same verdicts, the scale's
// uncertainty in what is held against a size and not in what is held against a part.
func TestCompareByPhoto(t *testing.T) {
	subject := ruler("body", 200., 0.1, "head", 80., 0.1, "tail", 100., 0.1)
	byRuler := ruler("body", 100., 0.5, "head", 44., 0.5, "tail", 50., 0.5)
	byPhoto := ruler("body", 100., 0.5, "head", 44., 0.5, "tail", 50., 0.5)
	byPhoto.Sittings[0] = Sitting{ID: "ruler", Method: Photo, ScaleU: p(0.01)}
	for _, scale := range []Scale{{Mode: AtSize, Part: "body", MM: 100}, {Mode: KeepPart, Part: "body"}, {Mode: LeastWork}} {
		ask := CompareRequest{Subject: subject, Piece: byRuler, Scale: scale, Tolerance: 0.04}
		a, err := Compare(ask)
		if err != nil {
			t.Fatal(err)
		}
		ask.Piece = byPhoto
		b, err := Compare(ask)
		if err != nil {
			t.Fatal(err)
		}
		for i, part := range a.Parts {
			other := b.Parts[i]
			if other.Verdict != part.Verdict || other.AmountMM == nil || other.PieceMM == nil {
				t.Errorf("%s, %s: by photo %+v", scale.Mode, part.Part, other)
				continue
			}
			near(t, part.Part, *other.AmountMM, *part.AmountMM, 1e-9)
			shared := 0.0
			if scale.Mode == AtSize {
				shared = 0.01
			}
			near(t, "u of "+part.Part, *other.UD, math.Hypot(*part.UD, shared), 1e-12)
		}
	}
	free := byPhoto
	free.Sittings = []Sitting{{ID: "ruler", Method: Photo}}
	answer, err := Compare(CompareRequest{Subject: subject, Piece: free, Scale: Scale{Mode: AtSize, Part: "body", MM: 100}, Tolerance: 0.04})
	if err != nil || answer.Parts[0].Why != NoMillimetres {
		t.Error("a photo without a scale has millimetres:", answer.Parts, err)
	}
}

// A place on a photo of known scale, its part measured with a ruler: at = 30/100, and its
// uncertainty by hand (JCGM 100:2008, 5.1.6: relative variances of a quotient add up).
func TestPlaceByKnownScale(t *testing.T) {
	side := ruler("body", 100., 0.7)
	side.Sittings = append(side.Sittings, Sitting{ID: "photo", Method: Photo, ScaleU: p(0.02)})
	side.Readings = append(side.Readings,
		Reading{ID: "e", Sitting: "photo", Part: "body", Place: "eye", Value: 30, U: p(0.6)}, Reading{ID: "h", Sitting: "photo", Part: "head", Value: 40, U: p(0.4)})
	answer, err := Solve(Request{Side: side})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "at", *answer.Places[0].At, 0.3, 1e-12)
	near(t, "u", *answer.Places[0].U, 0.3*math.Sqrt(0.02*0.02+0.02*0.02+0.007*0.007), 1e-12)
}

func TestKnownScaleRefuses(t *testing.T) {
	photo := func(change func(*Sitting, *Reading)) error {
		s, r := Sitting{ID: "a", Method: Photo, ScaleU: p(0.01)}, Reading{ID: "r", Sitting: "a", Part: "head", Value: 10, U: p(0.1)}
		change(&s, &r)
		_, err := Solve(Request{Side: Side{Sittings: []Sitting{s}, Readings: []Reading{r}}})
		return err
	}
	if err := photo(func(*Sitting, *Reading) {}); err != nil {
		t.Error(err)
	}
	refused(t, "a ruler's scale", photo(func(s *Sitting, _ *Reading) { s.Method = Ruler }), fault.ConflictingFields, "sittings[0].scale_u")
	refused(t, "a needle's scale", photo(func(s *Sitting, _ *Reading) { s.Method = Sight }), fault.ConflictingFields, "sittings[0].scale_u")
	for _, wrong := range []float64{0, -1, 1e-6, 1.5, math.NaN(), math.Inf(1)} {
		refused(t, fmt.Sprint(wrong), photo(func(s *Sitting, _ *Reading) { s.ScaleU = p(wrong) }), fault.OutOfRange, "sittings[0].scale_u")
	}
	refused(t, "no u", photo(func(_ *Sitting, r *Reading) { r.U = nil }), fault.MissingField, "readings[0].u")
}
