package proportion

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, within)
	}
}

func p[T any](v T) *T { return &v }

// asked reads a request or any part of one from JSON.
func asked[T any](t *testing.T, text string) T {
	t.Helper()
	var v T
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func solve(t *testing.T, text string) Response {
	t.Helper()
	answer, err := Solve(asked[Request](t, text))
	if err != nil {
		t.Fatal(err)
	}
	return answer
}

// A ratio of two counts: u(y)/y is the root of the sum of the squares of the relative
// uncertainties (JCGM 100:2008, 5.1.6).
func TestOneRatio(t *testing.T) {
	answer := solve(t, `{"sittings":[{"id":"s1","method":"sight"},{"id":"s2","method":"ruler"}],
		"readings":[{"id":"r1","sitting":"s1","part":"head","value":1,"u":0.03},{"id":"r2","sitting":"s1","part":"body","value":2.5,"u":0.08}],
		"ratios":[{"of":"body","to":"head"}]}`)
	near(t, "ratio", *answer.Ratios[0].Ratio, 2.5, 0)
	near(t, "u", *answer.Ratios[0].U, 2.5*math.Hypot(0.03, 0.032), 1e-12)
}

// The uncertainty that a reading has when none is given: sight.U for a count, the glass's
// two marks and the arm, a ruler's 0.7 mm.
func TestDefaultUncertainties(t *testing.T) {
	for _, c := range []struct {
		sitting, reading string
		u                float64 // of the ratio to a part of 100 that is all but exact
	}{
		{`"method":"sight"`, `"value":3.25`, math.Sqrt(1/16./12 + 4*0.025*0.025)},
		{`"method":"sight"`, `"value":3.25,"denominator":8`, math.Sqrt(1/64./12 + 4*0.025*0.025)},
		{`"method":"sight"`, `"value":3.27,"denominator":0`, math.Sqrt(0.01/12 + 4*0.025*0.025)},
		{`"method":"marks"`, `"value":312`, math.Hypot(math.Sqrt(2/12.), 312*20/600./math.Sqrt(3))},
		{`"method":"marks","arm_mm":500,"arm_off_mm":10`, `"value":312`, math.Hypot(math.Sqrt(2/12.), 312*10/500./math.Sqrt(3))},
		{`"method":"ruler"`, `"value":16.5`, 0.7},
		{`"method":"photo"`, `"value":16.5,"u":0.3`, 0.3},
	} {
		answer := solve(t, `{"sittings":[{"id":"s",`+c.sitting+`}],"readings":[{"id":"1","sitting":"s","part":"a",`+c.reading+`},
			{"id":"2","sitting":"s","part":"b","value":100,"u":0.001}],"ratios":[{"of":"a","to":"b"}]}`)
		near(t, c.sitting+c.reading, *answer.Ratios[0].U*100, c.u, c.u*1e-5)
	}
}

func TestGroupsAndJoins(t *testing.T) {
	answer := solve(t, `{"sittings":[{"id":"a","method":"sight"},{"id":"b","method":"sight"},{"id":"c","method":"ruler"},{"id":"d","method":"ruler"}],"readings":[
		{"id":"1","sitting":"a","part":"head","value":1,"u":0.025},{"id":"2","sitting":"a","part":"body","value":3},{"id":"3","sitting":"a","part":"leg","value":2},
		{"id":"4","sitting":"b","part":"ear","value":1,"u":0.025},{"id":"5","sitting":"b","part":"eye","value":0.5},
		{"id":"6","sitting":"c","part":"tail","value":30},{"id":"7","sitting":"d","part":"paw","value":10},
		{"id":"8","sitting":"a","part":"horn","place":"ring","value":10}],
		"ratios":[{"of":"head","to":"ear"},{"of":"head","to":"horn"},{"of":"tail","to":"paw"},{"of":"leg","to":"leg"}]}`)
	text, _ := json.Marshal([]any{answer.Groups, answer.Joins, answer.Widen, answer.Disagree})
	if want := `[[["body","head","leg"],["ear","eye"],["paw","tail"]],[{"part":"ear","in":"head"},{"part":"tail","in":"head"}],[],[]]`; string(text) != want {
		t.Errorf("%s, want %s", text, want)
	}
	if r := answer.Ratios; r[0].Why != WhyNotJoined || r[0].Ratio != nil || r[1].Why != WhyNotRead || *r[2].Ratio != 3 || *r[3].Ratio != 1 || *r[3].U != 0 {
		t.Errorf("%+v", answer.Ratios)
	}
	if eye, paw := answer.Parts[4], answer.Parts[5]; eye.Part != "eye" || eye.MM != nil || eye.Size != 0.5 || eye.Group != 1 || paw.MM == nil || *paw.MM != 10 || paw.U != 0.7 || paw.Readings != 1 {
		t.Errorf("%+v %+v", eye, paw)
	}
	if place := answer.Places[0]; place.At != nil || place.Why != WhyNotRead {
		t.Errorf("%+v", place)
	}
}

// Three repeats in one sitting and a unit: their weighted mean, by hand; chi^2/2 is
// 3.2, so the uncertainty is widened 1.79 times.
func TestRepeats(t *testing.T) {
	answer := solve(t, `{"sittings":[{"id":"s","method":"photo"}],"readings":[{"id":"0","sitting":"s","part":"unit","value":1,"u":0.01},
		{"id":"1","sitting":"s","part":"a","value":2,"u":0.02},{"id":"2","sitting":"s","part":"a","value":2.02,"u":0.0202},{"id":"3","sitting":"s","part":"a","value":2.08,"u":0.0416}],
		"ratios":[{"of":"a","to":"unit"}]}`)
	logs, weights := []float64{math.Log(2), math.Log(2.02), math.Log(2.08)}, []float64{1e4, 1e4, 2.5e3}
	mean, total, chi2 := 0.0, 0.0, 0.0
	for i, w := range weights {
		mean, total = mean+w*logs[i], total+w
	}
	mean /= total
	for i, w := range weights {
		chi2 += w * math.Pow(logs[i]-mean, 2)
	}
	ratio, factor := answer.Ratios[0], math.Max(1, math.Sqrt(chi2/2))
	near(t, "ratio", *ratio.Ratio, math.Exp(mean), 1e-11)
	near(t, "u", *ratio.U, math.Exp(mean)*math.Sqrt(1/total+1e-4), 1e-11)
	near(t, "u widened", *ratio.UWidened, *ratio.U*factor, 1e-11)
	if len(answer.Widen) != 1 || factor <= 1 {
		t.Fatal(answer.Widen, factor)
	}
	near(t, "factor", answer.Widen[0].Factor, factor, 1e-11)
}

// One of five holds has a slip of 30 % in one part: it is named, and nothing else is.
func TestSlipIsNamed(t *testing.T) {
	var req Request
	for i, id := range []string{"a", "b", "c", "d", "e"} {
		req.Sittings = append(req.Sittings, Sitting{ID: id, Method: Photo})
		for part, size := range map[string]float64{"head": 100, "body": 250, "tail": 180} {
			value := size * (1 + 0.004*float64((i+len(part)*int(size))%3-1))
			req.Readings = append(req.Readings, Reading{ID: id + part, Sitting: id, Part: part, Value: value, U: p(value / 100)})
		}
	}
	answer, err := Solve(req)
	if err != nil || len(answer.Disagree) != 0 {
		t.Fatal(answer.Disagree, err)
	}
	for i := range req.Readings {
		slip := req
		slip.Readings = append([]Reading(nil), req.Readings...)
		slip.Readings[i].Value *= 1.3
		slip.Readings[i].U = p(slip.Readings[i].Value / 100)
		answer, err := Solve(slip)
		if err != nil || len(answer.Disagree) != 1 || answer.Disagree[0].Reading != slip.Readings[i].ID {
			t.Fatalf("%s: %+v %v", slip.Readings[i].ID, answer.Disagree, err)
		}
		// what the others say of it, solved without it
		rest := slip
		rest.Readings = append(append([]Reading(nil), slip.Readings[:i]...), slip.Readings[i+1:]...)
		near(t, "how far", answer.Disagree[0].TimesU, deleted(t, rest, slip.Readings[i]), 1e-6)
	}
}

// A gross slip in a hold of three readings drags its neighbours along: at first they too
// lie beyond the limit, and once the slip is set aside they do not. The second slip,
// smaller and elsewhere, is found after the first.
func TestSlipDoesNotNameItsNeighbours(t *testing.T) {
	req := Request{Side: Side{Sittings: []Sitting{{ID: "few", Method: Photo}}}}
	read := func(sitting, part string, value, share float64) {
		req.Readings = append(req.Readings, Reading{ID: sitting + part, Sitting: sitting, Part: part, Value: value, U: p(value * share)})
	}
	for i := range 40 {
		id := string(rune('A' + i))
		req.Sittings = append(req.Sittings, Sitting{ID: id, Method: Photo})
		for j, part := range []string{"a", "b", "c", "d", "e", "f"} {
			read(id, part, float64(10*j+10)*(1+0.005*float64((i*7+j*j*3)%5-2)), 0.01)
		}
	}
	read("few", "a", 20, 0.01)
	read("few", "b", 40*1.5, 0.01) // some 35 u away
	read("few", "c", 60, 0.01)
	req.Readings[9].Value *= 1.1
	n, err := connect(req.Side, "")
	if err != nil {
		t.Fatal(err)
	}
	s, err := solved(n)
	if err != nil {
		t.Fatal(err)
	}
	g := s.groups[0]
	off, variance := g.residual(g.rows[len(g.rows)-3])
	if at := math.Abs(off) / math.Sqrt(variance) / g.factor; at < 4 {
		t.Fatalf("the neighbour lies only %.1f away, and shows nothing", at)
	}
	named := s.disagreeing(g)
	if len(named) != 2 || named[0].Reading != "fewb" || named[1].Reading != req.Readings[9].ID {
		t.Errorf("%+v", named)
	}
}

// When one slip is all the scatter there is, rounding must not hide it: with 40 holds
// that agree to the last digit, what is left of chi^2 without it is nothing.
func TestOnlySlipIsNamed(t *testing.T) {
	var req Request
	for i := range 40 {
		id := string(rune('A' + i))
		req.Sittings = append(req.Sittings, Sitting{ID: id, Method: Photo})
		for j, part := range []string{"a", "b", "c", "d", "e", "f"} {
			value := float64(10*j+10) * (1 + 0.005*float64(i%5-2))
			req.Readings = append(req.Readings, Reading{ID: id + part, Sitting: id, Part: part, Value: value, U: p(value / 100)})
		}
	}
	for i := range 60 {
		slip := req
		slip.Readings = append([]Reading(nil), req.Readings...)
		slip.Readings[i].Value *= 1.1
		answer, err := Solve(slip)
		if err != nil || len(answer.Disagree) != 1 || answer.Disagree[0].Reading != slip.Readings[i].ID {
			t.Fatalf("%s: %+v %v", slip.Readings[i].ID, answer.Disagree, err)
		}
	}
}

// deleted is the standardised deleted residual by its definition: solved without the
// reading, how far is it from what it should be.
func deleted(t *testing.T, rest Request, r Reading) float64 {
	t.Helper()
	n, err := connect(rest.Side, "")
	if err != nil {
		t.Fatal(err)
	}
	s, err := solved(n)
	if err != nil {
		t.Fatal(err)
	}
	g, part := s.index(r.Part)
	sitting, _ := s.scaleIn(g, n.sitAt[r.Sitting])
	y, variance := g.expected(part, sitting)
	share := *r.U / r.Value
	return math.Abs(math.Log(r.Value)-y) / math.Sqrt(variance+share*share) / g.factor
}

// Two holds of two parts that contradict each other: nothing tells which of the four
// readings is wrong, so all four are named.
func TestTwoHoldsNameEachOther(t *testing.T) {
	answer := solve(t, `{"sittings":[{"id":"a","method":"sight"},{"id":"b","method":"sight"}],"readings":[
		{"id":"1","sitting":"a","part":"head","value":1,"u":0.03},{"id":"2","sitting":"a","part":"body","value":2.5,"u":0.08},
		{"id":"3","sitting":"b","part":"head","value":1,"u":0.03},{"id":"4","sitting":"b","part":"body","value":3.5,"u":0.08}],"ratios":[]}`)
	if len(answer.Disagree) != 4 {
		t.Fatalf("%+v", answer.Disagree)
	}
	u := math.Sqrt(0.03*0.03*2 + math.Pow(0.08/2.5, 2) + math.Pow(0.08/3.5, 2))
	near(t, "times u", answer.Disagree[0].TimesU, math.Log(3.5/2.5)/u, 1e-9)
}

// Handbooks' two-sided points of the normal distribution: 1.960 at 5 %, 2.807 at 0.5 %,
// 3.291 at 0.1 %.
func TestFairLimit(t *testing.T) {
	for n, want := range map[int]float64{1: 1.960, 10: 2.807, 50: 3.291} {
		near(t, "limit", fairLimit(n), want, 0.0005)
	}
}

func TestPlaces(t *testing.T) {
	answer := solve(t, `{"sittings":[{"id":"a","method":"photo"},{"id":"b","method":"ruler"},{"id":"c","method":"photo"}],"readings":[
		{"id":"1","sitting":"a","part":"head","value":100,"u":2},{"id":"2","sitting":"a","part":"head","place":"eye","value":42,"u":1},
		{"id":"3","sitting":"a","part":"head","place":"nose","value":0,"u":1},{"id":"4","sitting":"c","part":"head","place":"ear","value":9,"u":1},
		{"id":"5","sitting":"a","part":"head","place":"eye","value":44,"u":1},{"id":"6","sitting":"b","part":"head","place":"ear","value":9,"u":1}]}`)
	eye, nose, ear := answer.Places[0], answer.Places[1], answer.Places[2]
	near(t, "eye", *eye.At, 0.43, 1e-4)
	// each is known to 1/100, and both to 2/100 of themselves for the head they share
	near(t, "u of the eye", *eye.U, math.Hypot(0.01/math.Sqrt2, 0.43*0.02), 1e-5)
	near(t, "nose", *nose.At, 0, 0)
	near(t, "u of the nose", *nose.U, 0.01, 1e-12)
	if ear.At != nil || ear.Why != WhyNotJoined {
		t.Errorf("%+v", ear)
	}
}

// Two sittings tell of a place, one of them with a rough reading of the part: the mean by
// the inverse variances, worked by hand, and widened since the two lie far apart.
func TestPlaceInTwoSittings(t *testing.T) {
	answer := solve(t, `{"sittings":[{"id":"a","method":"photo"},{"id":"b","method":"photo"}],"readings":[
		{"id":"1","sitting":"a","part":"head","value":100,"u":10},{"id":"2","sitting":"a","part":"head","place":"eye","value":40,"u":0.4},
		{"id":"3","sitting":"b","part":"head","value":100,"u":1},{"id":"4","sitting":"b","part":"head","place":"eye","value":50,"u":0.4}]}`)
	a, b := 1/(0.004*0.004+0.45*0.45*0.01), 1/(0.004*0.004+0.45*0.45*0.0001)
	mean := (0.4*a + 0.5*b) / (a + b)
	u := math.Sqrt(a*a*(0.004*0.004+0.4*0.4*0.01)+b*b*(0.004*0.004+0.5*0.5*0.0001)) / (a + b)
	chi2 := a*math.Pow(0.4-mean, 2) + b*math.Pow(0.5-mean, 2)
	eye := answer.Places[0]
	near(t, "at", *eye.At, mean, 1e-11)
	near(t, "u", *eye.U, u, 1e-11)
	near(t, "u widened", *eye.UWidened, u*math.Sqrt(chi2), 1e-11)
	if chi2 < 4 {
		t.Error("the two agree, and nothing is shown:", chi2)
	}
}

// Places read in several sittings, against the scatter of 4000 simulated animals.
func TestPlacesAgainstSimulation(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	const n = 4000
	var sum, squares, told float64
	for range n {
		reading := func(id, sitting, place string, value, u float64) Reading {
			return Reading{ID: id, Sitting: sitting, Part: "head", Place: place, Value: value + u*r.NormFloat64(), U: &u}
		}
		answer, err := Solve(Request{Side: Side{Sittings: []Sitting{{ID: "a", Method: Photo}, {ID: "b", Method: Photo}, {ID: "c", Method: Ruler}},
			Readings: []Reading{reading("1", "a", "", 100, 2), reading("2", "a", "eye", 40, 0.5), reading("3", "b", "", 50, 0.5), reading("4", "b", "eye", 20, 0.4),
				reading("5", "b", "eye", 20, 0.4), reading("6", "c", "", 30, 0.7), reading("7", "c", "eye", 12, 0.3)}}})
		if err != nil {
			t.Fatal(err)
		}
		sum, squares, told = sum+*answer.Places[0].At, squares+math.Pow(*answer.Places[0].At, 2), told+*answer.Places[0].U
	}
	mean := sum / n
	near(t, "mean", mean, 0.4, 0.001)
	near(t, "u over scatter", told/n/math.Sqrt(squares/n-mean*mean), 1, 0.04) // 4000 tell a scatter to 1.1 %
}

func TestTidy(t *testing.T) {
	for x, want := range map[float64]float64{2.4999999999999996: 2.5, 1. / 3: 0.333333333333, 1e-300: 1e-300, -7.7000000000000002: -7.7, 0: 0} {
		if got := tidy(x); got != want {
			t.Errorf("tidy(%v): %v, want %v", x, got, want)
		}
	}
}
