package data

import "fmt"

// Check tells whether a value may be put into a field of a kind of record.
// The value is as encoding/json makes it of JSON (nil, bool, float64,
// string, []any, map[string]any). The error is an *Error with the code
// CodeKind, CodeField or CodeValue, and At within the change, such as
// "value.mm".
func Check(kind, name string, value any) error {
	f, known := fieldOf(kind, name)
	switch {
	case !known:
		return &Error{CodeKind, fmt.Sprintf("there is no kind of record called %s", shown(kind)), "kind"}
	case f == nil:
		return &Error{CodeField, fmt.Sprintf("a %s has no field called %s", kind, shown(name)), "field"}
	}
	if w := f.rule.find(value); w != nil {
		return &Error{CodeValue, name + w.at + " " + w.text, "value" + w.at}
	}
	return nil
}

// WrittenOnce tells whether a field is a fact: set when its record is made,
// and never to another value afterwards.
func WrittenOnce(kind, name string) bool {
	f, _ := fieldOf(kind, name)
	return f != nil && f.once
}

// fieldOf finds a field, and tells whether its kind is known.
func fieldOf(kind, name string) (f *field, known bool) {
	for _, k := range kinds {
		if k.name != kind {
			continue
		}
		for i := range k.fields {
			if k.fields[i].name == name {
				return &k.fields[i], true
			}
		}
		return nil, true
	}
	return nil, false
}
