// The command build makes the app in pwa/dist from pwa/app, the libraries in
// pwa/node_modules and the engine:
//
//	go run ./pwa/build            for work on it
//	go run ./pwa/build -release   compressed as far as it goes, and nothing may be missing
//	go run ./pwa/build -raw -out DIR   not minified, to compare
//
// Each file is minified, named by its content, told the new names of the files it
// speaks of, and compressed. The engine is compiled only when its sources changed.
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"time"
)

// options are what the command line asks for.
type options struct {
	root     string // the top of the repo
	out      string // where the app goes
	release  bool   // best compression
	strict   bool   // a missing file is an error, not a warning
	raw      bool   // do not minify
	noEngine bool   // keep the engine of the last build, however old
}

// lenient tells whether a build may have gaps: one to look at while working.
func (o options) lenient() bool { return !o.strict && !o.release }

func main() {
	var o options
	flag.BoolVar(&o.release, "release", false, "compress as far as it goes (slow); implies -strict")
	flag.BoolVar(&o.strict, "strict", false, "stop when something is missing or the engine does not compile")
	flag.BoolVar(&o.raw, "raw", false, "do not minify")
	flag.BoolVar(&o.noEngine, "no-engine", false, "take the engine of the last build, even if its sources changed")
	flag.StringVar(&o.out, "out", "", "where the app goes (default pwa/dist)")
	flag.Parse()
	start := time.Now()
	root, err := findRoot()
	if err == nil {
		o.root = root
		err = build(o, func(text string) { fmt.Fprintln(os.Stderr, "warning:", text) })
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "build:", err)
		os.Exit(1)
	}
	fmt.Printf("built in %.1f s\n", time.Since(start).Seconds())
}

// findRoot is the directory of go.mod, at or above the one this runs in.
func findRoot() (string, error) {
	at, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for {
		if _, err := os.Stat(filepath.Join(at, "go.mod")); err == nil {
			return at, nil
		}
		if filepath.Dir(at) == at {
			return "", fmt.Errorf("go.mod was not found here or above: run this inside the repo")
		}
		at = filepath.Dir(at)
	}
}

// build makes the app. What is not as it should be, but does not stop the build,
// is told to warn.
func build(o options, warn func(string)) error {
	if o.out == "" {
		o.out = filepath.Join(o.root, "pwa", "dist")
	}
	before := lastBuild(o.out)
	sources, err := gather(o.root)
	if err != nil {
		return err
	}
	keys := map[string]string{}
	for _, m := range modules {
		half, err := buildEngine(o, m, before, warn)
		if err != nil {
			return err
		}
		if half.wasm != nil {
			sources[m.file], keys[m.file] = half.wasm, half.key
		}
	}
	if sources["notices.json"], err = makeNotices(o.root, sources); err != nil {
		return err
	}
	app, missing, err := assemble(sources, o.raw)
	if err != nil {
		return err
	}
	for _, m := range missing {
		if !o.lenient() {
			return fmt.Errorf("%s", m)
		}
		warn(m)
	}
	for _, m := range modules {
		*m.key(&app.List) = keys[m.file]
	}
	app.Quality = 9
	if o.release {
		app.Quality = 11
	}
	return write(o.out, before, app)
}
