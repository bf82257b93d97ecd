package length

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"needlesight/pwa/engine/fault"
)

// MaxText is the most characters a typed length or count may have.
const MaxText = 64

// Typed is a length or a count as someone typed it.
type Typed struct {
	// Value is the number, in Unit; 0 to fault.MaxValue.
	Value float64
	// Unit is MM, CM or IN, or empty when none was typed.
	Unit string
}

// Read reads a typed length or count: a decimal number with a point or a comma
// ("2.5", "3,5", the comma never parts thousands), a fraction ("20/16"), or a whole
// number and a fraction ("1 3/16", "1-3/16", "1¾"), then perhaps a unit (mm, cm,
// in, the inch mark, or the words). It is refused with EmptyText, NotALength,
// UnknownUnit or OutOfRange; the fault lies at field:n, n being the character of
// the text, counted from 0.
func Read(field, text string) (Typed, error) {
	r := reader{field: field, text: []rune(text)}
	if len(r.text) > MaxText {
		return Typed{}, r.fault(fault.NotALength, MaxText, "is longer than %d characters", MaxText)
	}
	r.space()
	if r.end() {
		return Typed{}, fault.New(fault.EmptyText, field, "%s is empty, and a length or a count is needed there.", field)
	}
	value, err := r.number()
	if err != nil {
		return Typed{}, err
	}
	r.space()
	unit, err := r.unit()
	if err != nil {
		return Typed{}, err
	}
	if value > fault.MaxValue {
		return Typed{}, fault.New(fault.OutOfRange, field, "%s is %v, and at most %s is read.", field, value, fault.Number(fault.MaxValue))
	}
	return Typed{value, unit}, nil
}

// glyphs are the fractions that Unicode has a sign for (The Unicode Standard, code
// charts Latin-1 Supplement and Number Forms).
var glyphs = map[rune]float64{
	'¼': 1. / 4, '½': 1. / 2, '¾': 3. / 4, '⅓': 1. / 3, '⅔': 2. / 3,
	'⅕': 1. / 5, '⅖': 2. / 5, '⅗': 3. / 5, '⅘': 4. / 5, '⅙': 1. / 6, '⅚': 5. / 6,
	'⅛': 1. / 8, '⅜': 3. / 8, '⅝': 5. / 8, '⅞': 7. / 8,
}

var units = map[string]string{
	"": "", "mm": MM, "millimetre": MM, "millimetres": MM, "millimeter": MM, "millimeters": MM,
	"cm": CM, "centimetre": CM, "centimetres": CM, "centimeter": CM, "centimeters": CM,
	"in": IN, "in.": IN, "inch": IN, "inches": IN, `"`: IN, "″": IN, "”": IN, "''": IN, "′′": IN,
}

type reader struct {
	field string
	text  []rune
	at    int
}

func (r *reader) end() bool { return r.at == len(r.text) }

func (r *reader) peek() rune {
	if r.end() {
		return -1
	}
	return r.text[r.at]
}

func (r *reader) space() {
	for !r.end() && unicode.IsSpace(r.peek()) {
		r.at++
	}
}

func (r *reader) digits() string {
	start := r.at
	for r.peek() >= '0' && r.peek() <= '9' {
		r.at++
	}
	return string(r.text[start:r.at])
}

// number reads whatever number begins here.
func (r *reader) number() (float64, error) {
	start, whole := r.at, r.digits()
	switch c := r.peek(); {
	case c == '.' || c == ',':
		return r.decimal(whole)
	case whole == "" && glyphs[c] > 0:
		r.at++
		return glyphs[c], nil
	case whole == "" && (c == '-' || c == '−' || c == '+'):
		return 0, r.fault(fault.NotALength, start, "begins with a sign, and a length or a count has none")
	case whole == "":
		return 0, r.fault(fault.NotALength, start, "does not begin with a number")
	case c == '/' || c == '⁄':
		return r.over(whole)
	}
	part, err := r.fraction()
	return atof(whole) + part, err
}

// decimal reads on from the point or comma after the whole digits.
func (r *reader) decimal(whole string) (float64, error) {
	r.at++
	after := r.digits()
	if after == "" {
		return 0, r.fault(fault.NotALength, r.at, "needs a digit after the point")
	}
	return atof(whole + "." + after), nil
}

// fraction reads what may follow a whole number: a space or a hyphen and a fraction,
// or a fraction sign. It reads nothing and returns 0 when there is none.
func (r *reader) fraction() (float64, error) {
	start := r.at
	r.space()
	if r.at == start && r.peek() == '-' {
		r.at++
	}
	if part := glyphs[r.peek()]; part > 0 {
		r.at++
		return part, nil
	}
	first := r.at
	over := r.digits()
	if over == "" {
		if r.at = start; r.peek() == '-' {
			return 0, r.fault(fault.NotALength, first, "needs a fraction after the hyphen")
		}
		return 0, nil
	}
	if c := r.peek(); c != '/' && c != '⁄' {
		return 0, r.fault(fault.NotALength, first, "has a second number that is no fraction")
	}
	part, err := r.over(over)
	if err == nil && part >= 1 {
		err = r.fault(fault.NotALength, first, "has a fraction that is not less than 1 after its whole number")
	}
	return part, err
}

// over reads on from the stroke of a fraction.
func (r *reader) over(above string) (float64, error) {
	r.at++
	first := r.at
	below := atof(r.digits())
	switch {
	case r.at == first:
		return 0, r.fault(fault.NotALength, first, "needs a number under the stroke")
	case below == 0:
		return 0, r.fault(fault.NotALength, first, "has 0 under the stroke")
	case below > 1000:
		return 0, r.fault(fault.NotALength, first, "has more than 1000 under the stroke")
	}
	return atof(above) / below, nil
}

// unit reads the rest of the text as a unit, or none.
func (r *reader) unit() (string, error) {
	word := strings.ToLower(strings.TrimRightFunc(string(r.text[r.at:]), unicode.IsSpace))
	if unit, known := units[word]; known {
		return unit, nil
	}
	if unicode.IsLetter(r.peek()) {
		return "", r.fault(fault.UnknownUnit, r.at, "has %q where a unit is wanted: mm, cm or in", word)
	}
	return "", r.fault(fault.NotALength, r.at, "goes on with %q after its number", word)
}

func (r *reader) fault(code string, at int, format string, args ...any) error {
	where := fmt.Sprintf("%s:%d", r.field, at)
	return fault.New(code, where, "%q %s (character %d).", string(r.text[:min(len(r.text), MaxText)]), fmt.Sprintf(format, args...), at+1)
}

// atof is the value of decimal digits with at most one point; there is nothing else it is given.
func atof(digits string) float64 {
	value, _ := strconv.ParseFloat(digits, 64)
	return value
}
