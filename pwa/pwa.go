// Package pwa holds the built app: the files a phone is given, each with its
// compressed forms, and the list of those it keeps for when there is no network.
package pwa

import (
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
)

// dist is what the build left. A clean checkout holds only .keep, so that it compiles.
//
//go:embed all:dist
var dist embed.FS

// ListName is the file in a build that lists all others.
const ListName = "files.json"

// ErrNotBuilt says that there is no app yet, and how to make it.
var ErrNotBuilt = errors.New("the app has not been built: run 'make build'")

// File is one file of the app as it is served.
type File struct {
	// Path is where it is found below the app's root, without a leading slash.
	Path string `json:"path"`
	// Source is where it came from in pwa/app; "lib/" stands for the libraries.
	Source string `json:"source"`
	// Hash is the SHA-256 of its bytes, in hexadecimal.
	Hash string `json:"hash"`
	// Type is its Content-Type.
	Type string `json:"type"`
	// Size is its length in bytes.
	Size int `json:"size"`
	// Brotli is its length in bytes when compressed by brotli (RFC 7932); 0 when that
	// would not be smaller, and so was not made.
	Brotli int `json:"brotli,omitempty"`
	// Gzip is the same for gzip (RFC 1952).
	Gzip int `json:"gzip,omitempty"`
	// Immutable says that the name holds the hash, so that the content never changes.
	Immutable bool `json:"immutable,omitempty"`
	// Precache says that the phone keeps it when the app is installed.
	Precache bool `json:"precache,omitempty"`
	// Later says that the phone keeps it too, but fetches it after the app is installed.
	Later bool `json:"later,omitempty"`
}

// List is the content of files.json.
type List struct {
	// Version is a hash over all files: another version, another hash.
	Version string `json:"version"`
	// Engine is a hash of what the engine was compiled from; empty without one.
	Engine string `json:"engine,omitempty"`
	// Pictures is the same of the engine's second half, which looks at pictures.
	Pictures string `json:"pictures,omitempty"`
	// Quality is the brotli quality used, 0 to 11.
	Quality int `json:"quality"`
	// Files is every file, sorted by path.
	Files []File `json:"files"`
}

// Site is a built app, ready to be read.
type Site struct {
	List
	files  fs.FS
	byPath map[string]*File
}

// Open reads the list of a build. It returns ErrNotBuilt when there is none.
func Open(build fs.FS) (*Site, error) {
	text, err := fs.ReadFile(build, ListName)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNotBuilt
	}
	if err != nil {
		return nil, fmt.Errorf("reading the list of the app's files: %w", err)
	}
	site := &Site{files: build, byPath: map[string]*File{}}
	if err := json.Unmarshal(text, &site.List); err != nil {
		return nil, fmt.Errorf("%s is damaged, build the app again: %w", ListName, err)
	}
	for i := range site.Files {
		site.byPath[site.Files[i].Path] = &site.Files[i]
	}
	return site, nil
}

// App is the app inside this program. It returns ErrNotBuilt when there is none.
func App() (*Site, error) {
	build, err := fs.Sub(dist, "dist")
	if err != nil {
		return nil, err
	}
	return Open(build)
}

// Find returns the file at a path of the app, without a leading slash; "" is the
// first page. It returns nil when there is none.
func (s *Site) Find(at string) *File {
	if at == "" {
		at = "index.html"
	}
	return s.byPath[at]
}

// Read returns the bytes of a file, in the form encoding: "br", "gzip", or "" for
// plain. A form that was not made is an error.
func (s *Site) Read(f *File, encoding string) ([]byte, error) {
	ending := map[string]string{"": "", "br": ".br", "gzip": ".gz"}[encoding]
	return fs.ReadFile(s.files, path.Clean(f.Path)+ending)
}
