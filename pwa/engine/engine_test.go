package engine

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"needlesight/pwa/engine/fault"
)

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
