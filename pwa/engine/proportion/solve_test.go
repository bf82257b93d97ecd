package proportion

import (
	"encoding/json"
	"math"
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
	text, _ := json.Marshal(answer)
	t.Logf("%s", text)
	near(t, "ratio", *answer.Ratios[0].Ratio, 2.5, 0)
	near(t, "u", *answer.Ratios[0].U, 2.5*math.Hypot(0.03, 0.032), 1e-12)
}
