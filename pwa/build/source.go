package main

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
)

// contentTypes are the kinds of file the app may hold, by ending.
var contentTypes = map[string]string{
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".css":         "text/css; charset=utf-8",
	".json":        "application/json",
	".webmanifest": "application/manifest+json",
	".wasm":        "application/wasm",
	".svg":         "image/svg+xml",
	".png":         "image/png",
	".jpg":         "image/jpeg",
	".webp":        "image/webp",
	".txt":         "text/plain; charset=utf-8",
	".woff2":       "font/woff2",
}

// sources are the files of the app before the build, by their path: what lies in
// pwa/app at its place there, the libraries in lib/.
type sources map[string][]byte

// gather reads pwa/app and the libraries.
func gather(root string) (sources, error) {
	found := sources{}
	app := os.DirFS(filepath.Join(root, "pwa", "app"))
	err := fs.WalkDir(app, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || strings.HasSuffix(name, ".ts") || strings.HasPrefix(path.Base(name), ".") {
			return err
		}
		if contentTypes[path.Ext(name)] == "" {
			return fmt.Errorf("pwa/app/%s: this build does not know what a file with this ending is", name)
		}
		found[name], err = fs.ReadFile(app, name)
		return err
	})
	if err != nil {
		return nil, err
	}
	libs, err := libraries(root)
	maps.Copy(found, libs)
	return found, err
}

// libraries reads the ES modules of the npm packages, and the script with which
// Go's own toolchain starts a wasm. Only those that the app speaks of are built.
func libraries(root string) (sources, error) {
	found := sources{}
	modules := os.DirFS(filepath.Join(root, "pwa", "node_modules"))
	for name, at := range map[string]string{"lit-html.js": "lit-html/lit-html.js", "idb.js": "idb/build/index.js", "fflate.js": "fflate/esm/browser.js"} {
		text, err := fs.ReadFile(modules, at)
		if errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("the library %s is not there: run 'npm ci' in pwa/, or 'make run'", path.Dir(at))
		}
		if err != nil {
			return nil, err
		}
		found["lib/"+name] = text
	}
	more, err := fs.Glob(modules, "lit-html/*.js")
	if err != nil {
		return nil, err
	}
	directives, err := fs.Glob(modules, "lit-html/directives/*.js")
	if err != nil {
		return nil, err
	}
	for _, at := range append(more, directives...) {
		if found["lib/"+strings.TrimPrefix(at, "lit-html/")], err = fs.ReadFile(modules, at); err != nil {
			return nil, err
		}
	}
	found["lib/wasm_exec.js"], err = wasmExec()
	return found, err
}

// wasmExec is the toolchain's wasm_exec.js as a module that exports Go.
func wasmExec() ([]byte, error) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("go env GOROOT: %w", err)
	}
	text, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(root)), "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return nil, err
	}
	return append(text, "\nexport const Go = globalThis.Go;\n"...), nil
}
