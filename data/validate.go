package data

import "fmt"

// Check tells whether a value may be put into a field of a kind of record.
// The value is as encoding/json makes it of JSON (nil, bool, float64,
// string, []any, map[string]any). The error is an *Error with the code
// CodeKind, CodeField or CodeValue, and At within the change, such as
// "value.mm".
func Check(kind, field string, value any) error {
	k := find(kinds, func(k Kind) bool { return k.Name == kind })
	if k == nil {
		return &Error{CodeKind, fmt.Sprintf("there is no kind of record called %s", shown(kind)), "kind"}
	}
	f := find(k.Fields, func(f Field) bool { return f.Name == field })
	if f == nil {
		return &Error{CodeField, fmt.Sprintf("a %s has no field called %s", kind, shown(field)), "field"}
	}
	if w := f.rule.find(value); w != nil {
		return &Error{CodeValue, field + w.at + " " + w.text, "value" + w.at}
	}
	return nil
}

// WrittenOnce tells whether a field is a fact: set when its record is made,
// and never to another value afterwards.
func WrittenOnce(kind, field string) bool {
	k := find(kinds, func(k Kind) bool { return k.Name == kind })
	if k == nil {
		return false
	}
	f := find(k.Fields, func(f Field) bool { return f.Name == field })
	return f != nil && f.Once
}

// find is the first of some that is wanted, or nil.
func find[T any](some []T, wanted func(T) bool) *T {
	for i := range some {
		if wanted(some[i]) {
			return &some[i]
		}
	}
	return nil
}
