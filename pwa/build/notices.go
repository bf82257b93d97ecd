package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// notices is what the app shows of those whose work is inside it, and its own
// version.
type notices struct {
	Version   string    `json:"version"` // the first letters of a hash over all sources of the app
	Own       string    `json:"own"`     // the text of our own licence
	Libraries []library `json:"libraries"`
}

// library is one library inside the app or the program.
type library struct {
	Name    string `json:"name"`
	Version string `json:"version"`
	Licence string `json:"licence"` // its SPDX name
	Text    string `json:"text"`    // word for word as it came
}

// makeNotices is the content of notices.json: the licences of the npm packages that
// the app speaks of, of Go, and of every Go module in the program.
func makeNotices(root string, all sources) ([]byte, error) {
	n := notices{Version: versionOf(all)}
	own, err := os.ReadFile(filepath.Join(root, "LICENSE"))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	n.Own = string(own)
	for _, find := range []func(string) ([]library, error){npmLibraries, goItself, goModules} {
		found, err := find(root)
		if err != nil {
			return nil, err
		}
		n.Libraries = append(n.Libraries, found...)
	}
	return json.Marshal(n)
}

// versionOf tells one state of the app from another.
func versionOf(all sources) string {
	sum := sha256.New()
	for _, name := range slices.Sorted(mapKeys(all)) {
		fmt.Fprintf(sum, "%s %x\n", name, sha256.Sum256(all[name]))
	}
	return hex.EncodeToString(sum.Sum(nil))[:8]
}

// npmLibraries are the packages that package.json says the app is made of.
func npmLibraries(root string) ([]library, error) {
	var own struct{ Dependencies map[string]string }
	if err := readJSON(filepath.Join(root, "pwa", "package.json"), &own); err != nil {
		return nil, err
	}
	var found []library
	for name := range own.Dependencies {
		dir := filepath.Join(root, "pwa", "node_modules", filepath.FromSlash(name))
		var pack struct{ Version, License string }
		if err := readJSON(filepath.Join(dir, "package.json"), &pack); err != nil {
			return nil, err
		}
		text, err := licenceIn(dir)
		if err != nil {
			return nil, err
		}
		found = append(found, library{name, pack.Version, pack.License, text})
	}
	slices.SortFunc(found, func(a, b library) int { return strings.Compare(a.Name, b.Name) })
	return found, nil
}

// goItself is Go's library and runtime, which are in the engine and in the program.
func goItself(root string) ([]library, error) {
	out, err := run(root, nil, "go", "env", "GOROOT", "GOVERSION")
	if err != nil {
		return nil, err
	}
	dir, version, _ := strings.Cut(strings.TrimSpace(string(out)), "\n")
	text, err := licenceIn(dir)
	if err != nil {
		return nil, err
	}
	return []library{{"Go", strings.TrimPrefix(version, "go"), licenceName(text), text}}, nil
}

// goModules are the modules that the program is linked from.
func goModules(root string) ([]library, error) {
	const line = "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}"
	out, err := run(root, nil, "go", "list", "-deps", "-f", line, ".")
	if err != nil {
		return nil, err
	}
	lines := strings.Fields(strings.ReplaceAll(string(out), "\t", "\x00"))
	slices.Sort(lines)
	var found []library
	for _, one := range slices.Compact(lines) {
		field := strings.Split(one, "\x00")
		text, err := licenceIn(field[2])
		if err != nil {
			return nil, err
		}
		found = append(found, library{field[0], field[1], licenceName(text), text})
	}
	return found, nil
}

// licenceIn is the text of the licence, and of the notice if there is one, that lies
// in a package's directory. A package without one may not go into the app.
func licenceIn(dir string) (string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return "", err
	}
	var texts []string
	for _, entry := range entries {
		name := strings.ToUpper(strings.TrimSuffix(entry.Name(), filepath.Ext(entry.Name())))
		if entry.IsDir() || !slices.Contains([]string{"LICENSE", "LICENCE", "COPYING", "NOTICE"}, name) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, entry.Name()))
		if err != nil {
			return "", err
		}
		texts = append(texts, strings.TrimSpace(strings.ReplaceAll(string(text), "\r\n", "\n")))
	}
	if len(texts) == 0 {
		return "", fmt.Errorf("%s holds no licence: a library without one may not go into the app", filepath.Base(dir))
	}
	return strings.Join(texts, "\n\n"), nil
}

// licenceName is the SPDX name of a licence, told by sentences that only it has;
// empty when it is none of those known here.
func licenceName(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	for _, known := range []struct{ name, sentence string }{
		{"Apache-2.0", "Apache License Version 2.0"},
		{"MPL-2.0", "Mozilla Public License Version 2.0"},
		{"Zlib", "This notice may not be removed or altered from any source distribution."},
		{"MIT", "Permission is hereby granted, free of charge"},
		{"ISC", "Permission to use, copy, modify, and/or distribute this software"},
		{"BSD-3-Clause", "Neither the name of"},
		{"BSD-2-Clause", "Redistributions in binary form must reproduce"},
	} {
		if strings.Contains(text, known.sentence) {
			return known.name
		}
	}
	return ""
}

// readJSON reads a JSON file.
func readJSON(path string, into any) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, into)
}
