package proportion

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// ruler makes a side of one ruler sitting: part, value and u in mm, thrice.
func ruler(what ...any) Side {
	side := Side{Sittings: []Sitting{{ID: "ruler", Method: Ruler}}}
	for i := 0; i < len(what); i += 3 {
		side.Readings = append(side.Readings, Reading{ID: fmt.Sprint("r", i/3), Sitting: "ruler", Part: what[i].(string), Value: what[i+1].(float64), U: p(what[i+2].(float64))})
	}
	return side
}

func ratios(t *testing.T, side Side, pairs ...string) []Ratio {
	t.Helper()
	req := Request{Side: side}
	for i := 0; i < len(pairs); i += 2 {
		req.Ratios = append(req.Ratios, Pair{pairs[i], pairs[i+1]})
	}
	answer, err := Solve(req)
	if err != nil {
		t.Fatal(err)
	}
	return answer.Ratios
}

// JCGM 100:2008, H.2: V = 4.999 V (u 0.0032), I = 19.661 mA (u 0.0095); without their
// correlation V/I = 254.260 ohm has u = 0.2039.
func TestGUMH2WithoutCorrelation(t *testing.T) {
	got := ratios(t, ruler("V", 4.999, 0.0032, "I", 0.019661, 0.0000095), "V", "I")[0]
	near(t, "V/I", *got.Ratio, 254.260, 0.0005)
	near(t, "u", *got.U, 0.2039, 0.00005)
}

// The same with r(V, I) = -0.36: u = 0.2366. Two lengths are anticorrelated when both
// are ratios that share a part, one above and one below the line: V = a/b, I = b/c.
// The relative variance of b is then -r u(V)/V u(I)/I; the rest belongs to a and c.
func TestGUMH2WithCorrelation(t *testing.T) {
	v, i := 0.0032/4.999, 0.0095/19.661
	b := 0.36 * v * i
	a, c := math.Sqrt(v*v-b), math.Sqrt(i*i-b)
	side := ruler("a", 4.999, 4.999*a, "b", 1., math.Sqrt(b), "c", 1/0.019661, c/0.019661)
	pairs := ratios(t, side, "a", "b", "b", "c")
	near(t, "u(V)", *pairs[0].U, 0.0032, 1e-12)
	near(t, "u(I)", *pairs[1].U*1000, 0.0095, 1e-12)

	n, err := connect(side, "")
	if err != nil {
		t.Fatal(err)
	}
	s, err := solved(n)
	if err != nil {
		t.Fatal(err)
	}
	quotient := []float64{1, -2, 1} // ln(V/I) = a - b - (b - c)
	value := exp(dot(quotient, s.groups[0].size))
	near(t, "V/I", value, 254.260, 0.0005)
	near(t, "u", value*math.Sqrt(s.groups[0].variance(quotient)), 0.2366, 0.00005)
}

// Vitruvius, De architectura III.1: of a man's height the face is a tenth, the head an
// eighth, the foot a sixth, the forearm a quarter; a third of the face is the nose. Each
// as a count of its own unit.
func TestVitruvius(t *testing.T) {
	side := Side{}
	count := func(unit, part string, times float64) {
		id := fmt.Sprint("s", len(side.Sittings))
		side.Sittings = append(side.Sittings, Sitting{ID: id, Method: Sight})
		side.Readings = append(side.Readings,
			Reading{ID: id + "u", Sitting: id, Part: unit, Value: 1, U: p(0.025)}, Reading{ID: id + "r", Sitting: id, Part: part, Value: times})
	}
	count("face", "height", 10)
	count("head", "height", 8)
	count("foot", "height", 6)
	count("forearm", "height", 4)
	count("nose", "face", 3)
	for i, got := range ratios(t, side, "head", "face", "height", "head", "forearm", "foot", "height", "nose") {
		near(t, got.Of+"/"+got.To, *got.Ratio, []float64{1.25, 8, 1.5, 30}[i], 1e-11)
	}
}

// FCI standard 166, German shepherd dog: withers 60 to 65 cm, the trunk 10 to 17 %
// longer than that, the head about 40 % of it. At 62.5 cm: trunk 68.8 to 73.1 cm, head 25 cm.
func TestGermanShepherd(t *testing.T) {
	for _, c := range []struct{ longer, trunkMM float64 }{{1.10, 688}, {1.17, 731}} {
		subject := Side{Sittings: []Sitting{{ID: "s", Method: Sight}}, Readings: []Reading{
			{ID: "1", Sitting: "s", Part: "head", Value: 1}, {ID: "2", Sitting: "s", Part: "withers", Value: 2.5}, {ID: "3", Sitting: "s", Part: "trunk", Value: 2.5 * c.longer}}}
		answer, err := Compare(CompareRequest{Subject: subject, Piece: ruler("tail", 100., 1.), Scale: Scale{Mode: AtSize, Part: "withers", MM: 625}, Tolerance: 0.04})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "head", *answer.Parts[0].TargetMM, 250, 1e-9)
		near(t, "trunk", *answer.Parts[2].TargetMM, c.trunkMM, 0.5)
	}
}

// Common practice, worked out: 42.0 over 16.5 mm, u 0.7 mm each, is 2.545 +/- 0.116.
// 0.7 mm is also what a ruler reading has when nothing is said.
func TestRulerExample(t *testing.T) {
	side := ruler("body", 42., 0.7, "head", 16.5, 0.7)
	for range 2 {
		got := ratios(t, side, "body", "head")[0]
		near(t, "ratio", *got.Ratio, 2.545, 0.0005)
		near(t, "u", *got.U, 0.116, 0.0005)
		side.Readings[0].U, side.Readings[1].U = nil, nil
	}
}

// 342 penguins of three species (testdata/penguins.md): the ratio of bill length to bill
// depth, each bird solved for itself, has the mean and scatter of the published figures;
// and all birds of a species as sittings of one network, each reading to 1 %, have their
// geometric mean, and a Birge ratio that is their scatter over what 1 % allows.
func TestPenguins(t *testing.T) {
	file, err := os.Open("testdata/penguins.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil || len(records) != 343 {
		t.Fatal(len(records), err)
	}
	each, all := map[string][]float64{}, map[string]Side{}
	for i, bird := range records[1:] {
		length, _ := strconv.ParseFloat(bird[1], 64)
		depth, _ := strconv.ParseFloat(bird[2], 64)
		each[bird[0]] = append(each[bird[0]], *ratios(t, ruler("length", length, 0.1, "depth", depth, 0.1), "length", "depth")[0].Ratio)
		side, id := all[bird[0]], fmt.Sprint(i)
		side.Sittings = append(side.Sittings, Sitting{ID: id, Method: Photo})
		side.Readings = append(side.Readings, Reading{ID: id + "l", Sitting: id, Part: "length", Value: length, U: p(length / 100)},
			Reading{ID: id + "d", Sitting: id, Part: "depth", Value: depth, U: p(depth / 100)})
		all[bird[0]] = side
	}
	for species, want := range map[string]struct{ mean, sd float64 }{"Adelie": {2.1197, 0.1546}, "Chinstrap": {2.6538, 0.1469}, "Gentoo": {3.1756, 0}} {
		mean, sd := stat.MeanStdDev(each[species], nil)
		near(t, species, mean, want.mean, 0.00005)
		if want.sd != 0 {
			near(t, species+" sd", sd, want.sd, 0.00005)
		}
		logs := make([]float64, len(each[species]))
		for i, ratio := range each[species] {
			logs[i] = math.Log(ratio)
		}
		mean, sd = stat.MeanStdDev(logs, nil)
		answer, err := Solve(Request{Side: all[species], Ratios: []Pair{{"length", "depth"}}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, species+" geometric", *answer.Ratios[0].Ratio, math.Exp(mean), 1e-9)
		near(t, species+" Birge", answer.Widen[0].Factor, sd/(0.01*math.Sqrt2), 1e-9)
		near(t, species+" widened", *answer.Ratios[0].UWidened, math.Exp(mean)*sd/math.Sqrt(float64(len(logs))), 1e-9)
	}
}

// randomSide is a network of so many parts, sittings and readings, about one in five of
// the sittings a ruler's when there may be rulers; readings as a true animal gives them
// with a noise of their own u, times blur.
func randomSide(r *rand.Rand, parts, sittings, readings int, rulers bool, blur float64) Side {
	var side Side
	size, scale := make([]float64, parts), make([]float64, sittings)
	for i := range size {
		size[i] = r.NormFloat64()
	}
	for i := range sittings {
		method := Photo
		scale[i] = r.NormFloat64()
		if rulers && r.IntN(5) == 0 {
			method, scale[i] = Ruler, 0
		}
		side.Sittings = append(side.Sittings, Sitting{ID: fmt.Sprint("s", i), Method: method})
	}
	for i := range readings {
		part, sitting := r.IntN(parts), r.IntN(sittings)
		share := 0.01 + 0.07*r.Float64()
		value := math.Exp(size[part] + scale[sitting] + blur*share*r.NormFloat64())
		side.Readings = append(side.Readings, Reading{ID: fmt.Sprint("r", i), Sitting: fmt.Sprint("s", sitting), Part: fmt.Sprintf("p%02d", part), Value: value, U: p(share * value)})
	}
	return side
}

// full is a network as one linear system: a column for each part and each unknown scale.
type full struct {
	design *mat.Dense
	right  *mat.VecDense
	column []int // of each sitting; -1 for a ruler
	best   mat.VecDense
	cov    *mat.Dense
	rank   int
}

// outside solves a network by gonum's singular value decomposition: all unknowns at
// once, no elimination, no normal equations.
func outside(t *testing.T, n *network) *full {
	t.Helper()
	f := &full{}
	unknowns := len(n.parts)
	for _, s := range n.side.Sittings {
		f.column = append(f.column, -1)
		if s.Method != Ruler {
			f.column[len(f.column)-1] = unknowns
			unknowns++
		}
	}
	f.design, f.right = mat.NewDense(len(n.rows), unknowns, nil), mat.NewVecDense(len(n.rows), nil)
	for i, row := range n.rows {
		r := n.side.Readings[row.reading]
		root := r.Value / *r.U
		line := f.line(row.part, row.sitting)
		line.ScaleVec(root, line)
		f.design.SetRow(i, line.RawVector().Data)
		f.right.SetVec(i, root*math.Log(r.Value))
	}
	var svd mat.SVD
	if !svd.Factorize(f.design, mat.SVDFull) {
		t.Fatal("no decomposition")
	}
	f.rank = svd.Rank(1e-10)
	svd.SolveVecTo(&f.best, f.right, f.rank)
	var v mat.Dense
	svd.VTo(&v)
	f.cov = mat.NewDense(unknowns, unknowns, nil)
	for k, sigma := range svd.Values(nil)[:f.rank] {
		f.cov.RankOne(f.cov, 1/(sigma*sigma), v.ColView(k), v.ColView(k))
	}
	return f
}

// line is what a reading of a part in a sitting should be, in the unknowns; sitting -1 is a ruler.
func (f *full) line(part, sitting int) *mat.VecDense {
	_, unknowns := f.design.Dims()
	line := mat.NewVecDense(unknowns, nil)
	line.SetVec(part, 1)
	if sitting >= 0 && f.column[sitting] >= 0 {
		line.SetVec(f.column[sitting], 1)
	}
	return line
}

// same checks a weighted sum of the unknowns and its variance.
func (f *full) same(t *testing.T, what string, y, variance float64, line *mat.VecDense) {
	t.Helper()
	near(t, what, y, mat.Dot(line, &f.best), 1e-9)
	near(t, "variance of "+what, variance, mat.Inner(line, f.cov, line), 1e-9)
}

// Random networks, whole and apart, against gonum: estimates and covariances of every
// ratio and of every reading agree to 1e-9, and with a full rank the QR decomposition
// says the same.
func TestRandomNetworksAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	apart, checked, byQR := 0, 0, 0
	for range 200 {
		n, err := connect(randomSide(r, 2+r.IntN(9), 1+r.IntN(6), 2+r.IntN(40), r.IntN(2) == 0, 1), "")
		if err != nil {
			t.Fatal(err)
		}
		s, err := solved(n)
		if err != nil {
			t.Fatal(err)
		}
		f := outside(t, n)
		if len(s.groups) > 1 {
			apart++
		}
		for _, g := range s.groups {
			checked += sameRatios(t, g, f)
		}
		for _, row := range n.rows {
			g, i := s.index(n.parts[row.part])
			sitting, _ := s.scaleIn(g, row.sitting)
			y, variance := g.expected(i, sitting)
			f.same(t, "a reading", y, variance, f.line(row.part, row.sitting))
		}
		if _, unknowns := f.design.Dims(); f.rank == unknowns {
			sameByQR(t, s, f)
			byQR++
		}
	}
	if apart < 10 || checked < 500 || byQR < 10 {
		t.Error("too little was checked:", apart, "networks apart,", checked, "ratios,", byQR, "by QR")
	}
}

func sameRatios(t *testing.T, g *group, f *full) (checked int) {
	t.Helper()
	for i, a := range g.parts {
		for j, b := range g.parts[:i] {
			contrast, line := minus(g.only(i), g.only(j)), f.line(a, -1)
			line.SetVec(b, -1)
			f.same(t, "a ratio", dot(contrast, g.size), g.variance(contrast), line)
			checked++
		}
		if g.ruled {
			f.same(t, "a size", g.size[i], g.cov[i][i], f.line(a, -1))
		}
	}
	return checked
}

func sameByQR(t *testing.T, s *solution, f *full) {
	t.Helper()
	var qr mat.QR
	qr.Factorize(f.design)
	var x mat.VecDense
	if err := qr.SolveVecTo(&x, false, f.right); err != nil {
		t.Fatal(err)
	}
	for part, name := range s.parts {
		g, i := s.index(name)
		near(t, "a size by QR", g.size[i], x.AtVec(part), 1e-9)
	}
}
