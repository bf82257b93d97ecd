package main

import (
	"reflect"
	"strings"
	"testing"

	"needlesight/pwa/engine"
	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/pictures"
	"needlesight/pwa/engine/shell"
)

type part struct {
	Name string   `json:"name"`
	MM   *float64 `json:"mm"` // in mm
}

type common struct {
	Unit string `json:"unit,omitempty"`
}

type request struct {
	common
	Parts  []part         `json:"parts"`
	Limits map[string]int `json:"limits,omitempty"`
	Ring   [][2]float64   `json:"ring"`
	Scale  scale          `json:"scale"`
	hidden int
	Skip   int `json:"-"`
}

// scale is a word or a card.
type scale struct{}

func (scale) Either() []any { return []any{"", card{}} }

type card struct {
	MM float64 `json:"mm"`
}

type file struct {
	Pages int `json:"pages"`
}

func (file) Bytes() []byte { return nil }

type response struct {
	Best  *part      `json:"best"`
	Pairs [][]string `json:"pairs"`
	Some  []*part    `json:"some,omitempty"`
	Any   any        `json:"any"`
	OK    bool       `json:"ok"`
	Round part2      `json:"round"`
}

type part2 struct {
	U float64 `json:"u"`
}

func TestDeclarations(t *testing.T) {
	_ = request{}.hidden
	var out strings.Builder
	err := declare(&out,
		[]call.Method{{Name: "two-words", Doc: "Does it.", Request: reflect.TypeFor[request](), Response: reflect.TypeFor[response]()}},
		[]call.Method{call.Plain("print", "Prints it.", func(card) (file, error) { return file{}, nil })})
	if err != nil {
		t.Fatal(err)
	}
	text := out.String()
	for _, want := range []string{
		"export interface TwoWordsRequest {\n  unit?: string;\n  parts: Part[];\n  limits?: Record<string, number>;\n  ring: [number, number][];\n  scale: string | PrintRequest;\n}",
		"export interface TwoWordsResponse {\n  best: Part | null;\n  pairs: string[][];\n  some?: (Part | null)[];\n  any: unknown;\n  ok: boolean;\n  round: Part2;\n}",
		"  mm?: number | null;", // part is in the request, where a pointer may be left out
		"export interface PictureMethods {\n  /** Prints it. */\n  \"print\": { request: PrintRequest; response: PrintResponse; bytes: Uint8Array };\n}",
		"/** Does it. */\n  \"two-words\": { request: TwoWordsRequest; response: TwoWordsResponse };",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("lacks\n%s\nin\n%s", want, text)
		}
	}
	if strings.Count(text, "interface Part ") != 1 || strings.Contains(text, "hidden") || strings.Contains(text, "kip") {
		t.Error(text)
	}
}

func TestEveryMethodIsDeclared(t *testing.T) {
	var out strings.Builder
	if err := declare(&out, engine.Methods(), pictures.Methods()); err != nil {
		t.Fatal(err)
	}
	for _, m := range shell.Table() {
		if !strings.Contains(out.String(), "  \""+m.Name+"\": {") {
			t.Errorf("%s is not declared", m.Name)
		}
	}
}
