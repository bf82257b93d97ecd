package call

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"needlesight/pwa/engine/fault"
)

// shape is what a JSON value must look like to fit a Go type. encoding/json alone
// would let other spellings of a field's name, a field given twice and null for a
// number pass in silence, and could not say which of 400 readings is wrong.
type shape struct {
	wants  string // what a person is told is wanted: "a number", "a list", ...
	null   bool   // null is allowed: a pointer or a list
	elem   *shape // of a list's items
	length int    // of a list that always has as many items; 0 for any other
	fields map[string]field
	either []*shape // a value of one of these instead
}

type field struct {
	index int
	shape *shape
}

const (
	anObject, aList       = "an object", "a list"
	aNumber, aWholeNumber = "a number", "a whole number"
	aText, aYesNo         = "a text", "true or false"
)

// Either is a type whose JSON is of one of several kinds: a word or an object, say.
// It reads them by an UnmarshalJSON of its own.
type Either interface {
	// Either returns a zero value of each, no two of one kind of JSON.
	Either() []any
}

// Choices are the types of which a value of t is one, when t is an Either.
func Choices(t reflect.Type) (choices []reflect.Type) {
	if t.Kind() != reflect.Struct || !t.Implements(reflect.TypeFor[Either]()) {
		return nil
	}
	for _, zero := range reflect.Zero(t).Interface().(Either).Either() {
		choices = append(choices, reflect.TypeOf(zero))
	}
	return choices
}

func shapeOf(t reflect.Type) *shape {
	if choices := Choices(t); choices != nil {
		return eitherOf(choices)
	}
	switch t.Kind() {
	case reflect.Pointer:
		s := *shapeOf(t.Elem())
		s.null = true
		return &s
	case reflect.Slice:
		return &shape{wants: aList, null: true, elem: shapeOf(t.Elem())}
	case reflect.Array:
		return &shape{wants: aList, elem: shapeOf(t.Elem()), length: t.Len()}
	case reflect.Float64:
		return &shape{wants: aNumber}
	case reflect.Int:
		return &shape{wants: aWholeNumber}
	case reflect.String:
		return &shape{wants: aText}
	case reflect.Bool:
		return &shape{wants: aYesNo}
	case reflect.Struct:
		s := &shape{wants: anObject, fields: map[string]field{}}
		s.addFields(t)
		return s
	}
	panic("a request cannot hold a " + t.String()) // found by any test that loads the table
}

func eitherOf(choices []reflect.Type) *shape {
	s := &shape{}
	var wants []string
	for _, t := range choices {
		one := shapeOf(t)
		s.either = append(s.either, one)
		wants = append(wants, one.wants)
	}
	s.wants = strings.Join(wants, " or ")
	return s
}

func (s *shape) addFields(t reflect.Type) {
	for f := range t.Fields() {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && name == "":
			s.addFields(f.Type)
		case f.IsExported() && name != "-" && name != "":
			s.fields[name] = field{len(s.fields), shapeOf(f.Type)}
		}
	}
	if len(s.fields) > 64 {
		panic(t.String() + " has more fields than a walk can tick off")
	}
}

// decode reads text into the struct that request points at, and refuses all that
// does not fit it exactly.
func (s *shape) decode(text []byte, request any) error {
	if !json.Valid(text) {
		return invalid(text)
	}
	w := walk{text: text}
	if err := w.value(s); err != nil {
		return err
	}
	if err := json.Unmarshal(text, request); err != nil {
		return fault.New(fault.WrongType, "", "The request cannot be read: %v.", err)
	}
	return nil
}

// invalid says why text is not one JSON value.
func invalid(text []byte) error {
	if len(bytes.TrimSpace(text)) == 0 {
		return fault.New(fault.NotJSON, "", "The request is empty, and a JSON object is needed.")
	}
	d := json.NewDecoder(bytes.NewReader(text))
	var first json.RawMessage
	err := d.Decode(&first)
	if err == nil {
		at := fmt.Sprintf("byte %d", d.InputOffset())
		return fault.New(fault.TrailingData, at, "The request goes on after its end, at %s.", at)
	}
	at := fmt.Sprintf("byte %d", len(text))
	if e, ok := errors.AsType[*json.SyntaxError](err); ok {
		at = fmt.Sprintf("byte %d", e.Offset)
		return fault.New(fault.NotJSON, at, "The request is not JSON: %s at %s.", e, at)
	}
	return fault.New(fault.NotJSON, at, "The request is not JSON: it breaks off at %s.", at)
}

// walk goes once over a text already known to be valid JSON.
type walk struct {
	text []byte
	at   int
	path []step // to the value that is walked over
}

// step is a field's name, or an item of a list.
type step struct {
	name string
	item int
}

func (w *walk) value(s *shape) error {
	found := kind(w.space())
	for _, one := range s.either {
		if found == one.wants {
			return w.value(one)
		}
	}
	switch {
	case found == "null" && s.null:
		w.skip()
		return nil
	case found == anObject && s.wants == anObject:
		return w.object(s)
	case found == aList && s.wants == aList:
		return w.list(s)
	case found == aNumber && (s.wants == aNumber || s.wants == aWholeNumber):
		return w.number(s)
	case found == s.wants:
		w.skip()
		return nil
	}
	return w.wrongType(found, s.wants)
}

func (w *walk) object(s *shape) error {
	var seen uint64
	w.path = append(w.path, step{})
	for w.more('}') {
		name := plain(w.skip())
		w.path[len(w.path)-1].name = name
		f, ok := s.fields[name]
		if !ok {
			return fault.New(fault.UnknownField, w.place(), "%q is not a field that is known there.", w.place())
		}
		if seen&(1<<f.index) != 0 {
			return fault.New(fault.RepeatedField, w.place(), "%s is given twice.", w.place())
		}
		seen |= 1 << f.index
		w.space()
		w.at++ // the colon
		if err := w.value(f.shape); err != nil {
			return err
		}
	}
	w.path = w.path[:len(w.path)-1]
	return nil
}

func (w *walk) list(s *shape) error {
	w.path = append(w.path, step{})
	for w.more(']') {
		if err := w.value(s.elem); err != nil {
			return err
		}
		w.path[len(w.path)-1].item++
	}
	items := w.path[len(w.path)-1].item
	w.path = w.path[:len(w.path)-1]
	if s.length > 0 && items != s.length {
		return w.wrongType(fmt.Sprintf("a list of %d", items), fmt.Sprintf("a list of %d", s.length))
	}
	return nil
}

func (w *walk) number(s *shape) error {
	text := string(w.skip())
	if s.wants == aWholeNumber {
		if _, err := strconv.Atoi(text); err != nil {
			return w.wrongType(text, s.wants)
		}
		return nil
	}
	if _, err := strconv.ParseFloat(text, 64); err != nil {
		return fault.New(fault.OutOfRange, w.place(), "%s is %.40s, which is too big a number.", w.place(), text)
	}
	return nil
}

func (w *walk) wrongType(found, wants string) error {
	place := w.place()
	if place == "" {
		place = "the request"
	}
	return fault.New(fault.WrongType, place, "%s is %.40s, where %s is wanted.", place, found, wants)
}

// place writes the path: readings[3].value.
func (w *walk) place() string {
	var text strings.Builder
	for i, s := range w.path {
		switch {
		case s.name == "":
			fmt.Fprintf(&text, "[%d]", s.item)
		case i > 0:
			text.WriteString("." + s.name)
		default:
			text.WriteString(s.name)
		}
	}
	return text.String()
}

// more steps over the bracket or comma before the next item, or over the closing
// bracket, and tells which.
func (w *walk) more(closing byte) bool {
	if w.space() == closing {
		w.at++
		return false
	}
	w.at++
	if w.space() == closing {
		w.at++
		return false
	}
	return true
}

// space steps over white space and returns the byte after it.
func (w *walk) space() byte {
	for strings.IndexByte(" \t\r\n", w.text[w.at]) >= 0 {
		w.at++
	}
	return w.text[w.at]
}

// skip steps over one value, whatever it is, and returns its text.
func (w *walk) skip() []byte {
	start, depth := w.at, 0
	for {
		switch w.text[w.at] {
		case '"':
			w.quoted()
		case '{', '[':
			depth++
			w.at++
		case '}', ']':
			depth--
			w.at++
		case ',', ':', ' ', '\t', '\r', '\n':
			w.at++
		default:
			w.word()
		}
		if depth == 0 {
			return w.text[start:w.at]
		}
	}
}

func (w *walk) quoted() {
	for w.at++; w.text[w.at] != '"'; w.at++ {
		if w.text[w.at] == '\\' {
			w.at++
		}
	}
	w.at++
}

// word steps over a number, true, false or null.
func (w *walk) word() {
	for w.at < len(w.text) && strings.IndexByte(",:]} \t\r\n", w.text[w.at]) < 0 {
		w.at++
	}
}

// kind is what a value that begins with this byte is.
func kind(first byte) string {
	switch first {
	case '{':
		return anObject
	case '[':
		return aList
	case '"':
		return aText
	case 't', 'f':
		return aYesNo
	case 'n':
		return "null"
	}
	return aNumber
}

// plain is the text of a quoted JSON string.
func plain(quoted []byte) string {
	if bytes.IndexByte(quoted, '\\') < 0 {
		return string(quoted[1 : len(quoted)-1])
	}
	var text string
	_ = json.Unmarshal(quoted, &text) // it is valid already
	return text
}
