package wire

import (
	"reflect"
	"testing"
)

// Each target takes the body of a frame of its kind. What is read must be
// writable, and come through again as the same.

func FuzzHello(f *testing.F)   { fuzz(f, kindHello) }
func FuzzWelcome(f *testing.F) { fuzz(f, kindWelcome) }
func FuzzPush(f *testing.F)    { fuzz(f, kindPush) }
func FuzzAck(f *testing.F)     { fuzz(f, kindAck) }
func FuzzNews(f *testing.F)    { fuzz(f, kindNews) }
func FuzzSeen(f *testing.F)    { fuzz(f, kindSeen) }
func FuzzPing(f *testing.F)    { fuzz(f, kindPing) }
func FuzzPong(f *testing.F)    { fuzz(f, kindPong) }
func FuzzBye(f *testing.F)     { fuzz(f, kindBye) }

func fuzz(f *testing.F, kind byte) {
	for _, m := range samples() {
		if m.kind() != kind {
			continue
		}
		frame, err := Encode(m)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(frame[1:])
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		m, err := Decode(append([]byte{kind}, body...))
		if err != nil {
			return
		}
		frame, err := Encode(m)
		if err != nil {
			t.Fatalf("%#v was read and cannot be written: %v", m, err)
		}
		again, err := Decode(frame)
		if err != nil || !reflect.DeepEqual(m, again) {
			t.Fatalf("%#v came through as %#v, %v", m, again, err)
		}
	})
}

// FuzzValue compares the quick look at a value with change.Canonical.
func FuzzValue(f *testing.F) {
	for _, v := range []string{"null", "-0", "0.5", "0.000001", "1e+21", "1e21", "123456789012345", "1234567890123456", "0.10", "-1.", ".5", "01", "--1", "1-1", "1.2.3", "+1",
		`"a"`, `"<"`, `"\u003c"`, `"\n"`, "\"\x7f\"", "\"\xff\"", "\"\u2028\"", `"ü"`, `""`, `"`, `[1,[2,"x"]]`, `[1,]`, `[ 1]`, `[]`, `{}`, `{"a":1,"b":2}`, `{"b":1,"a":2}`, `{"a":1,"a":2}`, `{"":0}`,
		`[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]`, `[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]`, "nul", "nulll", "", " ", "true ", `{"a":1}{`, `99999999999999.5`, `1.7976931348623157e+308`, `-12.5`} {
		f.Add([]byte(v))
	}
	f.Fuzz(func(t *testing.T, value []byte) {
		if len(value) > MaxFrame {
			return
		}
		if quick, slow := canonical(value), canonicalSlowly(value); quick != slow {
			t.Fatalf("%q: quick says %v, change.Canonical %v", value, quick, slow)
		}
	})
}
