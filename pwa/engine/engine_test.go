package engine

import (
	"encoding/json"
	"errors"
	"fmt"
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
}

// echo hands the request back, so that a test sees what was read.
var echo = method("echo", "", func(r outer) (outer, error) { return r, nil })

func TestStrictReading(t *testing.T) {
	for _, c := range []struct{ text, code, at string }{
		{`{}`, "", ""},
		{` { "list" : [ { "name" : "a\"b" , "value" : 1e3 } , {} ] , "whole" : -3 , "maybe" : null , "yes" : true } `, "", ""},
		{`{"deep":{"name":"\u0061","value":0},"list":null}`, "", ""},
		{`{"deep":null,"list":[]}`, "", ""},
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
		{`{"yes":1}`, fault.WrongType, "yes"},
		{`{"yes":true,"yes":false}`, fault.RepeatedField, "yes"},
		{`{"yes":true,"\u0079es":false}`, fault.RepeatedField, "yes"},
	} {
		got, err := echo.call([]byte(c.text))
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

func TestCallRefuses(t *testing.T) {
	for _, c := range []struct{ name, request, code string }{
		{"knit", `{}`, fault.UnknownMethod},
		{"", `{}`, fault.UnknownMethod},
		{"marks", `{"gap_px":1}` + strings.Repeat(" ", MaxRequest), fault.RequestTooBig},
		{"marks", `{"gap_px":1} 2`, fault.TrailingData},
		{"marks", `{"gap":1}`, fault.UnknownField},
	} {
		_, err := Call(c.name, []byte(c.request))
		var e *fault.Error
		if !errors.As(err, &e) || e.Code != c.code {
			t.Errorf("%s: %v, want %s", c.name, err, c.code)
		}
	}
}

func TestTableIsSortedAndDocumented(t *testing.T) {
	last := ""
	for _, m := range Methods() {
		if m.Name <= last {
			t.Errorf("%s does not come after %s", m.Name, last)
		}
		if !strings.HasSuffix(m.Doc, ".") || m.Request == nil || m.Response == nil {
			t.Errorf("%s lacks a sentence, a request or a response", m.Name)
		}
		last = m.Name
	}
}

func BenchmarkCall(b *testing.B) {
	for _, c := range []struct{ name, request string }{
		{"sight", `{"whole":3,"numerator":1,"denominator":4}`},
		{"parse-length", `{"text":"1 3/16","unit":"in"}`},
		{"ratio", `{"subject_a":"0.792","subject_b":"1","piece_a":"11/16 in","piece_b":"20/16 in","unit":"in"}`},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Call(c.name, []byte(c.request)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// 40 parts with 400 readings from JSON to JSON: ten counts of each part, one hold each.
func BenchmarkCall40Parts400Readings(b *testing.B) {
	var sittings, readings []string
	for hold := range 10 {
		sittings = append(sittings, fmt.Sprintf(`{"id":"s%d","method":"sight"}`, hold))
		for part := range 40 {
			value := float64(4+part) / 4 * (1 + 0.01*float64((part+hold)%5-2))
			readings = append(readings, fmt.Sprintf(`{"id":"r%d-%d","sitting":"s%d","part":"part %d","value":%v}`, hold, part, hold, part, value))
		}
	}
	side := `"sittings":[` + strings.Join(sittings, ",") + `],"readings":[` + strings.Join(readings, ",") + `]`
	for name, request := range map[string]string{
		"proportions": `{` + side + `,"ratios":[{"of":"part 7","to":"part 3"}]}`,
		"compare":     `{"subject":{` + side + `},"piece":{` + side + `},"scale":{"mode":"least-work"},"tolerance":0.04,"fixed":[]}`,
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Call(name, []byte(request)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// The strict reading alone, of a request as long as 400 readings.
func BenchmarkReading(b *testing.B) {
	text := []byte(`{"list":[{"name":"foreleg","value":1.25}` + strings.Repeat(`,{"name":"foreleg","value":1.25}`, 399) + `]}`)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := echo.call(text); err != nil {
			b.Fatal(err)
		}
	}
}
