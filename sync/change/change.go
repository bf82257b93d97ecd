// Package change is the one thing that is kept, sent and merged: a change of
// one field of one record. It reads changes strictly, and files of them.
package change

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"needlesight/data"
	"needlesight/sync/stamp"
)

// Limits of one change.
const (
	MaxValue = 8 << 10 // bytes of a value as JSON
	MaxDepth = 16      // lists and objects within one another in a value
	MaxName  = 32      // characters in the name of a kind or a field
)

// Where names one field of one record.
type Where struct {
	Kind  string `json:"kind"`  // of the record
	ID    string `json:"id"`    // of the record
	Field string `json:"field"` // of the kind
}

// Change sets one field to a value.
type Change struct {
	Where
	Value json.RawMessage `json:"value"` // canonical, see Canonical
	Stamp stamp.Stamp     `json:"stamp"`
	// Base is the stamp of the value that was seen there when this change was
	// made, or none. It is always older than Stamp.
	Base stamp.Stamp `json:"base"`
}

// Equal tells whether two changes are one and the same.
func (c Change) Equal(d Change) bool {
	return c.Where == d.Where && c.Stamp == d.Stamp && c.Base == d.Base && bytes.Equal(c.Value, d.Value)
}

// String names the change in a sentence.
func (c Change) String() string {
	return fmt.Sprintf("field %s of %s %s, stamp %v", c.Field, c.Kind, c.ID, c.Stamp)
}

// Decode reads one change. All six names must be there, and no other; kind
// and field must be names and the id an id, though not ones this program
// knows (Check asks that). The value becomes canonical. Errors are
// *data.Error, with At as a path within the change.
//
// A name given twice counts once, with what stands last, as in JSON.parse.
func Decode(text []byte) (Change, error) {
	var c Change
	m, err := members(text, "a change", "kind", "id", "field", "value", "stamp", "base")
	if err != nil {
		return c, err
	}
	if err := c.decodeWhere(m); err != nil {
		return c, err
	}
	if c.Value, err = Canonical(m["value"]); err != nil {
		return c, err
	}
	if err := json.Unmarshal(m["stamp"], &c.Stamp); err != nil || c.Stamp.IsNone() {
		return c, stampError(data.CodeStamp, "stamp", err)
	}
	if err := json.Unmarshal(m["base"], &c.Base); err != nil {
		return c, stampError(data.CodeBase, "base", err)
	}
	if c.Base.Counter >= c.Stamp.Counter {
		return c, &data.Error{Code: data.CodeBase, At: "base",
			Text: fmt.Sprintf("the base %v is not older than the stamp %v, though it was there before", c.Base, c.Stamp)}
	}
	return c, nil
}

func stampError(code, at string, err error) error {
	if err == nil {
		err = errors.New("a change needs one")
	}
	return &data.Error{Code: code, At: at, Text: "the " + at + " is wrong: " + err.Error()}
}

func (c *Change) decodeWhere(m map[string]json.RawMessage) error {
	if json.Unmarshal(m["kind"], &c.Kind) != nil || !isName(c.Kind) {
		return &data.Error{Code: data.CodeKind, At: "kind", Text: "the kind is not the name of a kind of record"}
	}
	if json.Unmarshal(m["id"], &c.ID) != nil || !data.IsID(c.ID) {
		return &data.Error{Code: data.CodeID, At: "id", Text: "the id is not 16 letters a to z or digits 2 to 7"}
	}
	if json.Unmarshal(m["field"], &c.Field) != nil || !isName(c.Field) {
		return &data.Error{Code: data.CodeField, At: "field", Text: "the field is not the name of a field"}
	}
	return nil
}

// isName tells whether s can be the name of a kind or a field: letters a to
// z, and underscores after the first.
func isName(s string) bool {
	return s != "" && len(s) <= MaxName && s[0] != '_' && strings.Trim(s, "abcdefghijklmnopqrstuvwxyz_") == ""
}

// Check asks whether this program knows the kind and the field, and whether
// the value follows the field's rule. The error is a *data.Error.
func (c Change) Check() error {
	var value any
	if err := json.Unmarshal(c.Value, &value); err != nil {
		return notJSON(c.Value, err)
	}
	return data.Check(c.Kind, c.Field, value)
}

// Canonical writes a value so that equal values are equal bytes: no spaces,
// names of an object sorted, numbers as the shortest decimal that gives the
// same float64, no minus before zero. It refuses a value beyond MaxValue,
// MaxDepth or the range of float64.
func Canonical(text []byte) (json.RawMessage, error) {
	var value any
	if err := json.Unmarshal(text, &value); err != nil {
		var tooLarge *json.UnmarshalTypeError
		if errors.As(err, &tooLarge) {
			return nil, &data.Error{Code: data.CodeTooBig, At: "value", Text: "the value holds a number too large to keep"}
		}
		return nil, notJSON(text, err)
	}
	value, deep := settle(value, MaxDepth)
	if deep {
		return nil, &data.Error{Code: data.CodeTooBig, At: "value",
			Text: fmt.Sprintf("the value holds more than %d lists and objects within one another", MaxDepth)}
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(value); err != nil {
		return nil, notJSON(text, err)
	}
	if b.Len()-1 > MaxValue {
		return nil, &data.Error{Code: data.CodeTooBig, At: "value",
			Text: fmt.Sprintf("the value is %d bytes of JSON; at most %d are kept", b.Len()-1, MaxValue)}
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// settle takes the minus from zeros, and tells whether the value goes deeper
// than allowed.
func settle(value any, depth int) (settled any, deep bool) {
	switch v := value.(type) {
	case float64:
		if v == 0 {
			return 0.0, false
		}
	case []any:
		deep = depth < 1
		for i := 0; i < len(v) && !deep; i++ {
			v[i], deep = settle(v[i], depth-1)
		}
		return v, deep
	case map[string]any:
		deep = depth < 1
		for name := range v {
			if !deep {
				v[name], deep = settle(v[name], depth-1)
			}
		}
		return v, deep
	}
	return value, false
}

// members reads an object that has all of the names, and no other.
func members(text []byte, what string, names ...string) (map[string]json.RawMessage, error) {
	if !utf8.Valid(text) {
		return nil, &data.Error{Code: data.CodeNotJSON, Text: "this is not UTF-8"}
	}
	var m map[string]json.RawMessage
	if err := json.Unmarshal(text, &m); err != nil && !json.Valid(text) {
		return nil, notJSON(text, err)
	}
	if m == nil {
		return nil, &data.Error{Code: data.CodeShape, Text: what + " must be an object"}
	}
	for _, name := range names {
		if _, ok := m[name]; !ok {
			return nil, &data.Error{Code: data.CodeShape, At: name, Text: fmt.Sprintf("%s must have %q", what, name)}
		}
	}
	if len(m) == len(names) {
		return m, nil
	}
	for _, name := range names {
		delete(m, name)
	}
	return nil, &data.Error{Code: data.CodeShape, At: first(m), Text: fmt.Sprintf("%s has no %q", what, first(m))}
}

// first is the first of the names by the alphabet, cut short for a sentence.
func first(m map[string]json.RawMessage) string {
	least, any := "", false
	for name := range m {
		if !any || name < least {
			least, any = name, true
		}
	}
	for len(least) > 40 || !utf8.ValidString(least) {
		least = least[:min(40, len(least)-1)]
	}
	return least
}

// notJSON tells where text stops being JSON.
func notJSON(text []byte, err error) error {
	place := fmt.Sprintf("byte %d", len(text))
	var bad *json.SyntaxError
	if errors.As(err, &bad) {
		place = fmt.Sprintf("byte %d", bad.Offset)
	}
	return &data.Error{Code: data.CodeNotJSON, At: place, Text: fmt.Sprintf("this is not JSON, or it is cut off: %v at %s", err, place)}
}
