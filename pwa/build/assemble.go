package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"strings"

	"needlesight/pwa"
)

// app is the app as it is written out: its list and the bytes of each file.
type app struct {
	pwa.List
	bytes map[string][]byte
}

// assembly is the work of naming files: each after the files it speaks of.
type assembly struct {
	all     sources
	raw     bool
	first   map[string]bool   // the files of the first half
	done    map[string]string // source -> address in the built app
	path    []string          // what is being named, to tell a cycle
	missing []string
	app     *app
}

// assemble minifies, names and rewrites every file of the app, and every library
// it speaks of. The second result tells, one sentence each, what is spoken of and
// is not there.
func assemble(all sources, raw bool) (*app, []string, error) {
	first, err := firstHalf(all)
	if err != nil {
		return nil, nil, err
	}
	a := &assembly{all: all, raw: raw, first: first, done: map[string]string{}, app: &app{bytes: map[string][]byte{}}}
	for _, name := range slices.Sorted(mapKeys(all)) {
		if strings.HasPrefix(name, "lib/") || name == "sw.js" {
			continue
		}
		if err := a.name(name); err != nil {
			return nil, nil, err
		}
	}
	slices.SortFunc(a.app.Files, func(x, y pwa.File) int { return strings.Compare(x.Path, y.Path) })
	sum := sha256.New()
	for _, f := range a.app.Files {
		fmt.Fprintln(sum, f.Path, f.Hash)
	}
	sum.Write(all["sw.js"])
	a.app.Version = hex.EncodeToString(sum.Sum(nil))[:16]
	if _, there := all["sw.js"]; !there {
		a.missing = append(a.missing, "there is no sw.js: the app is not kept on the phone")
		return a.app, a.missing, nil
	}
	return a.app, a.missing, a.serviceWorker()
}

// mapKeys ranges over the names of all sources.
func mapKeys(all sources) func(func(string) bool) {
	return func(yield func(string) bool) {
		for name := range all {
			if !yield(name) {
				return
			}
		}
	}
}

// name gives a file its name, after all that it speaks of.
func (a *assembly) name(source string) error {
	if a.done[source] != "" {
		return nil
	}
	if i := slices.Index(a.path, source); i >= 0 {
		return fmt.Errorf("these files speak of each other in a circle, so none can be named by its content: %s; move what they share to a file of its own",
			strings.Join(append(slices.Clone(a.path[i:]), source), " -> "))
	}
	a.path = append(a.path, source)
	defer func() { a.path = a.path[:len(a.path)-1] }()
	text, err := a.rewritten(source)
	if err != nil {
		return err
	}
	return a.add(source, text)
}

// rewritten is a file's text, minified, with the new names of what it speaks of.
func (a *assembly) rewritten(source string) ([]byte, error) {
	text, err := preloading(source, a.all)
	if err != nil {
		return nil, err
	}
	found, err := references(source, text, a.all)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(found, func(x, y reference) int { return x.start - y.start })
	var out bytes.Buffer
	at := 0
	for _, r := range found {
		if _, there := a.all[r.target]; !there {
			a.missing = append(a.missing, fmt.Sprintf("%s speaks of %s, which is not there", source, r.target))
			continue
		}
		if err := a.name(r.target); err != nil {
			return nil, err
		}
		out.Write(text[at:r.start])
		out.WriteString(relative(source, a.done[r.target]))
		if i := bytes.IndexAny(text[r.start:r.end], "?#"); i >= 0 {
			out.Write(text[r.start+i : r.end]) // icons.svg#owl stays a place in icons.svg
		}
		at = r.end
	}
	out.Write(text[at:])
	if a.raw {
		return out.Bytes(), nil
	}
	return shrink(source, out.Bytes())
}

// add puts a finished file into the app.
func (a *assembly) add(source string, text []byte) error {
	sum := sha256.Sum256(text)
	hash := hex.EncodeToString(sum[:])
	file := pwa.File{Path: source, Source: source, Hash: hash, Type: contentTypes[path.Ext(source)], Size: len(text), Precache: kept(source) && a.first[source], Later: kept(source) && !a.first[source]}
	if !fixed[source] {
		ending := path.Ext(source)
		file.Path = strings.TrimSuffix(source, ending) + "." + hash[:10] + ending
		file.Immutable = true
	}
	a.done[source] = file.Path
	a.app.Files = append(a.app.Files, file)
	a.app.bytes[file.Path] = text
	return nil
}

// kept tells whether the phone keeps a file for when there is no network: all but
// the pictures that only a page about the app shows.
func kept(source string) bool {
	return source != "sw.js" && !strings.HasPrefix(source, "screenshots/")
}

// relative is the address of a file of the app, written in another file.
func relative(from, to string) string {
	up := strings.Repeat("../", strings.Count(from, "/"))
	shared := path.Dir(from) + "/"
	if strings.HasPrefix(to, shared) {
		return "./" + strings.TrimPrefix(to, shared)
	}
	if up == "" {
		return "./" + to
	}
	return up + to
}

// serviceWorker adds sw.js, told before its first line what to keep: self.built =
// {version, files, later}. The files' addresses are relative to sw.js; "./" is the page.
func (a *assembly) serviceWorker() error {
	built := struct {
		Version string   `json:"version"`
		Files   []string `json:"files"`
		Later   []string `json:"later"`
	}{a.app.Version, nil, []string{}}
	for _, f := range a.app.Files {
		switch {
		case f.Path == "index.html":
			built.Files = append(built.Files, "./")
		case f.Precache:
			built.Files = append(built.Files, "./"+f.Path)
		case f.Later:
			built.Later = append(built.Later, "./"+f.Path)
		}
	}
	line, err := json.Marshal(built)
	if err != nil {
		return err
	}
	text, err := a.rewritten("sw.js")
	if err != nil {
		return err
	}
	if err := a.add("sw.js", slices.Concat([]byte("self.built="), line, []byte(";\n"), text)); err != nil {
		return err
	}
	slices.SortFunc(a.app.Files, func(x, y pwa.File) int { return strings.Compare(x.Path, y.Path) })
	return nil
}
