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

// module is one of the two halves of the engine: its file in the app, the package it
// is compiled from, and where the list of a build notes what it was compiled from.
type module struct {
	file, door string
	key        func(*pwa.List) *string
}

// modules are both halves: what a count needs, and what looks at pictures.
var modules = []module{
	{"engine.wasm", "./pwa/engine/wasm", func(l *pwa.List) *string { return &l.Engine }},
	{"pictures.wasm", "./pwa/engine/wasm/pictures", func(l *pwa.List) *string { return &l.Pictures }},
}

// wasmFlags make the engine small, and the same on every machine. What reads and
// writes JSON and texts is not inlined: that is 20 kB less for every first visit.
var wasmFlags = []string{"-trimpath", "-buildvcs=false", "-ldflags=-s -w", "-gcflags=encoding/json=-l", "-gcflags=fmt=-l", "-gcflags=reflect=-l"}

// compiled is a half of the engine, and the hash of what it was compiled from.
type compiled struct {
	wasm []byte
	key  string
}

// buildEngine compiles a half of the engine to WebAssembly, or takes the last one when
// its sources are the same.
func buildEngine(o options, m module, before *pwa.Site, warn func(string)) (compiled, error) {
	if _, err := os.Stat(filepath.Join(o.root, m.door)); errors.Is(err, os.ErrNotExist) {
		warn("there is no " + m.door + " yet: the app is built without it")
		return compiled{}, nil
	}
	last := lastEngine(before, m)
	if o.noEngine && last.wasm != nil {
		return last, nil
	}
	key, err := engineKey(o.root, m)
	if err != nil {
		return compiled{}, err
	}
	if last.wasm != nil && last.key == key && declared(o.root) {
		return last, nil
	}
	wasm, err := compile(o.root, m)
	if err == nil {
		err = declare(o.root)
	}
	if err != nil && o.lenient() {
		warn("the app is built with the " + m.file + " of the last build, for the new one does not compile: " + err.Error())
		return last, nil
	}
	return compiled{wasm, key}, err
}

// declarations is where the TypeScript declarations of the engine's methods are.
func declarations(root string) string {
	return filepath.Join(root, "pwa", "app", "types", "engine.d.ts")
}

func declared(root string) bool {
	_, err := os.Stat(declarations(root))
	return err == nil
}

// declare writes the declarations of both halves.
func declare(root string) error {
	text, err := run(root, nil, "go", "run", "./pwa/build/types")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(declarations(root)), 0o755); err != nil {
		return err
	}
	return os.WriteFile(declarations(root), text, 0o644)
}

// compile makes the wasm of a half of the engine.
func compile(root string, m module) ([]byte, error) {
	dir, err := os.MkdirTemp("", "needlesight-build-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, m.file)
	args := append([]string{"build", "-o", out}, wasmFlags...)
	if _, err := run(root, []string{"GOOS=js", "GOARCH=wasm"}, "go", append(args, m.door)...); err != nil {
		return nil, err
	}
	return os.ReadFile(out)
}

// lastEngine is a half of the engine of the last build; its wasm is nil when there was
// none.
func lastEngine(before *pwa.Site, m module) compiled {
	if before == nil || *m.key(&before.List) == "" {
		return compiled{}
	}
	for i, f := range before.Files {
		if f.Source == m.file {
			if wasm, err := before.Read(&before.Files[i], ""); err == nil {
				return compiled{wasm, *m.key(&before.List)}
			}
		}
	}
	return compiled{}
}

// engineKey is a hash of the toolchain's version, the flags, and every source file
// outside the standard library that a half of the engine is made of, or that says
// what its methods look like.
func engineKey(root string, m module) (string, error) {
	version, err := run(root, nil, "go", "env", "GOVERSION")
	if err != nil {
		return "", err
	}
	listed, err := run(root, []string{"GOOS=js", "GOARCH=wasm"}, "go", "list", "-e", "-deps", "-json=Dir,GoFiles,EmbedFiles,Standard", m.door)
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%s %q\n", version, wasmFlags)
	files := []string{filepath.Join(root, "pwa", "build", "types", "main.go")}
	for d := json.NewDecoder(bytes.NewReader(listed)); d.More(); {
		var p struct {
			Dir                 string
			GoFiles, EmbedFiles []string
			Standard            bool
		}
		if err := d.Decode(&p); err != nil {
			return "", err
		}
		for _, name := range append(p.GoFiles, p.EmbedFiles...) {
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
