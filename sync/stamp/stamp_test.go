package stamp

import (
	"encoding/json"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

var (
	devices = rapid.StringMatching(`[a-z2-7]{16}`)
	stamps  = rapid.Custom(func(t *rapid.T) Stamp {
		return Stamp{rapid.Uint64Range(1, MaxCounter).Draw(t, "counter"), devices.Draw(t, "device")}
	})
)

func TestOrderIsByCounterThenDevice(t *testing.T) {
	inOrder := []Stamp{{}, {1, "zzzzzzzzzzzzzzzz"}, {2, "aaaaaaaaaaaaaaaa"}, {2, "aaaaaaaaaaaaaaab"}, {10, "2222222222222222"}}
	for i, a := range inOrder {
		for j, b := range inOrder {
			if got := Compare(a, b); got != cmpInt(i, j) {
				t.Errorf("Compare(%v, %v) = %d", a, b, got)
			}
			if a.Before(b) != (i < j) {
				t.Errorf("%v.Before(%v) = %t", a, b, a.Before(b))
			}
		}
	}
}

func cmpInt(i, j int) int {
	return slices.Compare([]int{i}, []int{j})
}

func TestJSONRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(stamps, rapid.Just(Stamp{})).Draw(t, "stamp")
		text, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		var back Stamp
		if err := json.Unmarshal(text, &back); err != nil || back != s {
			t.Fatalf("%s came back as %v, %v", text, back, err)
		}
	})
}

func TestJSONForm(t *testing.T) {
	text, _ := json.Marshal([]Stamp{{42, "abcdefghijklmnop"}, {}})
	if want := `[[42,"abcdefghijklmnop"],null]`; string(text) != want {
		t.Errorf("got %s, want %s", text, want)
	}
}

func TestJSONIsReadStrictly(t *testing.T) {
	for _, text := range []string{
		`[]`, `[1]`, `{}`, `"1"`, `1`, `true`, `[1,"aaaaaaaaaaaaaaaa",1]`, `[null,null]`,
		`[0,"aaaaaaaaaaaaaaaa"]`, `[-1,"aaaaaaaaaaaaaaaa"]`, `[1.5,"aaaaaaaaaaaaaaaa"]`, `[1e99,"aaaaaaaaaaaaaaaa"]`, `["1","aaaaaaaaaaaaaaaa"]`,
		`[9007199254740992,"aaaaaaaaaaaaaaaa"]`, `[99999999999999999999999,"aaaaaaaaaaaaaaaa"]`,
		`[1,""]`, `[1,"aaaaaaaaaaaaaaa"]`, `[1,"aaaaaaaaaaaaaaaaa"]`, `[1,"Aaaaaaaaaaaaaaaa"]`, `[1,"1aaaaaaaaaaaaaaa"]`, `[1,"aaaaaaa aaaaaaaa"]`, `[1,2]`,
	} {
		s := Stamp{7, "keepkeepkeepkeep"}
		if err := json.Unmarshal([]byte(text), &s); err == nil {
			t.Errorf("%s was read as %v", text, s)
		}
	}
	var s Stamp
	if err := json.Unmarshal([]byte(` [ 9007199254740991 , "zzzzzzzzzzzzzz27" ] `), &s); err != nil || s != (Stamp{MaxCounter, "zzzzzzzzzzzzzz27"}) {
		t.Errorf("the highest stamp was read as %v, %v", s, err)
	}
}
