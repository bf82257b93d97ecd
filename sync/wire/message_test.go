package wire

import (
	"encoding/json"
	"errors"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"

	"pgregory.net/rapid"
)

const idA, idB = "abcdefghijklmnop", "qrstuvwxyz234567"

// samples are one message of every kind, and more of those with choices.
func samples() []Message {
	return []Message{
		&Hello{Low: 1, High: 1, Device: idA, Waiting: 3},
		&Hello{Low: 1, High: 7, Device: idA, Epoch: idB, After: 42, Waiting: 0},
		&Hello{Low: 2, High: 3},
		&Welcome{1, idB, 1 << 40, 1_795_600_000_000},
		&Push{1, parts(2)},
		&Ack{1, 5, 17, nil},
		&Ack{MaxNumber, 5, 5, []Refusal{{0, data.CodeValue}, {3, data.CodeKind}}},
		&News{4, 30, random(3)},
		&News{4, 5, nil},
		&Seen{9}, &Ping{0}, &Pong{MaxNumber},
		&Bye{ByeStruck, 1, 1},
	}
}

func TestEveryMessageComesThrough(t *testing.T) {
	for _, m := range samples() {
		frame, err := Encode(m)
		if err != nil {
			t.Fatalf("%#v: %v", m, err)
		}
		again, err := Decode(frame)
		if err != nil || !reflect.DeepEqual(m, again) {
			t.Errorf("%#v came through as %#v, %v", m, again, err)
		}
		for cut := range frame {
			if _, err := Decode(frame[:cut]); err == nil && !cutIsWhole(m, cut) {
				t.Errorf("%#v cut at %d of %d was read", m, cut, len(frame))
			}
		}
		if _, err := Decode(append(frame, 0)); err == nil && !cutIsWhole(m, len(frame)) {
			t.Errorf("%#v was read with a byte behind it", m)
		}
	}
}

// cutIsWhole tells of the one message that has no end: a Hello of a version
// that is not spoken here.
func cutIsWhole(m Message, cut int) bool {
	h, ok := m.(*Hello)
	return ok && h.Low > Newest && cut >= 3
}

// drawChange draws a sound change of a small world, so that much repeats.
func drawChange(t *rapid.T) change.Change {
	ids := []string{idA, idB, "aaaaaaaaaaaaaaaa", "7777777777777777"}
	values := []string{"null", "true", "false", "0", "-3.25", "1e+21", `""`, `"abcdefghijklmnop"`, `"Abcdefghijklmnop"`, `"\u003c\n"`, `"Wolle \u2028 ü"`, `[]`, `{"a":[1,{"b":null}]}`}
	stamps := rapid.Uint64Range(1, 40)
	if rapid.IntRange(0, 9).Draw(t, "large") == 0 {
		stamps = rapid.Uint64Range(1, stamp.MaxCounter)
	}
	c := change.Change{
		Where: change.Where{Kind: rapid.SampledFrom([]string{"part", "piece", "a_kind_to_come"}).Draw(t, "kind"), ID: rapid.SampledFrom(ids).Draw(t, "id"),
			Field: rapid.SampledFrom([]string{"name", "axis", "f"}).Draw(t, "field")},
		Value: json.RawMessage(rapid.SampledFrom(values).Draw(t, "value")),
		Stamp: stamp.Stamp{Counter: stamps.Draw(t, "counter"), Device: rapid.SampledFrom(ids).Draw(t, "device")},
	}
	if c.Stamp.Counter > 1 && rapid.Bool().Draw(t, "based") {
		c.Base = stamp.Stamp{Counter: rapid.Uint64Range(1, c.Stamp.Counter-1).Draw(t, "base"), Device: rapid.SampledFrom(ids).Draw(t, "base device")}
	}
	return c
}

func TestBatchesComeThrough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		push := &Push{1, rapid.SliceOfN(rapid.Custom(drawChange), 1, 60).Draw(t, "changes")}
		frame, err := Encode(push)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Decode(frame)
		if err != nil || !reflect.DeepEqual(again, push) {
			t.Fatalf("%v\n%+v\n%+v", err, again, push)
		}
	})
}

func TestTheWorstFits(t *testing.T) {
	letters := func(i, n int) string {
		b := slices.Repeat([]byte("a"), n)
		for at := n - 1; i > 0; at, i = at-1, i/26 {
			b[at] += byte(i % 26)
		}
		return string(b)
	}
	for _, size := range []int{6, 100, change.MaxValue} {
		var changes []change.Change
		for i := 0; ; i++ { // nothing repeats, and every number is long
			c := change.Change{Where: change.Where{Kind: letters(2*i, 32), ID: letters(i, 16), Field: letters(2*i+1, 32)},
				Value: json.RawMessage(`"` + letters(i, size-2) + `"`),
				Stamp: stamp.Stamp{Counter: stamp.MaxCounter - uint64(i%2)<<52, Device: letters(3*i, 16)},
				Base:  stamp.Stamp{Counter: 1, Device: letters(3*i+1, 16)}}
			if changes = append(changes, c); Fit(changes) < len(changes) {
				break
			}
		}
		if _, err := Encode(&Push{MaxNumber, changes}); err == nil {
			t.Errorf("%d changes were written, beyond the limit", len(changes))
		}
		frame, err := Encode(&Push{MaxNumber, changes[:len(changes)-1]})
		if err != nil || len(frame) > MaxFrame {
			t.Errorf("%d changes of %d bytes: a frame of %d bytes, %v", len(changes)-1, size, len(frame), err)
		}
	}
}

func TestUnsoundChangesAreNotWritten(t *testing.T) {
	good := parts(1)[0]
	for code, spoil := range map[string]func(c *change.Change){
		data.CodeKind:   func(c *change.Change) { c.Kind = "Part" },
		data.CodeField:  func(c *change.Change) { c.Field = "" },
		data.CodeID:     func(c *change.Change) { c.ID = "abc" },
		data.CodeStamp:  func(c *change.Change) { c.Stamp.Counter = stamp.MaxCounter + 1 },
		data.CodeBase:   func(c *change.Change) { c.Base = c.Stamp },
		data.CodeTooBig: func(c *change.Change) { c.Value = json.RawMessage(`"` + strings.Repeat("a", change.MaxValue) + `"`) },
		data.CodeShape:  func(c *change.Change) { c.Value = json.RawMessage(`{"b":1, "a":2}`) },
	} {
		c := good
		spoil(&c)
		told, ok := errors.AsType[*data.Error](Sound(c))
		if !ok || told.Code != code {
			t.Errorf("%s: told %v", code, told)
		}
		if _, err := Encode(&Push{1, []change.Change{good, c}}); err == nil {
			t.Errorf("%s was written", code)
		}
	}
	if err := Sound(good); err != nil {
		t.Error(err)
	}
}

// TestWhatIsWrongIsRefused spoils the numbers of a batch, one at a time.
func TestWhatIsWrongIsRefused(t *testing.T) {
	whole := func(parts ...[]byte) []byte { return slices.Concat(parts...) }
	push, names, device := []byte{kindPush, 1, 1}, []byte{2, 4, 'p', 'a', 'r', 't', 4, 'n', 'a', 'm', 'e'}, append([]byte{1}, make([]byte, 10)...)
	shapes, runs := []byte{1, 0, 1, 1}, append([]byte{1, 0, 0}, make([]byte, 10)...)
	by, counter, base, tag, value := []byte{0, 0}, []byte{0, 2}, []byte{0, 0}, []byte{4}, []byte("7")
	good := whole(push, names, device, shapes, runs, by, counter, base, tag, value)
	m, err := Decode(good)
	if err != nil {
		t.Fatal(err)
	}
	if c := m.(*Push).Changes[0]; string(c.Value) != "7" || c.Stamp.Counter != 1 || c.Kind != "part" || c.Field != "name" {
		t.Fatalf("read as %+v", c)
	}
	for what, frame := range map[string][]byte{
		"a push of nothing":          {kindPush, 1, 0},
		"a batch 0":                  whole([]byte{kindPush, 0, 1}, good[3:]),
		"more changes than runs":     whole([]byte{kindPush, 1, 2}, good[3:]),
		"a name that is none":        whole(push, []byte{2, 4, 'p', 'A', 'r', 't', 4, 'n', 'a', 'm', 'e'}, good[14:]),
		"a shape of no kind":         whole(push, names, device, []byte{1, 2, 1, 1}, runs, by, counter, base, tag, value),
		"a shape of no field":        whole(push, names, device, []byte{1, 0, 1, 2}, runs, by, counter, base, tag, value),
		"a shape of no fields":       whole(push, names, device, []byte{1, 0, 0, 1}, runs, by, counter, base, tag, value),
		"a run of no shape":          whole(push, names, device, shapes, []byte{1, 0, 1}, runs[3:], by, counter, base, tag, value),
		"more runs than changes":     whole(push, names, device, []byte{1, 0, 2, 1, 1}, runs, by, counter, base, tag, value),
		"a column too long":          whole(push, names, device, shapes, runs, []byte{2, 0, 0}, counter, base, tag, value),
		"a run in a column too long": whole(push, names, device, shapes, runs, []byte{3, 0}, counter, base, tag, value),
		"no such device":             whole(push, names, device, shapes, runs, []byte{0, 1}, counter, base, tag, value),
		"a counter of 0":             whole(push, names, device, shapes, runs, by, []byte{0, 0}, base, tag, value),
		"a counter below 0":          whole(push, names, device, shapes, runs, by, []byte{0, 1}, base, tag, value),
		"a base of 0":                whole(push, names, device, shapes, runs, by, counter, []byte{0, 1, 0, 0}, tag, value),
		"a base without a device":    whole(push, names, device, shapes, runs, by, []byte{0, 4}, []byte{0, 1, 0, 1}, tag, value),
		"a value of none before":     whole(push, names, device, shapes, runs, by, counter, base, []byte{5}),
		"a value cut off":            whole(push, names, device, shapes, runs, by, counter, base, []byte{6}, value),
		"an id cut off":              whole(push, names, device, shapes, runs, by, counter, base, []byte{3}, value),
		"a value not canonical":      whole(push, names, device, shapes, runs, by, counter, base, []byte{6}, []byte("07")),
		"a value that is not JSON":   whole(push, names, device, shapes, runs, by, counter, base, tag, []byte("x")),
		"a number with a byte more":  whole([]byte{kindPush, 0x81, 0, 1}, good[3:]),
		"a number without an end":    {kindSeen, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 1},
		"a number too large":         {kindSeen, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x80, 0x10},
		"news that goes nowhere":     {kindNews, 4, 4, 0},
		"more news than numbers":     whole([]byte{kindNews, 4, 5, 2}, names, device, []byte{1, 0, 2, 1, 1}, runs, []byte{0, 0, 0, 0}, []byte{0, 2, 0, 2}, []byte{0, 0, 0, 0}, []byte{0, 0}),
		"an ack that goes back":      {kindAck, 1, 5, 4, 0},
		"refusals out of order":      {kindAck, 1, 5, 5, 2, 1, 1, 'a', 1, 1, 'a'},
		"a code that is none":        {kindBye, 1, 'A', 1, 1},
		"an epoch of a third kind":   whole([]byte{kindHello, 1, 1}, make([]byte, 10), []byte{2}, make([]byte, 10), []byte{0, 0}),
		"a number with no epoch":     whole([]byte{kindHello, 1, 1}, make([]byte, 10), []byte{0, 1, 0}),
		"versions the wrong way":     {kindHello, 2, 1},
		"a kind that is none":        {99},
		"nothing":                    {},
		"too much":                   append([]byte{kindPush, 1}, make([]byte, MaxFrame)...),
	} {
		if m, err := Decode(frame); err == nil {
			t.Errorf("%s was read: %+v", what, m)
		} else if _, ok := errors.AsType[*Error](err); !ok {
			t.Errorf("%s: the error is %#v", what, err)
		}
	}
}

// TestMemoryIsWarranted gives frames that claim as much as they can.
func TestMemoryIsWarranted(t *testing.T) {
	claim := []byte{0xff, 0x0f} // 2047, and as many as a batch may have
	for what, frame := range map[string][]byte{
		"changes":  append([]byte{kindPush, 1}, claim...),
		"names":    append([]byte{kindPush, 1, 1}, claim...),
		"devices":  append([]byte{kindPush, 1, 1, 0}, claim...),
		"shapes":   append([]byte{kindPush, 1, 1, 0, 0}, claim...),
		"runs":     append([]byte{kindPush, 1, 1, 0, 0, 0}, claim...),
		"refusals": append([]byte{kindAck, 1, 1, 1}, claim...),
	} {
		frame = append(frame, make([]byte, 1000)...)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Decode(frame)
		runtime.ReadMemStats(&after)
		if taken := after.TotalAlloc - before.TotalAlloc; err == nil || taken > 200*uint64(len(frame)) {
			t.Errorf("%s: %d bytes taken for a frame of %d, %v", what, taken, len(frame), err)
		}
	}
}

func TestVersions(t *testing.T) {
	for _, test := range []struct {
		low, high, version uint64
		code               string
	}{{1, 1, 1, ""}, {1, 9, 1, ""}, {2, 9, 0, ByeTooNew}, {0, 0, 0, ByeTooOld}} {
		if version, code := Agree(test.low, test.high); version != test.version || code != test.code {
			t.Errorf("%d to %d: %d %q", test.low, test.high, version, code)
		}
	}
	later := []byte{kindHello, 2, 5, 1, 2, 3, 255} // of a version that no one here knows
	m, err := Decode(later)
	if h, ok := m.(*Hello); err != nil || !ok || h.Low != 2 || h.High != 5 {
		t.Errorf("a later Hello is read as %#v, %v", m, err)
	}
}

func TestCodes(t *testing.T) {
	if !slices.IsSorted(Codes()) {
		t.Error("the codes are not sorted")
	}
	for _, code := range Codes() {
		if _, err := Encode(&Bye{code, Oldest, Newest}); err != nil {
			t.Errorf("%s: %v", code, err)
		}
	}
	for _, code := range data.Codes() {
		if _, err := Encode(&Ack{Batch: 1, Refused: []Refusal{{0, code}}}); err != nil {
			t.Errorf("%s: %v", code, err)
		}
	}
}
