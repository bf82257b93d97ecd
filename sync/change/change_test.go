package change

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/sync/stamp"

	"pgregory.net/rapid"
)

// good is a change that nothing is wrong with; with puts something else in
// the place of one of its members.
func with(name, text string) string {
	m := map[string]string{"kind": `"part"`, "id": `"partpartpartpart"`, "field": `"name"`, "value": `"tail"`, "stamp": `[42,"aaaaaaaaaaaaaaaa"]`, "base": `[7,"bbbbbbbbbbbbbbbb"]`}
	m[name] = text
	var members []string
	for name, text := range m {
		if text != "" {
			members = append(members, fmt.Sprintf("%q:%s", name, text))
		}
	}
	slices.Sort(members)
	return "{" + strings.Join(members, ",") + "}"
}

var good = with("kind", `"part"`)

func TestDecode(t *testing.T) {
	c, err := Decode([]byte(good))
	want := Change{Where{"part", "partpartpartpart", "name"}, json.RawMessage(`"tail"`), stamp.Stamp{Counter: 42, Device: "aaaaaaaaaaaaaaaa"}, stamp.Stamp{Counter: 7, Device: "bbbbbbbbbbbbbbbb"}}
	if err != nil || !c.Equal(want) {
		t.Errorf("read %v, %v", c, err)
	}
	c, err = Decode([]byte(with("base", "null")))
	if err != nil || !c.Base.IsNone() {
		t.Errorf("read %v, %v", c, err)
	}
	if c, err = Decode([]byte(with("value", "null"))); err != nil || string(c.Value) != "null" {
		t.Errorf("read %v, %v", c, err)
	}
}

func TestDecodeRefuses(t *testing.T) {
	deep := strings.Repeat("[", MaxDepth+1) + strings.Repeat("]", MaxDepth+1)
	veryDeep := strings.Repeat("[", 5000) + strings.Repeat("]", 5000)
	for _, test := range []struct{ text, code, at string }{
		{``, data.CodeNotJSON, "byte 0"},
		{`{"kind":"part"`, data.CodeNotJSON, "byte 14"},
		{good + "x", data.CodeNotJSON, fmt.Sprintf("byte %d", len(good)+1)},
		{with("value", "\"\xff\""), data.CodeNotJSON, ""},
		{`null`, data.CodeShape, ""}, {`[]`, data.CodeShape, ""}, {`"x"`, data.CodeShape, ""}, {`7`, data.CodeShape, ""},
		{with("kind", ""), data.CodeShape, "kind"}, {with("value", ""), data.CodeShape, "value"}, {with("base", ""), data.CodeShape, "base"},
		{with("extra", "1"), data.CodeShape, "extra"},
		{with("Kind", `"part"`), data.CodeShape, "Kind"}, // encoding/json alone would take it for kind
		{with("kind", `"Part"`), data.CodeKind, "kind"}, {with("kind", `""`), data.CodeKind, "kind"}, {with("kind", `null`), data.CodeKind, "kind"}, {with("kind", `7`), data.CodeKind, "kind"},
		{with("kind", `"`+strings.Repeat("a", 33)+`"`), data.CodeKind, "kind"},
		{with("id", `"short"`), data.CodeID, "id"}, {with("id", `null`), data.CodeID, "id"}, {with("id", `"PARTPARTPARTPART"`), data.CodeID, "id"},
		{with("field", `"a b"`), data.CodeField, "field"}, {with("field", `"__proto__"`), data.CodeField, "field"},
		{with("value", `"`+strings.Repeat("x", MaxValue)+`"`), data.CodeTooBig, "value"},
		{with("value", deep), data.CodeTooBig, "value"}, {with("value", veryDeep), data.CodeTooBig, fmt.Sprintf("byte %d", strings.Index(with("value", veryDeep), "[[")+MaxDepth+3)}, {with("value", `1e999`), data.CodeTooBig, ""},
		{with("stamp", `null`), data.CodeStamp, "stamp"}, {with("stamp", `42`), data.CodeStamp, "stamp"}, {with("stamp", `[9007199254740992,"aaaaaaaaaaaaaaaa"]`), data.CodeStamp, "stamp"},
		{with("base", `0`), data.CodeBase, "base"}, {with("base", `[0,"aaaaaaaaaaaaaaaa"]`), data.CodeBase, "base"},
		{with("base", `[42,"aaaaaaaaaaaaaaaa"]`), data.CodeBase, "base"},
		{with("base", `[43,"aaaaaaaaaaaaaaaa"]`), data.CodeBase, "base"},
		{with("base", `[42,"22222222aaaaaaaa"]`), data.CodeBase, "base"}, // earlier in the order, but then its counter was not seen
	} {
		_, err := Decode([]byte(test.text))
		told(t, fmt.Sprintf("%.80s", test.text), err, test.code, test.at)
	}
}

func told(t *testing.T, what string, err error, code, at string) {
	t.Helper()
	var e *data.Error
	if !errors.As(err, &e) || e.Code != code || e.At != at || e.Text == "" || len(e.Text) > 400 {
		t.Errorf("%s: told %+v, not %s at %s", what, err, code, at)
		return
	}
	if !slices.Contains(data.Codes(), code) {
		t.Errorf("%s is not among the codes", code)
	}
}

func canonical(text string) (json.RawMessage, error) {
	var value any
	if err := json.Unmarshal([]byte(text), &value); err != nil {
		return nil, err
	}
	return Canonical(value)
}

func TestCanonical(t *testing.T) {
	for text, want := range map[string]string{
		` { "b" : 1 , "a" : [ ] } `: `{"a":[],"b":1}`,
		`2.50`:                      `2.5`, `25e-1`: `2.5`, `-0`: `0`, `[-0.0]`: `[0]`, `{"a":-0}`: `{"a":0}`, `100000000000000000000`: `100000000000000000000`, `1e21`: `1e+21`,
		`"<\u00e9\/>"`: `"\u003cé/\u003e"`, `"\ud83e\udda6"`: `"🦦"`, `{"a":1,"a":2}`: `{"a":2}`, `null`: `null`,
		strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth): strings.Repeat("[", MaxDepth) + strings.Repeat("]", MaxDepth),
	} {
		got, err := canonical(text)
		if err != nil || string(got) != want {
			t.Errorf("%s became %s, %v", text, got, err)
		}
	}
}

func TestCanonicalIsStable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number, words := rapid.Float64Range(-math.MaxFloat64, math.MaxFloat64).Draw(t, "number"), rapid.String().Draw(t, "text")
		value := map[string]any{"number": number, "text": words}
		text, err := json.Marshal(value)
		if err != nil {
			t.Fatal(err)
		}
		once, err := canonical(string(text))
		if err != nil {
			t.Fatal(err)
		}
		twice, err := canonical(string(once))
		if err != nil || string(once) != string(twice) {
			t.Fatalf("%s became %s, %v", once, twice, err)
		}
		var back map[string]any
		if json.Unmarshal(once, &back) != nil || back["number"] != number || back["text"] != words {
			t.Fatalf("%v became %v", value, back)
		}
	})
}

func file(changes ...string) string {
	return `{"format":"needlesight-changes","version":1,"made":"2026-11-25T10:00","changes":[` + strings.Join(changes, ",") + `]}`
}

const fact = `{"kind":"reading","id":"%s","field":"fact","value":{"sitting":"ssssssssssssssss","part":"partpartpartpart","value":%s},"stamp":[%d,"aaaaaaaaaaaaaaaa"],"base":null}`

func TestFile(t *testing.T) {
	first, second := fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "3.25", 9), fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "3.250", 10)
	f, err := DecodeFile([]byte(file(good, good, first, second)))
	if err != nil || len(f.Changes) != 4 || f.Made != "2026-11-25T10:00" {
		t.Fatalf("read %+v, %v", f, err)
	}
	text, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	again, err := DecodeFile(text)
	if err != nil || !slices.EqualFunc(f.Changes, again.Changes, Change.Equal) {
		t.Errorf("came back as %+v, %v", again, err)
	}
	text, _ = json.Marshal(NewFile("2026-11-25", nil))
	if f, err = DecodeFile(text); err != nil || len(f.Changes) != 0 {
		t.Errorf("a file of nothing came back as %+v, %v", f, err)
	}
}

func TestFileRefuses(t *testing.T) {
	whole := file(good)
	other := func(from, to string) string { return strings.Replace(whole, from, to, 1) }
	for _, test := range []struct{ text, code, at string }{
		{whole[:len(whole)/2], data.CodeNotJSON, fmt.Sprintf("byte %d", len(whole)/2)},
		{`PK`, data.CodeNotJSON, "byte 1"},
		{`[]`, data.CodeRequest, ""}, {`{}`, data.CodeRequest, "format"},
		{other(`needlesight-changes`, `other`), data.CodeFormat, "format"}, {other(`"needlesight-changes"`, `null`), data.CodeFormat, "format"},
		{other(`"version":1`, `"version":2`), data.CodeVersion, "version"}, {other(`"version":1`, `"version":"1"`), data.CodeVersion, "version"},
		{other(`"2026-11-25T10:00"`, `null`), data.CodeRequest, "made"}, {other(`"made"`, `"more":1,"made"`), data.CodeRequest, "more"},
		{other(`[{`, `[7 {`), data.CodeShape, "changes[0]"}, {other(`[{`, `[{"kind" `), data.CodeNotJSON, "byte 90"}, {other(`}]`, `}}`), data.CodeNotJSON, fmt.Sprintf("byte %d", len(whole)-1)},
		{whole + "x", data.CodeNotJSON, fmt.Sprintf("byte %d", len(whole))}, {whole + whole, data.CodeNotJSON, fmt.Sprintf("byte %d", len(whole)+1)},
		{other(`"made"`, `"version":1,"made"`), data.CodeRequest, "version"}, {other(`[{`, `[1e999,{`), data.CodeTooBig, "changes[0]"},
		{other(`"changes":[`, `"changes":7,"x":[`), data.CodeRequest, "changes"}, {"\ufeff" + whole, data.CodeNotJSON, "byte 1"}, {whole[:len(whole)-1], data.CodeNotJSON, fmt.Sprintf("byte %d", len(whole)-1)},
		{file(good, `null`), data.CodeShape, "changes[1]"},
		{file(good, with("kind", `"weight"`)), data.CodeKind, "changes[1].kind"},
		{file(good, with("field", `"weight"`)), data.CodeField, "changes[1].field"},
		{file(good, with("value", `7`)), data.CodeValue, "changes[1].value"},
		{file(fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "-1", 9)), data.CodeValue, "changes[0].value.value"},
		{file(good, good, with("value", `"tale"`)), data.CodeSameStamp, "changes[2].stamp"},
		{file(good, with("base", `null`)), data.CodeSameStamp, "changes[1].stamp"},
		{file(fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "1", 9), fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "2", 10)), data.CodeFactTwice, "changes[1].value"},
	} {
		_, err := DecodeFile([]byte(test.text))
		told(t, fmt.Sprintf("%.120s", test.text), err, test.code, test.at)
	}
	if _, err := DecodeFile([]byte(`{"format":"needlesight-changes","version":1,"made":"","changes":{}}`)); err == nil {
		t.Error("changes that are no list were read")
	}
}

func TestSentenceNamesTheChange(t *testing.T) {
	_, err := DecodeFile([]byte(file(good, fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "-1", 9))))
	want := "change 2 (fact of reading rrrrrrrrrrrrrrrr): fact.value is -1; it must be a number from 0 to 10000000"
	if err == nil || err.Error() != want {
		t.Errorf("told %v\nnot  %s", err, want)
	}
}

func TestTooMany(t *testing.T) {
	text := "[" + strings.Repeat(good+",", 2) + good + "]"
	for most, code := range map[int]string{2: data.CodeTooMany, 3: ""} {
		r := newReader([]byte(text))
		if r.most != MaxMany {
			t.Fatalf("%d are taken at most", r.most)
		}
		r.most = most
		changes, err := r.changes(true)
		if code != "" {
			told(t, "three of two", err, code, "changes")
		} else if err != nil || len(changes) != 3 {
			t.Errorf("three of three: %d, %v", len(changes), err)
		}
	}
}

func TestDecodeListTakesKindsItDoesNotKnow(t *testing.T) {
	changes, err := DecodeList([]byte(`{"changes":[` + with("kind", `"later_kind"`) + `]}`))
	if err != nil || len(changes) != 1 {
		t.Errorf("read %v, %v", changes, err)
	}
}

// FuzzDecodeFile: nothing that is read can make it panic, and what it took
// it takes again.
func FuzzDecodeFile(f *testing.F) {
	f.Add(file(good))
	f.Add(file(fmt.Sprintf(fact, "rrrrrrrrrrrrrrrr", "3", 9), good))
	f.Add(`{"format":null}`)
	f.Fuzz(func(t *testing.T, text string) {
		read, err := DecodeFile([]byte(text))
		if err != nil {
			var e *data.Error
			if !errors.As(err, &e) || e.Text == "" {
				t.Fatalf("told %v", err)
			}
			return
		}
		again, err := json.Marshal(read)
		if err != nil {
			t.Fatal(err)
		}
		if _, err = DecodeFile(again); err != nil {
			t.Fatalf("%s was taken once, then %v", text, err)
		}
	})
}

func BenchmarkDecodeFile(b *testing.B) {
	var changes []string
	for i := range 10_000 {
		changes = append(changes, fmt.Sprintf(fact, strings.Repeat("r", 12)+string([]byte{'a' + byte(i/26/26/26), 'a' + byte(i/26/26%26), 'a' + byte(i/26%26), 'a' + byte(i%26)}), "3.25", i+1))
	}
	text := []byte(file(changes...))
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := DecodeFile(text); err != nil {
			b.Fatal(err)
		}
	}
}
