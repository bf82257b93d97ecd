package proportion

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"needlesight/pwa/engine/fault"
)

// drawnSide is any side of at most 6 parts, 4 sittings and 24 readings, slips and all.
func drawnSide(t *rapid.T, name string) Side {
	seed := rapid.Uint64().Draw(t, name)
	r := rand.New(rand.NewPCG(seed, 1))
	return randomSide(r, rapid.IntRange(2, 6).Draw(t, name+" parts"), rapid.IntRange(1, 4).Draw(t, name+" sittings"), rapid.IntRange(2, 24).Draw(t, name+" readings"), rapid.Bool().Draw(t, name+" rulers"), rapid.Float64Range(0, 3).Draw(t, name+" blur"))
}

func allPairs(side Side) (pairs []Pair) {
	seen := map[string]bool{}
	for _, r := range side.Readings {
		if !seen[r.Part] {
			seen[r.Part] = true
			for of := range seen {
				pairs = append(pairs, Pair{of, r.Part})
			}
		}
	}
	return pairs
}

// Another length of arm, another photo: a sitting whose readings are all so many times
// as great changes no ratio and no uncertainty.
func TestRescalingASittingChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := Request{Side: drawnSide(t, "side")}
		req.Ratios = allPairs(req.Side)
		before, err := Solve(req)
		if err != nil {
			t.Fatal(err)
		}
		which, by := rapid.IntRange(0, len(req.Sittings)-1).Draw(t, "sitting"), rapid.Float64Range(0.1, 10).Draw(t, "times")
		if req.Sittings[which].Method == Ruler {
			return
		}
		for i, r := range req.Readings {
			if r.Sitting == req.Sittings[which].ID {
				req.Readings[i].Value, req.Readings[i].U = r.Value*by, p(*r.U*by)
			}
		}
		after, err := Solve(req)
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range before.Ratios {
			b := after.Ratios[i]
			if (a.Ratio == nil) != (b.Ratio == nil) {
				t.Fatal(a, b)
			}
			if a.Ratio != nil && (math.Abs(*b.Ratio / *a.Ratio - 1) > 1e-10 || math.Abs(*b.U-*a.U) > 1e-10**a.Ratio || math.Abs(*b.UWidened-*a.UWidened) > 1e-8**a.Ratio) {
				t.Fatal(*a.Ratio, *b.Ratio, *a.U, *b.U, *a.UWidened, *b.UWidened)
			}
		}
	})
}

// Birge's ratio never makes anything surer, and the order of the readings says nothing.
func TestBirgeNeverShrinks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := Request{Side: drawnSide(t, "side")}
		req.Ratios = allPairs(req.Side)
		answer, err := Solve(req)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range answer.Ratios {
			if r.Ratio != nil && !(*r.UWidened >= *r.U && *r.U >= 0 && *r.Ratio > 0) {
				t.Fatal(*r.Ratio, *r.U, *r.UWidened)
			}
		}
		for _, w := range answer.Widen {
			if !(w.Factor > 1) {
				t.Fatal(w)
			}
		}
		shuffled := req
		shuffled.Readings = rapid.Permutation(req.Readings).Draw(t, "order")
		again, err := Solve(shuffled)
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range answer.Parts {
			if b := again.Parts[i]; a.Part != b.Part || math.Abs(b.Size/a.Size-1) > 1e-10 {
				t.Fatal(a, b)
			}
		}
	})
}

// A part within the tolerance, or within twice its uncertainty, is never called out; one
// beyond both always is; and what is told fits together.
func TestCalledOutOnlyBeyondBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		req := CompareRequest{Subject: drawnSide(t, "subject"), Piece: drawnSide(t, "piece"), Tolerance: rapid.Float64Range(0.001, 0.5).Draw(t, "tolerance")}
		req.Scale = Scale{Mode: LeastWork}
		switch part := req.Subject.Readings[0].Part; rapid.IntRange(0, 2).Draw(t, "mode") {
		case 1:
			req.Scale = Scale{Mode: AtSize, Part: part, MM: 50}
		case 2:
			req.Scale = Scale{Mode: KeepPart, Part: part}
		}
		answer, err := Compare(req)
		var e *fault.Error
		if errors.As(err, &e) && e.Code == fault.PartNotRead {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range answer.Parts {
			if v.D == nil {
				if v.Verdict != Unknown || v.Why == "" {
					t.Fatalf("%+v", v)
				}
				continue
			}
			d, u := math.Abs(*v.D), *v.UDWidened
			if out := v.Verdict == Add || v.Verdict == TakeIn; out != (d > req.Tolerance && d > 2*u) {
				t.Fatalf("%s with d %v, u %v, tolerance %v", v.Verdict, *v.D, u, req.Tolerance)
			}
			if v.Verdict == Add && *v.D > 0 || v.Verdict == TakeIn && *v.D < 0 || (v.Repeat != nil) != (v.Verdict == TooRough) || u < *v.UD {
				t.Fatalf("%+v", v)
			}
			if math.Abs(*v.RatioPiece / *v.RatioSubject / math.Exp(*v.D) - 1) > 1e-9 {
				t.Fatal("the ratios do not differ by d:", *v.RatioSubject, *v.RatioPiece, *v.D)
			}
			if v.AmountMM != nil && (math.Abs(math.Abs(*v.PieceMM-*v.TargetMM)-*v.AmountMM) > 1e-9*(*v.PieceMM+*v.TargetMM) || math.Abs(*v.EachSideMM*2-*v.AmountMM) > 1e-11**v.AmountMM) {
				t.Fatal("the amounts do not add up:", *v.PieceMM, *v.TargetMM, *v.AmountMM)
			}
		}
		if _, err := json.Marshal(answer); err != nil {
			t.Fatal(err)
		}
	})
}

// The least work against trying: no scale on a fine grid, and none at which a part would
// just be right, asks for less than the one that was found.
func TestLeastWorkAgainstTrying(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "parts")
		cost := rapid.Float64Range(1, 8).Draw(t, "cost")
		subject, piece := Side{Sittings: []Sitting{{ID: "s", Method: Photo}}}, Side{Sittings: []Sitting{{ID: "s", Method: Ruler}}}
		size, made := make([]float64, n), make([]float64, n)
		for i := range n {
			id := fmt.Sprint(i)
			size[i], made[i] = rapid.Float64Range(1, 300).Draw(t, "size"), rapid.Float64Range(1, 300).Draw(t, "made")
			subject.Readings = append(subject.Readings, Reading{ID: id, Sitting: "s", Part: id, Value: size[i], U: p(size[i] / 100)})
			piece.Readings = append(piece.Readings, Reading{ID: id, Sitting: "s", Part: id, Value: made[i], U: p(made[i] / 100)})
		}
		answer, err := Compare(CompareRequest{Subject: subject, Piece: piece, Scale: Scale{Mode: LeastWork, Cost: &cost}, Tolerance: 0.04})
		if err != nil {
			t.Fatal(err)
		}
		work := func(s float64) (sum float64) {
			for i := range n {
				d := math.Log(made[i]) - math.Log(size[i]) - s
				sum += size[i] * math.Max(-d, cost*d)
			}
			return sum
		}
		found := math.Log(*answer.Scale.Factor / size[0]) // of the subject's unit, part 0
		least := math.Inf(1)
		for i := range n {
			least = math.Min(least, work(math.Log(made[i]/size[i])))
		}
		for s := -6.0; s < 6; s += 0.01 {
			least = math.Min(least, work(s))
		}
		if work(found) > least*(1+1e-9)+1e-7 {
			t.Fatal("found", work(found), "and", least, "can be had")
		}
	})
}

// Whatever is read, the answer can be written as JSON or is refused with a fault.
func FuzzCompare(f *testing.F) {
	f.Add([]byte(`{` + counted + `,` + ruledPiece + `,"scale":{"mode":"keep","part":"body width"},"tolerance":0.04,"fixed":[]}`))
	f.Add([]byte(`{` + counted + `,` + countedPiece + `,"scale":{"mode":"least-work","cost":2},"tolerance":0.04,"fixed":["head width"],"nominal":{"part":"body width","mm":30}}`))
	f.Add([]byte(`{"subject":{"sittings":[{"id":"s","method":"photo"},{"id":"r","method":"ruler"}],"readings":[{"id":"1","sitting":"s","part":"a","value":1e7,"u":1e2},{"id":"2","sitting":"s","part":"b","value":1e-6,"u":1e-5},
		{"id":"3","sitting":"r","part":"b","value":1e-3,"u":1e-8},{"id":"4","sitting":"s","part":"b","place":"x","value":1e7,"u":1e-6}]},"piece":{"sittings":[{"id":"s","method":"ruler"}],
		"readings":[{"id":"1","sitting":"s","part":"a","value":1e7},{"id":"2","sitting":"s","part":"b","value":1e-1},{"id":"3","sitting":"s","part":"b","place":"x","value":0}]},"scale":{"mode":"size","part":"a","mm":1e-5},"tolerance":0.04}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var req CompareRequest
		if json.Unmarshal(text, &req) != nil {
			return
		}
		answer, err := Compare(req)
		if err == nil {
			_, err = json.Marshal(answer)
		}
		var e *fault.Error
		if err != nil && !errors.As(err, &e) {
			t.Fatal(err)
		}
		solved, err := Solve(Request{Side: req.Subject, Ratios: []Pair{{"a", "b"}}})
		if err == nil {
			_, err = json.Marshal(solved)
		}
		if err != nil && !errors.As(err, &e) {
			t.Fatal(err)
		}
	})
}
