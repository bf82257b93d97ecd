package engine

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"testing"

	"needlesight/pwa/engine/fault"
)

// The vectors hold the phone's engine and this one to the same bytes. They show
// that nothing changed unnoticed; that an answer is right is shown by the tests
// beside each method. `go test ./pwa/engine -run Vectors -update` writes the answers
// anew: read the difference before you keep it.
const vectorsFile = "testdata/vectors.json"

var update = flag.Bool("update", false, "write the answers in "+vectorsFile+" anew")

type vector struct {
	Method   string          `json:"method"`
	Request  json.RawMessage `json:"request"`
	Response json.RawMessage `json:"response,omitempty"`
	Error    *fault.Error    `json:"error,omitempty"`
}

func readVectors(t testing.TB) []vector {
	t.Helper()
	text, err := os.ReadFile(vectorsFile)
	if err != nil {
		t.Fatal(err)
	}
	var vectors []vector
	if err := json.Unmarshal(text, &vectors); err != nil {
		t.Fatal(err)
	}
	return vectors
}

func TestVectors(t *testing.T) {
	vectors := readVectors(t)
	answered, refused := map[string]bool{}, map[string]bool{}
	for i, want := range vectors {
		got := vector{Method: want.Method, Request: want.Request}
		response, err := Call(want.Method, want.Request)
		if err != nil && !errors.As(err, &got.Error) {
			t.Fatalf("vector %d: %s: %v is no fault", i, want.Method, err)
		}
		got.Response = response
		answered[want.Method] = answered[want.Method] || err == nil
		refused[want.Method] = refused[want.Method] || err != nil
		if a, b := line(t, got), line(t, want); !*update && !bytes.Equal(a, b) {
			t.Errorf("vector %d:\n got %s\nwant %s", i, a, b)
		}
		vectors[i] = got
	}
	for _, m := range Methods() {
		if !answered[m.Name] || !refused[m.Name] {
			t.Errorf("the vectors lack an answer or a refusal of %s", m.Name)
		}
	}
	if *update {
		writeVectors(t, vectors)
	}
}

// line is a vector as one line of JSON.
func line(t *testing.T, v vector) []byte {
	t.Helper()
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		t.Fatal(err)
	}
	return bytes.TrimSpace(text.Bytes())
}

func writeVectors(t *testing.T, vectors []vector) {
	t.Helper()
	var lines [][]byte
	for _, v := range vectors {
		lines = append(lines, line(t, v))
	}
	text := "[\n" + string(bytes.Join(lines, []byte(",\n"))) + "\n]\n"
	if err := os.WriteFile(vectorsFile, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Whatever comes in, Call answers with JSON or refuses with a fault.
func FuzzCall(f *testing.F) {
	for _, v := range readVectors(f) {
		f.Add(v.Method, []byte(v.Request))
	}
	for _, text := range []string{``, `{`, `[]`, `{}{}`, `{"mm":[1e999]}`, `{"":0}`, "{\"a\\u0000\":\xff}", `[[[[[[[`} {
		f.Add("format-length", []byte(text))
	}
	codes := map[string]bool{}
	for _, code := range fault.Codes() {
		codes[code] = code != fault.EngineCrashed
	}
	f.Fuzz(func(t *testing.T, name string, request []byte) {
		response, err := Call(name, request)
		if err == nil {
			if !json.Valid(response) {
				t.Fatalf("%s answered %q", name, response)
			}
			return
		}
		var e *fault.Error
		if !errors.As(err, &e) || !codes[e.Code] || e.Text == "" {
			t.Fatalf("%s refused with %#v", name, err)
		}
	})
}
