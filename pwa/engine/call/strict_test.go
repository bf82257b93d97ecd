package call

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"needlesight/pwa/engine/fault"
)

type inner struct {
	Name  string  `json:"name"`
	Value float64 `json:"value"`
}

type base struct {
	Deep *inner `json:"deep"`
}

type outer struct {
	base
	List  []inner  `json:"list"`
	Whole int      `json:"whole"`
	Maybe *float64 `json:"maybe"`
	Yes   bool     `json:"yes"`

	Point [2]float64     `json:"point"`
	Rings [][][2]float64 `json:"rings"`
	Which wordOrInner    `json:"which"`
}

// wordOrInner is a word, or an inner.
type wordOrInner struct {
	word  string
	inner inner
}

func (wordOrInner) Either() []any { return []any{"", inner{}} }

func (w *wordOrInner) UnmarshalJSON(text []byte) error {
	if text[0] == '"' {
		return json.Unmarshal(text, &w.word)
	}
	return json.Unmarshal(text, &w.inner)
}

func (w wordOrInner) MarshalJSON() ([]byte, error) {
	if w.word != "" {
		return json.Marshal(w.word)
	}
	return json.Marshal(w.inner)
}

// echo hands the request back, so that a test sees what was read.
var echo = Plain("echo", "", func(r outer) (outer, error) { return r, nil })

func TestStrictReading(t *testing.T) {
	for _, c := range []struct{ text, code, at string }{
		{`{}`, "", ""},
		{` { "list" : [ { "name" : "a\"b" , "value" : 1e3 } , {} ] , "whole" : -3 , "maybe" : null , "yes" : true } `, "", ""},
		{`{"deep":{"name":"\u0061","value":0},"list":null}`, "", ""},
		{`{"deep":null,"list":[]}`, "", ""},
		{`{"point":[1,-2.5],"rings":[[[0,1],[2,3]],[],null]}`, "", ""},
		{`{"which":"id-1"}`, "", ""},
		{`{"which":{"name":"card","value":85.6}}`, "", ""},
		{``, fault.NotJSON, ""},
		{`  `, fault.NotJSON, ""},
		{`{"list":`, fault.NotJSON, "byte 8"},
		{`{'list':1}`, fault.NotJSON, "byte 2"},
		{`{}{}`, fault.TrailingData, "byte 2"},
		{`{} x`, fault.TrailingData, "byte 2"},
		{`[]`, fault.WrongType, "the request"},
		{`null`, fault.WrongType, "the request"},
		{`{"lisst":[]}`, fault.UnknownField, "lisst"},
		{`{"List":[]}`, fault.UnknownField, "List"},
		{`{"list":[{},{"name":"a","weight":[[1],{"x":"}"}]}]}`, fault.UnknownField, "list[1].weight"},
		{`{"deep":{"value":"3"}}`, fault.WrongType, "deep.value"},
		{`{"list":[{"value":null}]}`, fault.WrongType, "list[0].value"},
		{`{"list":{}}`, fault.WrongType, "list"},
		{`{"list":[3]}`, fault.WrongType, "list[0]"},
		{`{"whole":1.5}`, fault.WrongType, "whole"},
		{`{"whole":1e99}`, fault.WrongType, "whole"},
		{`{"maybe":1e999}`, fault.OutOfRange, "maybe"},
		{`{"point":[1]}`, fault.WrongType, "point"},
		{`{"point":[]}`, fault.WrongType, "point"},
		{`{"point":[1,2,3]}`, fault.WrongType, "point"},
		{`{"point":null}`, fault.WrongType, "point"},
		{`{"point":[1,null]}`, fault.WrongType, "point[1]"},
		{`{"rings":[[[0,1],[2]]]}`, fault.WrongType, "rings[0][1]"},
		{`{"rings":[[[0,1],[2,"3"]]]}`, fault.WrongType, "rings[0][1][1]"},
		{`{"rings":[[[0,1],null]]}`, fault.WrongType, "rings[0][1]"},
		{`{"which":3}`, fault.WrongType, "which"},
		{`{"which":null}`, fault.WrongType, "which"},
		{`{"which":{"name":"card","size":1}}`, fault.UnknownField, "which.size"},
		{`{"yes":1}`, fault.WrongType, "yes"},
		{`{"yes":true,"yes":false}`, fault.RepeatedField, "yes"},
		{`{"yes":true,"\u0079es":false}`, fault.RepeatedField, "yes"},
	} {
		got, err := echo.run([]byte(c.text), nil)
		var e *fault.Error
		switch {
		case c.code == "" && err != nil:
			t.Errorf("%s: refused: %v", c.text, err)
		case c.code == "":
			want := outer{}
			if err := json.Unmarshal([]byte(c.text), &want); err != nil {
				t.Fatal(err)
			}
			a, _ := json.Marshal(got)
			b, _ := json.Marshal(want)
			if string(a) != string(b) {
				t.Errorf("%s: read as %s, and encoding/json reads %s", c.text, a, b)
			}
		case !errors.As(err, &e):
			t.Errorf("%s: error %v, want %s", c.text, err, c.code)
		case e.Code != c.code || c.at != "" && e.At != c.at:
			t.Errorf("%s: %s at %q (%s), want %s at %q", c.text, e.Code, e.At, e.Text, c.code, c.at)
		}
	}
}

// The strict reading alone, of a request as long as 400 readings.
func BenchmarkReading(b *testing.B) {
	text := []byte(`{"list":[{"name":"foreleg","value":1.25}` + strings.Repeat(`,{"name":"foreleg","value":1.25}`, 399) + `]}`)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := echo.run(text, nil); err != nil {
			b.Fatal(err)
		}
	}
}
