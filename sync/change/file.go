package change

import (
	"errors"
	"fmt"

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
	Changes []Change `json:"changes"` // every one ever made of what is in the file, in any order
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
	f := NewFile("", nil)
	r := newReader(text)
	err := r.object("a file of changes", []string{"format", "version", "made", "changes"}, func(name string) (err error) {
		if name == "changes" {
			f.Changes, err = r.changes(true)
			return err
		}
		value, err := r.value()
		if err != nil {
			return err
		}
		return f.head(name, value)
	})
	if err != nil {
		return File{}, err
	}
	return f, Agree(f.Changes)
}

// head checks what stands before the changes.
func (f *File) head(name string, value any) error {
	made, isText := value.(string)
	switch {
	case name == "format" && value != Format:
		return &data.Error{Code: data.CodeFormat, At: name, Text: fmt.Sprintf("this is no file of ours: its format is not %q", Format)}
	case name == "version" && value != float64(Version):
		return &data.Error{Code: data.CodeVersion, At: name, Text: fmt.Sprintf("the file's version is %.20v; this program reads version %d", value, Version)}
	case name == "made" && (!isText || len(made) > data.MaxText):
		return &data.Error{Code: data.CodeRequest, At: name, Text: fmt.Sprintf("made must be a text of at most %d bytes", data.MaxText)}
	case name == "made":
		f.Made = made
	}
	return nil
}

// DecodeList reads {"changes":[...]}, each change as Decode does, without
// asking whether this program knows its kind. The error is a *data.Error
// that names the first bad change.
func DecodeList(text []byte) (changes []Change, err error) {
	r := newReader(text)
	err = r.object("the request", []string{"changes"}, func(string) (err error) {
		changes, err = r.changes(false)
		return err
	})
	return changes, err
}

// numbered tells which change an error is about: people count from 1, paths
// from 0. Where a text stops being JSON has its own place.
func numbered(i int, c Change, err error) error {
	e, ok := errors.AsType[*data.Error](err)
	if !ok || e.Code == data.CodeNotJSON {
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
