package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"needlesight/pwa"
)

// door is the package that is compiled for the phone.
const door = "./pwa/engine/wasm"

// wasmFlags make the engine small, and the same on every machine.
var wasmFlags = []string{"-trimpath", "-buildvcs=false", "-ldflags=-s -w"}

// engine is the compiled engine, and the hash of what it was compiled from.
type engine struct {
	wasm []byte
	key  string
}

// buildEngine compiles the engine to WebAssembly and writes the declarations of its
// methods, or takes the last one when its sources are the same.
func buildEngine(o options, before *pwa.Site, warn func(string)) (engine, error) {
	if _, err := os.Stat(filepath.Join(o.root, door)); errors.Is(err, os.ErrNotExist) {
		warn("there is no " + door + " yet: the app is built without its engine")
		return engine{}, nil
	}
	last := lastEngine(before)
	if o.noEngine && last.wasm != nil {
		return last, nil
	}
	key, err := engineKey(o.root)
	if err != nil {
		return engine{}, err
	}
	types := filepath.Join(o.root, "pwa", "app", "types", "engine.d.ts")
	if _, err := os.Stat(types); err == nil && last.wasm != nil && last.key == key {
		return last, nil
	}
	wasm, err := compile(o.root)
	if err != nil && o.lenient() {
		warn("the app is built with the engine of the last build, for the new one does not compile: " + err.Error())
		return last, nil
	}
	if err != nil {
		return engine{}, err
	}
	declarations, err := run(o.root, nil, "go", "run", "./pwa/build/types")
	if err != nil {
		return engine{}, err
	}
	if err := os.MkdirAll(filepath.Dir(types), 0o755); err != nil {
		return engine{}, err
	}
	return engine{wasm, key}, os.WriteFile(types, declarations, 0o644)
}

// compile makes the engine's wasm.
func compile(root string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "needlesight-build-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "engine.wasm")
	args := append([]string{"build", "-o", out}, wasmFlags...)
	if _, err := run(root, []string{"GOOS=js", "GOARCH=wasm"}, "go", append(args, door)...); err != nil {
		return nil, err
	}
	return os.ReadFile(out)
}

// lastEngine is the engine of the last build; its wasm is nil when there was none.
func lastEngine(before *pwa.Site) engine {
	if before == nil || before.Engine == "" {
		return engine{}
	}
	for i, f := range before.Files {
		if f.Source == "engine.wasm" {
			if wasm, err := before.Read(&before.Files[i], ""); err == nil {
				return engine{wasm, before.Engine}
			}
		}
	}
	return engine{}
}

// engineKey is a hash of the toolchain's version, the flags, and every source file
// outside the standard library that the engine is made of, or that says what its
// methods look like.
func engineKey(root string) (string, error) {
	version, err := run(root, nil, "go", "env", "GOVERSION")
	if err != nil {
		return "", err
	}
	listed, err := run(root, []string{"GOOS=js", "GOARCH=wasm"}, "go", "list", "-e", "-deps", "-json=Dir,GoFiles,Standard", door)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%s %q\n", version, wasmFlags)
	files := []string{filepath.Join(root, "pwa", "build", "types", "main.go")}
	for d := json.NewDecoder(bytes.NewReader(listed)); d.More(); {
		var p struct {
			Dir      string
			GoFiles  []string
			Standard bool
		}
		if err := d.Decode(&p); err != nil {
			return "", err
		}
		for _, name := range p.GoFiles {
			if !p.Standard {
				files = append(files, filepath.Join(p.Dir, name))
			}
		}
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(sum, "%s %x\n", filepath.Base(name), sha256.Sum256(text))
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// run runs a command at the top of the repo and returns what it printed; when it
// fails, its own words are the error.
func run(root string, env []string, name string, args ...string) ([]byte, error) {
	cmd := exec.Command(name, args...)
	cmd.Dir = root
	cmd.Env = append(os.Environ(), env...)
	var out, trouble bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &trouble
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("%s: %w\n%s", strings.Join(append([]string{name}, args...), " "), err, trouble.Bytes())
	}
	return out.Bytes(), nil
}
