package data

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Limits of what a field may hold.
const (
	MaxText   = 200 // bytes of UTF-8 in a name or a text
	MaxNumber = 1e7 // mm, px or counts: ten kilometres, or ten million
	MaxListed = 400 // ids in one list

	MaxPicture = 64 << 20 // bytes of a picture
	MaxSide    = 65535    // px of a picture, along one side
	MaxPoints  = 600      // of an outline, all its rings together
)

// A rule is what the value of a field must be. Values are as encoding/json
// makes them of JSON: nil, bool, float64, string, []any, map[string]any.
// (Rules are types, not closures: the compiler copies a closure to wherever
// it is made, and the phone has to load every copy.)
type rule interface {
	says() string // what is asked for, to stand after "must be"
	find(value any) *wrong
}

// wrong is the first fault found in a value.
type wrong struct {
	at   string // path inside the value, such as .mm or .sittings[3]; "" for the value itself
	text string // what is wrong, to stand after the path
}

// unless tells that a value is not what a rule asks for.
func unless(ok bool, r rule, value any) *wrong {
	if ok {
		return nil
	}
	return &wrong{"", "is " + shown(value) + "; it must be " + r.says()}
}

// shown is a value as JSON, short enough for a sentence.
func shown(value any) string {
	b, err := json.Marshal(value)
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

// text is a string of at least so many bytes, 0 or 1, and at most MaxText.
// If 1, it must hold more than spaces.
type text int

func (r text) says() string {
	return fmt.Sprintf("a text of %d to %d bytes without control characters", int(r), MaxText)
}

func (r text) find(value any) *wrong {
	s, ok := value.(string)
	return unless(ok && len(s) <= MaxText && len(strings.TrimSpace(s)) >= int(r) && strings.IndexFunc(s, unicode.IsControl) < 0, r, value)
}

// id is the id of a record.
type id struct{}

func (id) says() string { return "an id (16 letters a to z or digits 2 to 7)" }

func (r id) find(value any) *wrong {
	s, ok := value.(string)
	return unless(ok && IsID(s), r, value)
}

// hash names a picture by the SHA-256 of its bytes.
type hash struct{}

func (hash) says() string { return "sha256: and 64 digits 0 to 9 or letters a to f" }

func (r hash) find(value any) *wrong {
	s, ok := value.(string)
	digits, named := strings.CutPrefix(s, "sha256:")
	return unless(ok && named && len(digits) == 64 && strings.Trim(digits, "0123456789abcdef") == "", r, value)
}

// colour is as in CSS, with six digits.
type colour struct{}

func (colour) says() string { return "a colour such as #a0522d" }

func (r colour) find(value any) *wrong {
	s, ok := value.(string)
	digits, marked := strings.CutPrefix(s, "#")
	return unless(ok && marked && len(digits) == 6 && strings.Trim(digits, "0123456789abcdef") == "", r, value)
}

// flag is true or false.
type flag struct{}

func (flag) says() string { return "true or false" }

func (r flag) find(value any) *wrong {
	_, ok := value.(bool)
	return unless(ok, r, value)
}

// from is a number from low to high, both allowed.
type from struct{ low, high float64 }

func (r from) says() string { return fmt.Sprintf("a number from %.0f to %.0f", r.low, r.high) }

func (r from) find(value any) *wrong {
	x, ok := value.(float64)
	return unless(ok && x >= r.low && x <= r.high, r, value)
}

// above is a number above 0 and at most this.
type above float64

func (r above) says() string { return fmt.Sprintf("a number above 0 and at most %.0f", float64(r)) }

func (r above) find(value any) *wrong {
	x, ok := value.(float64)
	return unless(ok && x > 0 && x <= float64(r), r, value)
}

// share is a part of one.
type share struct{}

func (share) says() string { return "a number above 0 and below 1" }

func (r share) find(value any) *wrong {
	x, ok := value.(float64)
	return unless(ok && x > 0 && x < 1, r, value)
}

// oneOf is one of some words.
type oneOf []any

func (r oneOf) says() string {
	text := "one of"
	for i, value := range r {
		if i > 0 {
			text += ","
		}
		text += fmt.Sprintf(" %v", value)
	}
	return text
}

func (r oneOf) find(value any) *wrong {
	for _, allowed := range r {
		if scalar(value) && value == allowed {
			return nil
		}
	}
	return unless(false, r, value)
}

// scalar tells whether a value can be compared.
func scalar(value any) bool {
	switch value.(type) {
	case []any, map[string]any:
		return false
	}
	return true
}

// day is a date, minute a date and a time, by the maker's own clock.
type (
	day    struct{}
	minute struct{}
)

func (day) says() string    { return "a date such as 2026-11-25" }
func (minute) says() string { return "a date and time such as 2026-11-25T10:00" }

func (r day) find(value any) *wrong {
	s, ok := value.(string)
	return unless(ok && isDay(s), r, value)
}

func (r minute) find(value any) *wrong {
	s, ok := value.(string)
	return unless(ok && len(s) == 16 && isDay(s[:10]) && s[10] == 'T' && s[13] == ':' &&
		digits(s[11:13]) < 24 && digits(s[14:]) < 60, r, value)
}

// isDay tells whether s is a day of the calendar, written YYYY-MM-DD. (Package
// time would say the same, and cost the phone 15 KB to load.)
func isDay(s string) bool {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' {
		return false
	}
	year, month, day := digits(s[:4]), digits(s[5:7]), digits(s[8:])
	if year == noDigits || month < 1 || month > 12 {
		return false
	}
	days := [...]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[month-1]
	if month == 2 && year%4 == 0 && (year%100 != 0 || year%400 == 0) {
		days = 29
	}
	return day >= 1 && day <= days
}

// noDigits is larger than any number of four digits.
const noDigits = 10_000

// digits is the number that s writes in digits only, or noDigits.
func digits(s string) int {
	n, err := strconv.ParseUint(s, 10, 32)
	if err != nil {
		return noDigits
	}
	return int(n)
}

// or is one rule or another; the fault told is that of neither.
type or struct{ a, b rule }

func (r or) says() string { return r.a.says() + ", or " + r.b.says() }

func (r or) find(value any) *wrong {
	return unless(r.a.find(value) == nil || r.b.find(value) == nil, r, value)
}

// orNull is a rule, or null.
type orNull struct{ rule }

func (r orNull) says() string { return r.rule.says() + ", or null" }

func (r orNull) find(value any) *wrong {
	if value == nil {
		return nil
	}
	w := r.rule.find(value)
	if w != nil && w.at == "" {
		return unless(false, r, value)
	}
	return w
}

// list is a list of at most MaxListed values, each after one rule.
type list struct{ each rule }

func (r list) says() string { return fmt.Sprintf("a list of at most %d", MaxListed) }

func (r list) find(value any) *wrong {
	values, ok := value.([]any)
	if !ok || len(values) > MaxListed {
		return unless(false, r, value)
	}
	for i, value := range values {
		if w := r.each.find(value); w != nil {
			return &wrong{fmt.Sprintf("[%d]%s", i, w.at), w.text}
		}
	}
	return nil
}

// exactly is a list of so many values, each after one rule.
type exactly struct {
	n    int
	each rule
}

func (r exactly) says() string { return fmt.Sprintf("a list of %d", r.n) }

func (r exactly) find(value any) *wrong {
	values, ok := value.([]any)
	if !ok || len(values) != r.n {
		return unless(false, r, value)
	}
	return list{r.each}.find(value)
}

// rings are an outline: of each ring its points one after the other, as x,
// y, x, y, ... in px of the picture.
type rings struct{}

func (rings) says() string {
	return fmt.Sprintf("a list of rings, each of 3 points or more as x, y, x, y and so on, %d points in all at most", MaxPoints)
}

func (r rings) find(value any) *wrong {
	all, ok := value.([]any)
	points := 0
	for _, ring := range all {
		numbers, listed := ring.([]any)
		ok = ok && listed && len(numbers) >= 6 && len(numbers)%2 == 0
		points += len(numbers) / 2
	}
	if !ok || len(all) == 0 || points > MaxPoints {
		return unless(false, r, value)
	}
	for i, ring := range all {
		for j, x := range ring.([]any) {
			if w := point.each.find(x); w != nil {
				return &wrong{fmt.Sprintf("[%d][%d]", i, j), w.text}
			}
		}
	}
	return nil
}

// plane is one of the planes.
type plane struct{}

func (plane) says() string { return "a plane of kind rectangle or length" }

func (r plane) find(value any) *wrong {
	given, _ := value.(map[string]any)
	kind, _ := given["kind"].(string)
	if known, ok := planes[kind]; ok {
		return known.find(value)
	}
	return unless(false, r, value)
}

// object is an object with these members and no others.
type object []member

// member is one name of an object, and the rule of what stands under it.
// One that may be null may also be left out.
type member struct {
	name string
	rule rule
}

func (object) says() string { return "an object" }

func (r object) find(value any) *wrong {
	given, ok := value.(map[string]any)
	if !ok {
		return unless(false, r, value)
	}
	known := 0
	for _, m := range r {
		value, present := given[m.name]
		w := m.rule.find(value)
		switch {
		case w != nil && !present:
			return &wrong{"." + m.name, "is missing"}
		case w != nil:
			return &wrong{"." + m.name + w.at, w.text}
		case present:
			known++
		}
	}
	if known < len(given) {
		return &wrong{"." + r.stranger(given), "is not known here"}
	}
	return nil
}

// stranger is the first name, by the alphabet, that no member bears.
func (r object) stranger(given map[string]any) string {
	first, found := "", false
	for name := range given {
		if !r.has(name) && (!found || name < first) {
			first, found = name, true
		}
	}
	return strings.Trim(shown(first), `"`)
}

func (r object) has(name string) bool {
	for _, m := range r {
		if m.name == name {
			return true
		}
	}
	return false
}

// measured is the fact of a reading. A place may lie at the very start of
// its part; a part cannot be so short.
type measured struct{ object }

func (r measured) find(value any) *wrong {
	if w := r.object.find(value); w != nil {
		return w
	}
	fact := value.(map[string]any)
	if fact["value"] == 0.0 && fact["place"] == nil {
		return &wrong{".value", "is 0; only a place can lie at 0, a part cannot be so short"}
	}
	return nil
}
