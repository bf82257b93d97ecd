package change

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"unicode/utf8"

	"needlesight/data"
	"needlesight/sync/stamp"
)

// A file of changes, as it is exported from a phone and imported again:
//
//	{"format":"needlesight-changes","version":1,"made":"2026-11-25T10:00","changes":[
//	  {"kind":"part","id":"aaaaaaaaaaaaaaaa","field":"name","value":"tail","stamp":[42,"bbbbbbbbbbbbbbbb"],"base":null},
//	  ...]}
//
// It is UTF-8 and stands as changes.json in a zip, beside the pictures. The
// changes are every change ever made of what was exported, in any order;
// reading a file twice, or two files that overlap, is harmless. `made` is
// for people alone: the exporting device's own clock, which decides nothing.
// A program that cannot read a later version says so and reads none of it.
const (
	Format  = "needlesight-changes"
	Version = 1
	MaxMany = 1_000_000 // changes taken at once
)

// File is a file of changes. Its JSON is the form above.
type File struct {
	Format  string   `json:"format"`  // Format
	Version int      `json:"version"` // Version
	Made    string   `json:"made"`    // for people alone: at most data.MaxText bytes
	Changes []Change `json:"changes"`
}

// NewFile makes a file of these changes.
func NewFile(made string, changes []Change) File {
	if changes == nil {
		changes = []Change{}
	}
	return File{Format, Version, made, changes}
}

// DecodeFile reads a file and checks all that is in it: its form, each
// change and its value against the rules of data, and the changes against
// one another. The error is a *data.Error that names the first bad change.
func DecodeFile(text []byte) (File, error) {
	m, err := members(text, "a file of changes", "format", "version", "made", "changes")
	if err != nil {
		return File{}, err
	}
	f := File{Version: Version}
	if json.Unmarshal(m["format"], &f.Format) != nil || f.Format != Format {
		return File{}, &data.Error{Code: data.CodeFormat, At: "format", Text: fmt.Sprintf("this is no file of ours: its format is not %q", Format)}
	}
	if string(m["version"]) != strconv.Itoa(Version) {
		return File{}, &data.Error{Code: data.CodeVersion, At: "version", Text: fmt.Sprintf("the file's version is %.20s; this program reads version %d", m["version"], Version)}
	}
	if json.Unmarshal(m["made"], &f.Made) != nil || m["made"][0] != '"' || len(f.Made) > data.MaxText {
		return File{}, &data.Error{Code: data.CodeRequest, At: "made", Text: fmt.Sprintf("made must be a text of at most %d bytes", data.MaxText)}
	}
	if f.Changes, err = decodeAll(m["changes"], true); err != nil {
		return File{}, err
	}
	return f, Agree(f.Changes)
}

// DecodeList reads {"changes":[...]}, each change as Decode does, without
// asking whether this program knows its kind. The error is a *data.Error
// that names the first bad change.
func DecodeList(text []byte) ([]Change, error) {
	m, err := members(text, "the request", "changes")
	if err != nil {
		return nil, err
	}
	return decodeAll(m["changes"], false)
}

// members reads an object that has all of the names, and no other.
func members(text []byte, what string, names ...string) (map[string]json.RawMessage, error) {
	if !utf8.Valid(text) {
		return nil, notUTF8()
	}
	var m map[string]json.RawMessage
	if err := json.Unmarshal(text, &m); err != nil {
		if _, other := errors.AsType[*json.UnmarshalTypeError](err); !other {
			return nil, unreadable(text, err)
		}
	}
	err := exactly(m, what, names...)
	if e, ok := errors.AsType[*data.Error](err); ok {
		e.Code = data.CodeRequest
	}
	return m, err
}

// decodeAll reads a list of changes; with check, each by the rules of data.
func decodeAll(text []byte, check bool) ([]Change, error) {
	var texts []json.RawMessage
	if json.Unmarshal(text, &texts) != nil || texts == nil {
		return nil, &data.Error{Code: data.CodeRequest, At: "changes", Text: "changes must be a list"}
	}
	if len(texts) > MaxMany {
		return nil, &data.Error{Code: data.CodeTooMany, At: "changes", Text: fmt.Sprintf("there are %d changes; at most %d are taken at once", len(texts), MaxMany)}
	}
	changes := make([]Change, len(texts))
	for i, text := range texts {
		var value any
		if err := json.Unmarshal(text, &value); err != nil {
			return nil, numbered(i, Change{}, unreadable(text, err))
		}
		c, err := fromValue(value)
		if err == nil && check {
			err = data.Check(c.Kind, c.Field, value.(map[string]any)["value"])
		}
		if err != nil {
			return nil, numbered(i, c, err)
		}
		changes[i] = c
	}
	return changes, nil
}

// numbered tells which change an error is about: people count from 1, paths
// from 0.
func numbered(i int, c Change, err error) error {
	e, ok := errors.AsType[*data.Error](err)
	if !ok {
		return err
	}
	who := fmt.Sprintf("change %d", i+1)
	if c.Field != "" && data.IsID(c.ID) {
		who += fmt.Sprintf(" (%s of %s %s)", c.Field, c.Kind, c.ID)
	}
	at := fmt.Sprintf("changes[%d]", i)
	if e.At != "" {
		at += "." + e.At
	}
	return &data.Error{Code: e.Code, Text: who + ": " + e.Text, At: at}
}

// Agree refuses changes that cannot all be true: two different ones of the
// same field with the same stamp (a device never gives a stamp twice), and
// two different values of a field that is written once. The very same change
// twice is harmless. The error is a *data.Error and names both.
func Agree(changes []Change) error {
	type place struct {
		Where
		stamp stamp.Stamp
	}
	stamped := make(map[place]int, len(changes))
	facts := map[Where]int{}
	for i, c := range changes {
		if j, taken := stamped[place{c.Where, c.Stamp}]; !taken {
			stamped[place{c.Where, c.Stamp}] = i
		} else if !c.Equal(changes[j]) {
			return numbered(i, c, &data.Error{Code: data.CodeSameStamp, At: "stamp",
				Text: fmt.Sprintf("it differs from change %d, though both bear the stamp %v", j+1, c.Stamp)})
		}
		if !data.WrittenOnce(c.Kind, c.Field) {
			continue
		}
		if j, there := facts[c.Where]; !there {
			facts[c.Where] = i
		} else if string(c.Value) != string(changes[j].Value) {
			return numbered(i, c, &data.Error{Code: data.CodeFactTwice, At: "value",
				Text: fmt.Sprintf("it differs from change %d, but a %s is written once", j+1, c.Field)})
		}
	}
	return nil
}
