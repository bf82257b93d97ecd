// Package merge makes one state of the changes that several devices made.
//
// The state of a field depends on nothing but the set of its changes: not on
// their order, nor on how often or by which way each came. So merging is
// commutative, associative and idempotent: it is the union of two sets.
//
// The rule:
//   - The change with the highest stamp wins. A change made in sight of all
//     others has the highest stamp, so what a hand enters here always wins here.
//   - A change answers what it was made in sight of: its base, and whatever
//     earlier change says the same as its base. (Two devices that say the same
//     give one answer, and who changes that answer has changed it for both.)
//   - A change that nobody answered and that says other than the winner
//     stands apart: the two were made without sight of one another, and a
//     person is asked to choose. Choosing puts one change on each.
//   - Nothing is ever taken out. What does not win and does not stand apart is
//     history.
//
// The winner is never answered, since no change is later. A change whose base
// has not come yet answers nothing for now; what it says counts all the same,
// and the state is put right when the base comes.
package merge

import (
	"cmp"
	"encoding/json"
	"slices"

	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// Answer is a value that stands apart from the winner's.
type Answer struct {
	Value json.RawMessage `json:"value"` // canonical JSON
	Stamp stamp.Stamp     `json:"stamp"` // of the latest change that says so
}

// State is one field as it stands.
type State struct {
	Winner  change.Change   // the field's value, the stamp of it, and its base
	Apart   []Answer        // each other answer once, the latest first; empty when there is one answer
	History []change.Change // every change ever made, the earliest first, the winner last
}

// Of makes the state of one field of its changes, in any order and with
// repetitions. There must be at least one, all of the same field, and they
// must agree (change.Agree): with two different changes under one stamp no
// state would be right. It does not write to changes.
func Of(changes []change.Change) State {
	history := ordered(changes)
	history = slices.CompactFunc(history, change.Change.Equal)
	winner := history[len(history)-1]
	return State{winner, apart(history, winner), slices.Clip(history)}
}

// apart finds the answers other than the winner's.
func apart(history []change.Change, winner change.Change) []Answer {
	value := make(map[stamp.Stamp]string, len(history))
	for _, c := range history {
		value[c.Stamp] = string(c.Value)
	}
	until := map[string]stamp.Stamp{} // whoever said this before that stamp is answered
	for _, c := range history {
		if said, known := value[c.Base]; known {
			until[said] = c.Stamp // the history goes up, so the last is the latest
		}
	}
	told := map[string]bool{string(winner.Value): true}
	others := []Answer{}
	for _, c := range slices.Backward(history) {
		said := string(c.Value)
		if told[said] || c.Stamp.Before(until[said]) {
			continue
		}
		told[said] = true
		others = append(others, Answer{c.Value, c.Stamp})
	}
	return others
}

// Fields makes the state of every field that the changes touch, sorted by
// kind, id and field. The changes come in any order and with repetitions;
// when they do not agree, the error is that of change.Agree.
func Fields(changes []change.Change) ([]State, error) {
	if err := change.Agree(changes); err != nil {
		return nil, err
	}
	sorted := ordered(changes)
	states := []State{}
	for len(sorted) > 0 {
		n := slices.IndexFunc(sorted, func(c change.Change) bool { return c.Where != sorted[0].Where })
		if n < 0 {
			n = len(sorted)
		}
		states = append(states, Of(sorted[:n]))
		sorted = sorted[n:]
	}
	return states, nil
}

// ordered is the changes, sorted. What is sorted are their numbers: a sort of the
// changes themselves would be a piece of code of its own, in every phone's engine.
func ordered(changes []change.Change) []change.Change {
	numbers := make([]int, len(changes))
	for i := range numbers {
		numbers[i] = i
	}
	slices.SortFunc(numbers, func(a, b int) int { return compare(changes[a], changes[b]) })
	sorted := make([]change.Change, len(changes))
	for i, n := range numbers {
		sorted[i] = changes[n]
	}
	return sorted
}

// compare orders changes by field, and those of one field by stamp.
func compare(a, b change.Change) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.ID, b.ID), cmp.Compare(a.Field, b.Field), stamp.Compare(a.Stamp, b.Stamp))
}
