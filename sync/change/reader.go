package change

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"unicode/utf8"

	"needlesight/data"
)

// reader goes once through a JSON text that may hold very many changes,
// without holding all of it a second time.
type reader struct {
	text []byte
	json *json.Decoder
	most int // changes
}

func newReader(text []byte) *reader {
	return &reader{text, json.NewDecoder(bytes.NewReader(text)), MaxMany}
}

// readable refuses a text before anything is read that calls itself: what is not
// UTF-8, and what goes deeper than a change's value may lie in a file. A stack
// of thousands of calls is more than a browser gives its WebAssembly.
func readable(text []byte) error {
	if !utf8.Valid(text) {
		return &data.Error{Code: data.CodeNotJSON, Text: "this is not UTF-8"}
	}
	const most = MaxDepth + 4 // the file, its list, a change, and one that Canonical may tell of better
	depth, quoted := 0, false
	for at := 0; at < len(text); at++ {
		switch c := text[at]; {
		case quoted && c == '\\':
			at++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '[' || c == '{':
			if depth++; depth > most {
				where := fmt.Sprintf("byte %d", at)
				return &data.Error{Code: data.CodeTooBig, At: where, Text: fmt.Sprintf("at %s, more than %d lists and objects lie within one another", where, most)}
			}
		case c == ']' || c == '}':
			depth--
		}
	}
	return nil
}

// object reads the whole text as one object that has each of the names once,
// and no other. When a name comes, read must read what stands under it.
func (r *reader) object(what string, names []string, read func(name string) error) error {
	if err := readable(r.text); err != nil {
		return err
	}
	open, err := r.json.Token()
	if err != nil {
		return unreadable(r.text, err)
	}
	if open != json.Delim('{') {
		return &data.Error{Code: data.CodeRequest, Text: what + " must be an object"}
	}
	missing := slices.Clone(names)
	for r.json.More() {
		token, err := r.json.Token()
		if err != nil {
			return unreadable(r.text, err)
		}
		name := token.(string) // Token has seen to that
		i := slices.Index(missing, name)
		if i < 0 && slices.Contains(names, name) {
			return &data.Error{Code: data.CodeRequest, At: name, Text: fmt.Sprintf("%s has %q twice", what, name)}
		}
		if i < 0 {
			return &data.Error{Code: data.CodeRequest, At: fmt.Sprintf("%.40s", name), Text: fmt.Sprintf("%s has no %.40q", what, name)}
		}
		missing = slices.Delete(missing, i, i+1)
		if err := read(name); err != nil {
			return err
		}
	}
	if _, err := r.json.Token(); err != nil {
		return unreadable(r.text, err)
	}
	if len(missing) > 0 {
		return &data.Error{Code: data.CodeRequest, At: missing[0], Text: fmt.Sprintf("%s must have %q", what, missing[0])}
	}
	return r.end()
}

// end refuses whatever follows.
func (r *reader) end() error {
	if _, err := r.json.Token(); err != io.EOF {
		at := fmt.Sprintf("byte %d", r.json.InputOffset())
		return &data.Error{Code: data.CodeNotJSON, At: at, Text: "the text goes on after its end, at " + at}
	}
	return nil
}

// value reads one value, as encoding/json makes it.
func (r *reader) value() (value any, err error) {
	if err := r.json.Decode(&value); err != nil {
		return nil, unreadable(r.text, err)
	}
	return value, nil
}

// changes reads a list of changes; with check, each by the rules of data.
func (r *reader) changes(check bool) ([]Change, error) {
	open, err := r.json.Token()
	if err != nil {
		return nil, unreadable(r.text, err)
	}
	if open != json.Delim('[') {
		return nil, &data.Error{Code: data.CodeRequest, At: "changes", Text: "changes must be a list"}
	}
	changes := []Change{}
	for r.json.More() {
		if len(changes) == r.most {
			return nil, &data.Error{Code: data.CodeTooMany, At: "changes", Text: fmt.Sprintf("there are more than %d changes, which are as many as are taken at once", r.most)}
		}
		value, err := r.value()
		if err != nil {
			return nil, numbered(len(changes), Change{}, err)
		}
		c, err := fromValue(value)
		if err == nil && check {
			err = data.Check(c.Kind, c.Field, value.(map[string]any)["value"])
		}
		if err != nil {
			return nil, numbered(len(changes), c, err)
		}
		changes = append(changes, c)
	}
	if _, err := r.json.Token(); err != nil {
		return nil, unreadable(r.text, err)
	}
	return changes, nil
}
