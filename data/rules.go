package data

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Limits of what a field may hold.
const (
	MaxText   = 200 // bytes of UTF-8 in a name or a text
	MaxNumber = 1e7 // mm, px or counts: ten kilometres, or ten million
	MaxListed = 400 // ids in one list
)

// A rule is what the value of a field must be. Values are as encoding/json
// makes them of JSON: nil, bool, float64, string, []any, map[string]any.
type rule struct {
	says string // what is asked for, to stand after "must be"
	find func(value any) *wrong
}

// wrong is the first fault found in a value.
type wrong struct {
	at   string // path inside the value, such as .mm or .sittings[3]; "" for the value itself
	text string // what is wrong, to stand after the path
}

// plain is a rule about one value with nothing inside.
func plain(says string, ok func(any) bool) rule {
	return rule{says, func(v any) *wrong {
		if ok(v) {
			return nil
		}
		return &wrong{"", "is " + shown(v) + "; it must be " + says}
	}}
}

// shown is a value as JSON, short enough for a sentence.
func shown(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return "not JSON"
	}
	s := string(b)
	if len(s) <= 48 {
		return s
	}
	cut := 40
	for !utf8.RuneStart(s[cut]) {
		cut--
	}
	return fmt.Sprintf("%s... (%d bytes)", s[:cut], len(s))
}

// text is a string of min to MaxText bytes. With min 1 it must hold more
// than spaces.
func text(min int) rule {
	return plain(fmt.Sprintf("a text of %d to %d bytes without control characters", min, MaxText), func(v any) bool {
		s, ok := v.(string)
		return ok && len(s) <= MaxText && len(strings.TrimSpace(s)) >= min && strings.IndexFunc(s, unicode.IsControl) < 0
	})
}

// id is the id of a record.
func id() rule {
	return plain("an id (16 letters a to z or digits 2 to 7)", func(v any) bool {
		s, ok := v.(string)
		return ok && IsID(s)
	})
}

// flag is true or false.
func flag() rule {
	return plain("true or false", func(v any) bool { _, ok := v.(bool); return ok })
}

// from is a number from low to high, both allowed.
func from(low, high float64) rule {
	return plain(fmt.Sprintf("a number from %.0f to %.0f", low, high), func(v any) bool {
		x, ok := v.(float64)
		return ok && x >= low && x <= high
	})
}

// above is a number above zero and at most high.
func above(high float64) rule {
	return plain(fmt.Sprintf("a number above 0 and at most %.0f", high), func(v any) bool {
		x, ok := v.(float64)
		return ok && x > 0 && x <= high
	})
}

// share is a part of one: above 0 and below 1.
func share() rule {
	return plain("a number above 0 and below 1", func(v any) bool {
		x, ok := v.(float64)
		return ok && x > 0 && x < 1
	})
}

// oneOf is one of some words.
func oneOf(words ...string) rule {
	return plain("one of "+strings.Join(words, ", "), func(v any) bool {
		for _, word := range words {
			if v == word {
				return true
			}
		}
		return false
	})
}

// steps is the number of steps a unit or an inch is divided into; 0 is a
// free slide.
func steps() rule {
	return plain("one of 0, 2, 3, 4, 8, 16, 32", func(v any) bool {
		x, ok := v.(float64)
		return ok && x == math.Trunc(x) && strings.Contains(" 0 2 3 4 8 16 32 ", fmt.Sprintf(" %.0f ", x))
	})
}

// day is a date, minute a date and a time of the maker's own clock.
func day() rule    { return clock("2006-01-02", "a date such as 2026-11-25") }
func minute() rule { return clock("2006-01-02T15:04", "a date and time such as 2026-11-25T10:00") }

func clock(layout, says string) rule {
	return plain(says, func(v any) bool {
		s, ok := v.(string)
		if !ok || len(s) != len(layout) {
			return false
		}
		_, err := time.Parse(layout, s)
		return err == nil
	})
}

// or is one rule or another; the fault told is that of neither.
func or(a, b rule) rule {
	return plain(a.says+", or "+b.says, func(v any) bool { return a.find(v) == nil || b.find(v) == nil })
}

// orNull is a rule, or null.
func orNull(r rule) rule {
	says := r.says + ", or null"
	return rule{says, func(v any) *wrong {
		if v == nil {
			return nil
		}
		w := r.find(v)
		if w != nil && w.at == "" {
			w.text = strings.TrimSuffix(w.text, r.says) + says
		}
		return w
	}}
}

// list is a list of at most MaxListed values, each after one rule.
func list(r rule) rule {
	says := fmt.Sprintf("a list of at most %d", MaxListed)
	return rule{says, func(v any) *wrong {
		values, ok := v.([]any)
		if !ok || len(values) > MaxListed {
			return &wrong{"", "is " + shown(v) + "; it must be " + says}
		}
		for i, value := range values {
			if w := r.find(value); w != nil {
				return &wrong{fmt.Sprintf("[%d]%s", i, w.at), w.text}
			}
		}
		return nil
	}}
}

// member is one name of an object, and the rule of what stands under it.
// One that may be null may also be left out.
type member struct {
	name string
	rule rule
}

// object is an object with these members and no others, and then, if
// further is not nil, one more rule about them together.
func object(further func(map[string]any) *wrong, members ...member) rule {
	return rule{"an object", func(v any) *wrong {
		given, ok := v.(map[string]any)
		if !ok {
			return &wrong{"", "is " + shown(v) + "; it must be an object"}
		}
		known := 0
		for _, m := range members {
			value, present := given[m.name]
			if present {
				known++
			}
			if w := m.rule.find(value); w != nil {
				if !present {
					return &wrong{"." + m.name, "is missing"}
				}
				return &wrong{"." + m.name + w.at, w.text}
			}
		}
		if known < len(given) {
			return &wrong{"." + stranger(given, members), "is not known here"}
		}
		if further != nil {
			return further(given)
		}
		return nil
	}}
}

// stranger is the first name, by the alphabet, that no member bears.
func stranger(given map[string]any, members []member) string {
	first := ""
	for name := range given {
		known := false
		for _, m := range members {
			known = known || m.name == name
		}
		if !known && (first == "" || name < first) {
			first = name
		}
	}
	return strings.Trim(shown(first), `"`)
}
