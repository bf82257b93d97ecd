package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"

	"needlesight/data"
	"needlesight/pwa/engine"
	"needlesight/pwa/engine/fault"
)

// TestCrashIsTold runs natively and, by the unit tests of the screens, as
// wasm too: a panic must not take the program down there either.
func TestCrashIsTold(t *testing.T) {
	for name, crash := range map[string]func(){
		"panic":     func() { panic("out of wool") },
		"error":     func() { panic(errors.New("out of wool")) },
		"index":     func() { var s []int; s[len(os.Args)+1]++ },
		"nil value": func() { var p *struct{ x int }; p.x++ },
		"divide":    func() { none := len(os.Args[:0]); _ = 1 / none },
	} {
		response := answer(func(string, []byte) ([]byte, error) { crash(); return nil, nil }, "crash", nil)
		if e := errorOf(t, response); e.Code != fault.EngineCrashed || e.Text == "" {
			t.Errorf("%s: %s", name, response)
		}
	}
	if response := answer(methods, "check-changes", []byte(`{}`)); errorOf(t, response).Code != data.CodeRequest {
		t.Errorf("after the crashes the door says %s", response)
	}
}

func errorOf(t *testing.T, response []byte) fault.Error {
	t.Helper()
	var told struct {
		Error struct{ Code, Text, At *string }
	}
	d := json.NewDecoder(bytes.NewReader(response))
	d.DisallowUnknownFields()
	if err := d.Decode(&told); err != nil || told.Error.Code == nil || told.Error.Text == nil || told.Error.At == nil {
		t.Fatalf("%s is not the shape of an error: %v", response, err)
	}
	return fault.Error{Code: *told.Error.Code, Text: *told.Error.Text, At: *told.Error.At}
}

func TestEveryErrorHasItsShape(t *testing.T) {
	for name, test := range map[string]struct {
		method, request, code, at string
	}{
		"no such method": {"measure", `{}`, fault.UnknownMethod, ""},
		"not JSON":       {"merge", `{"changes":[`, data.CodeNotJSON, "byte 12"},
		"not ours":       {"check-changes", `{"format":"x","version":1,"made":"","changes":[]}`, data.CodeFormat, "format"},
		"unknown field":  {"merge", `{"changes":[],"more":1}`, data.CodeRequest, "more"},
	} {
		if e := errorOf(t, answer(methods, test.method, []byte(test.request))); e.Code != test.code || e.At != test.at {
			t.Errorf("%s: told %+v", name, e)
		}
	}
	if e := errorOf(t, notTexts()); e.Code != fault.WrongType {
		t.Errorf("told %+v", e)
	}
}

func TestExtrasHideNoMethod(t *testing.T) {
	for _, m := range engine.Methods() {
		if _, hidden := extras[m.Name]; hidden {
			t.Errorf("%s is a method of the engine and of the door", m.Name)
		}
		if e := answer(methods, m.Name, []byte(`[`)); errorOf(t, e).Code != fault.NotJSON {
			t.Errorf("%s is not reached: %s", m.Name, e)
		}
	}
}

func TestCodesMeanOneThing(t *testing.T) {
	known := map[string]bool{}
	for _, code := range fault.Codes() {
		known[code] = true
	}
	for _, code := range data.Codes() {
		if known[code] {
			t.Errorf("%s is a code of the engine and of data", code)
		}
	}
}

type vector struct {
	Name, Method      string
	Request, Response json.RawMessage
	Error             *fault.Error
}

func TestVectors(t *testing.T) {
	text, err := os.ReadFile("testdata/vectors.json")
	if err != nil {
		t.Fatal(err)
	}
	var vectors []vector
	if err := json.Unmarshal(text, &vectors); err != nil || len(vectors) == 0 {
		t.Fatalf("%d vectors, %v", len(vectors), err)
	}
	for _, v := range vectors {
		response := answer(methods, v.Method, v.Request)
		if v.Error != nil {
			if e := errorOf(t, response); e != *v.Error {
				t.Errorf("%s: told %+v", v.Name, e)
			}
			continue
		}
		var want bytes.Buffer
		if err := json.Compact(&want, v.Response); err != nil {
			t.Fatal(err)
		}
		if string(response) != want.String() {
			t.Errorf("%s:\n got %s\nwant %s", v.Name, response, &want)
		}
	}
}

func TestHTMLInAValueIsOnlyText(t *testing.T) {
	request := `{"changes":[{"kind":"part","id":"partpartpartpart","field":"name","value":"<img src=x>","stamp":[1,"aaaaaaaaaaaaaaaa"],"base":null}]}`
	response := answer(methods, "merge", []byte(request))
	var m merged
	if err := json.Unmarshal(response, &m); err != nil || len(m.Fields) != 1 {
		t.Fatalf("%s, %v", response, err)
	}
	var value string
	if json.Unmarshal(m.Fields[0].Value, &value) != nil || value != "<img src=x>" || strings.Contains(string(response), "<") {
		t.Errorf("%s", response)
	}
}
