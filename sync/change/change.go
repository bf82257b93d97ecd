// Package change is the one thing that is kept, sent and merged: a change of
// one field of one record. It reads changes strictly, and files of them.
package change

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

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
	Stamp stamp.Stamp     `json:"stamp"` // of this change, never used again
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
	if err := readable(text); err != nil {
		return Change{}, err
	}
	var value any
	if err := json.Unmarshal(text, &value); err != nil {
		return Change{}, unreadable(text, err)
	}
	return fromValue(value)
}

// fromValue makes a change of what encoding/json made of its JSON.
func fromValue(value any) (c Change, err error) {
	m, _ := value.(map[string]any)
	if err = exactly(m, "a change", "kind", "id", "field", "value", "stamp", "base"); err != nil {
		return c, err
	}
	if err = c.setWhere(m); err != nil {
		return c, err
	}
	if c.Stamp, err = stamp.From(m["stamp"]); err != nil || c.Stamp.IsNone() {
		return c, badStamp(data.CodeStamp, "stamp", err)
	}
	if c.Base, err = stamp.From(m["base"]); err != nil {
		return c, badStamp(data.CodeBase, "base", err)
	}
	if c.Base.Counter >= c.Stamp.Counter {
		return c, &data.Error{Code: data.CodeBase, At: "base",
			Text: fmt.Sprintf("the base %v is not older than the stamp %v, though it was there before", c.Base, c.Stamp)}
	}
	c.Value, err = Canonical(m["value"])
	return c, err
}

func (c *Change) setWhere(m map[string]any) error {
	c.Kind, _ = m["kind"].(string)
	c.ID, _ = m["id"].(string)
	c.Field, _ = m["field"].(string)
	switch {
	case !IsName(c.Kind):
		return &data.Error{Code: data.CodeKind, At: "kind", Text: "the kind is not the name of a kind of record"}
	case !data.IsID(c.ID):
		return &data.Error{Code: data.CodeID, At: "id", Text: "the id is not 16 letters a to z or digits 2 to 7"}
	case !IsName(c.Field):
		return &data.Error{Code: data.CodeField, At: "field", Text: "the field is not the name of a field"}
	}
	return nil
}

func badStamp(code, at string, err error) error {
	if err == nil {
		err = errors.New("a change needs one")
	}
	return &data.Error{Code: code, At: at, Text: "the " + at + " is wrong: " + err.Error()}
}

// IsName tells whether s can be the name of a kind or a field: 1 to MaxName
// letters a to z, and underscores after the first.
func IsName(s string) bool {
	for i := range len(s) {
		if c := s[i]; (c < 'a' || c > 'z') && (c != '_' || i == 0) {
			return false
		}
	}
	return s != "" && len(s) <= MaxName
}

// Check asks whether this program knows the kind and the field, and whether
// the value follows the field's rule. The error is a *data.Error.
func (c Change) Check() error {
	var value any
	if err := json.Unmarshal(c.Value, &value); err != nil {
		return unreadable(c.Value, err)
	}
	return data.Check(c.Kind, c.Field, value)
}

// Canonical writes a value, as encoding/json made it of JSON, so that equal
// values are equal bytes: no spaces, names of an object sorted, numbers as
// the shortest decimal that gives the same float64, no minus before zero. It
// refuses a value beyond MaxValue or MaxDepth. It may write to the value.
func Canonical(value any) (json.RawMessage, error) {
	value, deep := settle(value, MaxDepth)
	if deep {
		return nil, &data.Error{Code: data.CodeTooBig, At: "value",
			Text: fmt.Sprintf("the value holds more than %d lists and objects within one another", MaxDepth)}
	}
	text, err := json.Marshal(value)
	if err != nil {
		return nil, &data.Error{Code: data.CodeShape, At: "value", Text: "the value cannot be written as JSON: " + err.Error()}
	}
	if len(text) > MaxValue {
		return nil, &data.Error{Code: data.CodeTooBig, At: "value",
			Text: fmt.Sprintf("the value is %d bytes of JSON; at most %d are kept", len(text), MaxValue)}
	}
	return text, nil
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

// exactly refuses an object that has not all of the names, or another one.
func exactly(m map[string]any, what string, names ...string) error {
	if m == nil {
		return &data.Error{Code: data.CodeShape, Text: what + " must be an object"}
	}
	known := make(map[string]bool, len(names))
	for _, name := range names {
		known[name] = true
		if _, ok := m[name]; !ok {
			return &data.Error{Code: data.CodeShape, At: name, Text: fmt.Sprintf("%s must have %q", what, name)}
		}
	}
	if len(m) == len(names) {
		return nil
	}
	other := ""
	for name := range m {
		if !known[name] && (other == "" || name < other) {
			other = name
		}
	}
	return &data.Error{Code: data.CodeShape, At: fmt.Sprintf("%.40s", other), Text: fmt.Sprintf("%s has no %.40q", what, other)}
}

// unreadable tells why text could not be read: where it stops being JSON, or
// that a number in it is beyond float64.
func unreadable(text []byte, err error) error {
	var whole json.RawMessage
	bad, ok := errors.AsType[*json.SyntaxError](json.Unmarshal(text, &whole)) // a Decoder does not tell the place rightly
	if !ok {
		return &data.Error{Code: data.CodeTooBig, Text: "a value cannot be kept: " + err.Error()}
	}
	place := fmt.Sprintf("byte %d", bad.Offset)
	return &data.Error{Code: data.CodeNotJSON, At: place, Text: fmt.Sprintf("this is not JSON, or it is cut off: %v at %s", bad, place)}
}
