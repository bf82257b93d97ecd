package wire

import (
	"bytes"
	"compress/flate"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"testing"

	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// maker makes changes as devices do, at random but always the same.
type maker struct {
	*rand.Rand
	counter uint64
	device  string
}

func newMaker(seed uint64) *maker {
	m := &maker{Rand: rand.New(rand.NewPCG(seed, 0))}
	m.device = m.id()
	return m
}

func (m *maker) id() string {
	b := make([]byte, 16)
	for i := range b {
		b[i] = "abcdefghijklmnopqrstuvwxyz234567"[m.IntN(32)]
	}
	return string(b)
}

// record makes a new record: pairs of a field and its value.
func (m *maker) record(kind string, fields ...string) (changes []change.Change) {
	id := m.id()
	for i := 0; i < len(fields); i += 2 {
		m.counter++
		changes = append(changes, change.Change{
			Where: change.Where{Kind: kind, ID: id, Field: fields[i]},
			Value: json.RawMessage(fields[i+1]),
			Stamp: stamp.Stamp{Counter: m.counter, Device: m.device},
		})
	}
	return changes
}

// parts are records of 6 small fields, as the tool itself makes them: 25 to a
// project.
func parts(records int) (changes []change.Change) {
	m := newMaker(1)
	names := []string{"head length", "head width", "body length", "tail", "foreleg", "hind leg", "ear", "neck width"}
	project := ""
	for i := range records {
		if i%25 == 0 {
			project = m.id()
		}
		changes = append(changes, m.record("part", "project", fmt.Sprintf("%q", project), "name", fmt.Sprintf(`"%s %d"`, names[m.IntN(len(names))], m.IntN(100)),
			"axis", []string{`"length"`, `"width"`}[m.IntN(2)], "order", fmt.Sprint(i%25), "nailed", fmt.Sprint(m.IntN(10) == 0), "binned", "null")...)
	}
	return changes
}

// random are records of 6 small fields in which every value is at random, and
// of which little can be foreseen.
func random(records int) (changes []change.Change) {
	m := newMaker(2)
	for range records {
		changes = append(changes, m.record("part", "project", fmt.Sprintf("%q", m.id()), "name", fmt.Sprintf("%q", m.id()[:8]),
			"axis", fmt.Sprint(m.IntN(10000)), "order", fmt.Sprint(float64(m.IntN(100000))/100), "nailed", fmt.Sprint(m.IntN(2) == 0),
			"binned", fmt.Sprintf(`"2026-%02d-%02d"`, 1+m.IntN(12), 1+m.IntN(28)))...)
	}
	return changes
}

// facts are readings: one fact of some 120 bytes to three fields.
func facts(records int) (changes []change.Change) {
	m := newMaker(3)
	sitting, project := "", m.id()
	parts := []string{m.id(), m.id(), m.id(), m.id(), m.id(), m.id()}
	for i := range records {
		if i%12 == 0 {
			sitting = m.id()
		}
		changes = append(changes, m.record("reading", "project", fmt.Sprintf("%q", project), "fact",
			fmt.Sprintf(`{"denominator":4,"part":%q,"place":null,"sitting":%q,"typed":null,"value":%v}`, parts[m.IntN(6)], sitting, float64(m.IntN(40))/4),
			"struck", "false")...)
	}
	return changes
}

// frames is a push for each batch.
func frames(t testing.TB, changes []change.Change) (frames [][]byte) {
	for batch := uint64(1); len(changes) > 0; batch++ {
		n := Fit(changes)
		frame, err := Encode(&Push{batch, changes[:n]})
		if err != nil {
			t.Fatal(err)
		}
		frames = append(frames, frame)
		changes = changes[n:]
	}
	return frames
}

// deflated is how long a frame is after permessage-deflate without context,
// as gorilla/websocket does it by default: level 1, and the four bytes that
// end a flush left out (RFC 7692, 7.2.1).
func deflated(t testing.TB, frame []byte) int {
	var b bytes.Buffer
	z, err := flate.NewWriter(&b, flate.BestSpeed)
	if err == nil {
		_, err = z.Write(frame)
	}
	if err == nil {
		err = z.Flush()
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Len() - 4
}

func TestBytesOfAFieldValue(t *testing.T) {
	for _, set := range []struct {
		name          string
		changes       []change.Change
		raw, deflated float64 // at most, per field value
	}{
		{"6 fields as the tool makes them", parts(10_000), 10, 10},
		{"6 fields, all at random", random(10_000), 10, 10},
		{"readings, a fact in three fields", facts(10_000), 60, 15},
	} {
		raw, small := 0, 0
		for _, frame := range frames(t, set.changes) {
			raw += len(frame)
			small += deflated(t, frame)
		}
		n := float64(len(set.changes))
		t.Logf("%s: %.2f bytes a value, %.2f after deflate", set.name, float64(raw)/n, float64(small)/n)
		if float64(raw)/n > set.raw || float64(small)/n > set.deflated {
			t.Errorf("%s: more than %v and %v bytes", set.name, set.raw, set.deflated)
		}
	}
}

func BenchmarkEncode(b *testing.B) {
	changes := parts(10_000)
	for b.Loop() {
		frames(b, changes)
	}
}

func BenchmarkDecode(b *testing.B) {
	for name, changes := range map[string][]change.Change{"parts": parts(10_000), "readings": facts(10_000)} {
		all := frames(b, changes)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for _, frame := range all {
					if _, err := Decode(frame); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}
