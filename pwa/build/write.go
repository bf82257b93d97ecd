package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"github.com/andybalholm/brotli"

	"needlesight/pwa"
)

// lastBuild is the build that lies in a directory already; nil when there is none.
func lastBuild(dir string) *pwa.Site {
	site, err := pwa.Open(os.DirFS(dir))
	if err != nil {
		return nil
	}
	return site
}

// write puts the app into a directory: the files first, then the list that names
// them, then it takes away what is no longer in the list. A server reading the
// directory at the same time sees the old app or the new one.
func write(dir string, before *pwa.Site, app *app) error {
	wanted := map[string]bool{pwa.ListName: true, ".keep": true}
	for i := range app.Files {
		f := &app.Files[i]
		if err := writeFile(dir, before, app, f); err != nil {
			return err
		}
		wanted[f.Path] = true
		wanted[f.Path+".br"] = f.Brotli > 0
		wanted[f.Path+".gz"] = f.Gzip > 0
	}
	list, err := json.MarshalIndent(app.List, "", " ")
	if err != nil {
		return err
	}
	if err := put(filepath.Join(dir, pwa.ListName), append(list, '\n')); err != nil {
		return err
	}
	return sweep(dir, wanted)
}

// writeFile writes a file in its plain and compressed forms, unless the last build
// left the same.
func writeFile(dir string, before *pwa.Site, app *app, f *pwa.File) error {
	if before != nil && before.Quality == app.Quality {
		if old := before.Find(f.Path); old != nil && old.Hash == f.Hash && whole(before, old) {
			f.Brotli, f.Gzip = old.Brotli, old.Gzip
			return nil
		}
	}
	at, text := filepath.Join(dir, filepath.FromSlash(f.Path)), app.bytes[f.Path]
	if err := put(at, text); err != nil {
		return err
	}
	for _, form := range []struct {
		ending string
		size   *int
		pack   func([]byte, int) ([]byte, error)
	}{{".br", &f.Brotli, packBrotli}, {".gz", &f.Gzip, packGzip}} {
		packed, err := form.pack(text, app.Quality)
		if err != nil {
			return err
		}
		if len(packed) >= len(text) {
			continue
		}
		*form.size = len(packed)
		if err := put(at+form.ending, packed); err != nil {
			return err
		}
	}
	return nil
}

// whole tells whether all forms of a file of the last build are there.
func whole(before *pwa.Site, f *pwa.File) bool {
	for encoding, size := range map[string]int{"": f.Size, "br": f.Brotli, "gzip": f.Gzip} {
		if size == 0 && encoding != "" {
			continue
		}
		if text, err := before.Read(f, encoding); err != nil || len(text) != size {
			return false
		}
	}
	return true
}

// put writes a file as a whole or not at all.
func put(at string, text []byte) error {
	if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(at+".part", text, 0o644); err != nil {
		return err
	}
	return os.Rename(at+".part", at)
}

// sweep takes away files that are not wanted, and the directories left empty.
func sweep(dir string, wanted map[string]bool) error {
	here := os.DirFS(dir)
	return fs.WalkDir(here, ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || wanted[name] {
			return err
		}
		if err := os.Remove(filepath.Join(dir, filepath.FromSlash(name))); err != nil {
			return err
		}
		for up := path.Dir(name); up != "."; up = path.Dir(up) {
			if os.Remove(filepath.Join(dir, filepath.FromSlash(up))) != nil {
				break // not empty
			}
		}
		return nil
	})
}

func packBrotli(text []byte, quality int) ([]byte, error) {
	var out bytes.Buffer
	w := brotli.NewWriterLevel(&out, quality)
	if _, err := w.Write(text); err != nil {
		return nil, err
	}
	err := w.Close()
	return out.Bytes(), err
}

func packGzip(text []byte, _ int) ([]byte, error) {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(text); err != nil {
		return nil, err
	}
	err = w.Close()
	return out.Bytes(), err
}
