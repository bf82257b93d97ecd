package merge

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"

	"pgregory.net/rapid"
)

var where = change.Where{Kind: "part", ID: "partpartpartpart", Field: "name"}

func device(i int) string { return strings.Repeat(string(rune('a'+i)), 16) }

func at(counter uint64, dev int) stamp.Stamp {
	return stamp.Stamp{Counter: counter, Device: device(dev)}
}

func says(value string, s, base stamp.Stamp) change.Change {
	return change.Change{Where: where, Value: json.RawMessage(value), Stamp: s, Base: base}
}

// phone is a device: it sees what it has, and stamps one
// above the highest counter it has seen.
type phone struct {
	n       int
	highest uint64
	known   []change.Change
}

func (p *phone) receive(changes []change.Change) {
	for _, c := range changes {
		p.highest = max(p.highest, c.Stamp.Counter)
		if !slices.ContainsFunc(p.known, c.Equal) {
			p.known = append(p.known, c)
		}
	}
}

func (p *phone) put(w change.Where, value string, base stamp.Stamp) change.Change {
	c := change.Change{Where: w, Value: json.RawMessage(value), Stamp: at(p.highest+1, p.n), Base: base}
	p.receive([]change.Change{c})
	return c
}

func (p *phone) of(w change.Where) []change.Change {
	return slices.DeleteFunc(slices.Clone(p.known), func(c change.Change) bool { return c.Where != w })
}

// set is what a person does who sees only the winner.
func (p *phone) set(w change.Where, value string) change.Change {
	base := stamp.Stamp{}
	if mine := p.of(w); len(mine) > 0 {
		base = Of(mine).Winner.Stamp
	}
	return p.put(w, value, base)
}

// choose is what a person does who sees all answers: one change on each.
func (p *phone) choose(w change.Where, value string) {
	state := Of(p.of(w))
	p.put(w, value, state.Winner.Stamp)
	for _, answer := range state.Apart {
		p.put(w, value, answer.Stamp)
	}
}

// talk draws a story: some phones set, choose and exchange parts of what
// they know, in random order.
func talk(t *rapid.T) []*phone {
	phones := make([]*phone, rapid.IntRange(1, 4).Draw(t, "phones"))
	for i := range phones {
		phones[i] = &phone{n: i}
	}
	fields := []change.Where{where, {Kind: "part", ID: where.ID, Field: "order"}}
	for range rapid.IntRange(1, 30).Draw(t, "steps") {
		p := rapid.SampledFrom(phones).Draw(t, "phone")
		w := rapid.SampledFrom(fields).Draw(t, "field")
		value := rapid.SampledFrom([]string{"1", "2", "3", "null"}).Draw(t, "value")
		switch rapid.IntRange(0, 4).Draw(t, "what") {
		case 0, 1:
			p.set(w, value)
		case 2:
			if len(p.of(w)) > 0 {
				p.choose(w, value)
			}
		default: // some of what another knows comes, in any order: a change may come before its base
			from := rapid.SampledFrom(phones).Draw(t, "from")
			some := rapid.Permutation(from.known).Draw(t, "order")
			p.receive(some[:rapid.IntRange(0, len(some)).Draw(t, "how many")])
		}
	}
	return phones
}

func all(phones []*phone) []change.Change {
	everything := &phone{}
	for _, p := range phones {
		everything.receive(p.known)
	}
	return everything.known
}

func fields(t rapid.TB, changes []change.Change) []State {
	states, err := Fields(changes)
	if err != nil {
		t.Fatal(err)
	}
	return states
}

func same(t rapid.TB, what string, a, b []State) {
	if !reflect.DeepEqual(a, b) {
		t.Fatalf("%s:\n%+v\n%+v", what, a, b)
	}
}

func TestOrderAndRepetitionDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		changes := all(talk(t))
		want := fields(t, changes)
		again := slices.Clone(changes)
		for range rapid.IntRange(0, 2*len(changes)).Draw(t, "repetitions") {
			again = append(again, rapid.SampledFrom(changes).Draw(t, "again"))
		}
		again = rapid.Permutation(again).Draw(t, "order")
		before := slices.Clone(again)
		same(t, "any order, with repetitions", fields(t, again), want)
		if !reflect.DeepEqual(again, before) {
			t.Fatal("merging wrote to what it was given")
		}
	})
}

// TestMergingIsAUnion merges what two and three sides hold in each way: what
// a side has to pass on is its history, so a state can stand for its set.
func TestMergingIsAUnion(t *testing.T) {
	both := func(t rapid.TB, a, b []State) []State {
		var changes []change.Change
		for _, state := range append(slices.Clone(a), b...) {
			changes = append(changes, state.History...)
		}
		return fields(t, changes)
	}
	rapid.Check(t, func(t *rapid.T) {
		changes := all(talk(t))
		side := func(name string) []State {
			return fields(t, slices.DeleteFunc(slices.Clone(changes), func(change.Change) bool { return rapid.Bool().Draw(t, name) }))
		}
		a, b, c := side("a"), side("b"), side("c")
		same(t, "commutative", both(t, a, b), both(t, b, a))
		same(t, "associative", both(t, both(t, a, b), c), both(t, a, both(t, b, c)))
		same(t, "idempotent", both(t, a, a), a)
		same(t, "idempotent again", both(t, both(t, a, b), b), both(t, a, b))
	})
}

func TestEveryChangeIsInTheHistory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		changes := all(talk(t))
		var history []change.Change
		for _, state := range fields(t, changes) {
			history = append(history, state.History...)
			if last := state.History[len(state.History)-1]; !last.Equal(state.Winner) {
				t.Fatalf("the winner %v is not the last of its history %v", state.Winner, last)
			}
		}
		if len(history) != len(changes) {
			t.Fatalf("%d changes were made, %d are in the history", len(changes), len(history))
		}
		for _, c := range changes {
			if !slices.ContainsFunc(history, c.Equal) {
				t.Fatalf("%v is not in the history", c)
			}
		}
	})
}

func TestALocalChangeAlwaysWins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(talk(t)).Draw(t, "who")
		before := p.of(where)
		mine := p.set(where, `"mine"`)
		state := Of(p.of(where))
		if !state.Winner.Equal(mine) {
			t.Fatalf("%v was entered, %v stands", mine, state.Winner)
		}
		if len(before) == 0 {
			return
		}
		// What stood there is no answer any more; what stood apart still does.
		was := Of(before)
		if !reflect.DeepEqual(state.Apart, was.Apart) {
			t.Fatalf("apart was %v, is %v", was.Apart, state.Apart)
		}
	})
}

func TestChoosingSettles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		phones := talk(t)
		p := rapid.SampledFrom(phones).Draw(t, "who")
		p.receive(all(phones))
		if len(p.of(where)) == 0 {
			return
		}
		value := rapid.SampledFrom([]string{"1", "2", "3", "null", `"new"`}).Draw(t, "choice")
		p.choose(where, value)
		state := Of(p.of(where))
		if string(state.Winner.Value) != value || len(state.Apart) > 0 {
			t.Fatalf("%s was chosen, but %+v stands", value, state)
		}
		// And it stays settled, whatever is entered afterwards by whoever has seen it.
		q := &phone{n: 5}
		q.receive(p.known)
		q.set(where, `"after"`)
		if state := Of(q.of(where)); len(state.Apart) > 0 {
			t.Fatalf("the answers came back: %+v", state.Apart)
		}
	})
}

func TestPhonesThatExchangeEverythingAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		phones := talk(t)
		want := fields(t, all(phones))
		// Each tells each, in a random order of meetings, until all pairs have met twice.
		for range 2 {
			for _, i := range rapid.Permutation(meetings(len(phones))).Draw(t, "meetings") {
				a, b := phones[i/len(phones)], phones[i%len(phones)]
				a.receive(b.known)
				b.receive(a.known)
			}
		}
		for _, p := range phones {
			same(t, fmt.Sprintf("phone %d", p.n), fields(t, p.known), want)
		}
	})
}

func meetings(n int) []int {
	pairs := make([]int, n*n)
	for i := range pairs {
		pairs[i] = i
	}
	return pairs
}

// TestAgainstTheRuleAsTold compares with the rule said in the plainest way:
// every pair looked at, nothing clever.
func TestAgainstTheRuleAsTold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, state := range fields(t, all(talk(t))) {
			var want []string
			for _, c := range state.History {
				answered := false
				for _, later := range state.History {
					answered = answered || later.Base == c.Stamp
					for _, base := range state.History {
						answered = answered || later.Base == base.Stamp && string(base.Value) == string(c.Value) && c.Stamp.Before(later.Stamp)
					}
				}
				if !answered && string(c.Value) != string(state.Winner.Value) && !slices.Contains(want, string(c.Value)) {
					want = append(want, string(c.Value))
				}
				if c.Stamp == state.Winner.Stamp && answered {
					t.Fatal("the winner was answered")
				}
			}
			var got []string
			for _, answer := range state.Apart {
				got = append(got, string(answer.Value))
			}
			slices.Sort(want)
			slices.Sort(got)
			if !slices.Equal(got, want) {
				t.Fatalf("apart are %v, told as %v, of %v", got, want, state.History)
			}
		}
	})
}

func TestCases(t *testing.T) {
	none := stamp.Stamp{}
	a1, a2, b2, b3, c3, a5 := at(1, 0), at(2, 0), at(2, 1), at(3, 1), at(3, 2), at(5, 0)
	tests := map[string]struct {
		changes []change.Change
		winner  string
		apart   []Answer
	}{
		"one change":                    {[]change.Change{says("1", a1, none)}, "1", nil},
		"changed in sight of the first": {[]change.Change{says("1", a1, none), says("2", b2, a1)}, "2", nil},
		"made apart, one counter: the device decides": {
			[]change.Change{says("1", a2, none), says("2", b2, none)}, "2", []Answer{{json.RawMessage("1"), a2}}},
		"made apart, the same said": {[]change.Change{says("1", a2, none), says("1", b2, none)}, "1", nil},
		"the same said apart, then changed by one: the other does not come back": {
			[]change.Change{says("1", a1, none), says("1", b2, none), says("2", c3, b2)}, "2", nil},
		"said again after it was changed": {
			[]change.Change{says("1", a1, none), says("2", a2, a1), says("1", b3, a2)}, "1", nil},
		"an old value said later by one who had seen nothing": {
			[]change.Change{says("1", a1, none), says("2", a2, a1), says("1", b3, none)}, "1", []Answer{{json.RawMessage("2"), a2}}},
		"an old value said later by one who had seen nothing, and not the winner": {
			[]change.Change{says("1", a1, none), says("2", a2, a1), says("1", b3, none), says("3", a5, a2)}, "3", []Answer{{json.RawMessage("1"), b3}}},
		"two on one base": {
			[]change.Change{says("0", a1, none), says("1", a2, a1), says("2", b2, a1)}, "2", []Answer{{json.RawMessage("1"), a2}}},
		"the base has not come: both stand": {
			[]change.Change{says("1", a2, none), says("2", a5, c3)}, "2", []Answer{{json.RawMessage("1"), a2}}},
		"the base has come, and answers the other": {
			[]change.Change{says("1", a2, none), says("2", a5, c3), says("3", c3, a2)}, "2", nil},
		"three answers, two alike": {
			[]change.Change{says("1", a2, none), says("1", b2, none), says("2", b3, none), says("3", a5, none)}, "3",
			[]Answer{{json.RawMessage("2"), b3}, {json.RawMessage("1"), b2}}},
		"null is an answer": {
			[]change.Change{says("null", a2, none), says("1", b2, none)}, "1", []Answer{{json.RawMessage("null"), a2}}},
	}
	for name, test := range tests {
		state := Of(test.changes)
		if string(state.Winner.Value) != test.winner {
			t.Errorf("%s: %s wins, not %s", name, state.Winner.Value, test.winner)
		}
		if len(state.Apart) != len(test.apart) || len(test.apart) > 0 && !reflect.DeepEqual(state.Apart, test.apart) {
			t.Errorf("%s: apart are %v, not %v", name, state.Apart, test.apart)
		}
	}
}

func TestOfDoesNotWriteToItsChanges(t *testing.T) {
	changes := []change.Change{says("2", at(2, 0), at(1, 0)), says("1", at(1, 0), stamp.Stamp{}), says("1", at(1, 0), stamp.Stamp{})}
	before := slices.Clone(changes)
	Of(changes)
	if !reflect.DeepEqual(changes, before) {
		t.Errorf("%v became %v", before, changes)
	}
}

func TestOneStampForTwoChangesIsRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		changes := rapid.Permutation([]change.Change{
			says("1", at(1, 0), stamp.Stamp{}), says("2", at(2, 0), at(1, 0)), says("3", at(2, 0), at(1, 0)), says("4", at(3, 0), at(2, 0)),
		}).Draw(t, "order")
		_, err := Fields(changes)
		if e, ok := err.(*data.Error); !ok || e.Code != data.CodeSameStamp {
			t.Fatalf("told %v", err)
		}
	})
}

func BenchmarkFields(b *testing.B) {
	var changes []change.Change
	for i := range 50_000 {
		w := change.Where{Kind: "part", ID: where.ID, Field: fmt.Sprintf("f%d", i%12_500)}
		changes = append(changes, change.Change{Where: w, Value: json.RawMessage(`"a name"`), Stamp: at(uint64(i+1), i%3)})
	}
	for b.Loop() {
		if _, err := Fields(changes); err != nil {
			b.Fatal(err)
		}
	}
}
