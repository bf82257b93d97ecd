package main

import (
	"bytes"
	"fmt"
	"path"
	"slices"
)

// beforeScripts is where the links are put that fetch modules ahead.
var beforeScripts = []byte(`<script type="module"`)

// preloading is a file's text; a page's is told which modules its scripts and its own
// modulepreload links will import, so that all are fetched at once and not one after
// another as each is read.
func preloading(page string, all sources) ([]byte, error) {
	text := all[page]
	at := bytes.Index(text, beforeScripts)
	if path.Ext(page) != ".html" || at < 0 {
		return text, nil
	}
	spoken, err := references(page, text, all)
	if err != nil {
		return nil, err
	}
	var roots []string
	for _, r := range spoken {
		if path.Ext(r.target) == ".js" {
			roots = append(roots, r.target)
		}
	}
	modules, err := imported(roots, all)
	if err != nil {
		return nil, err
	}
	var links bytes.Buffer
	for _, module := range modules {
		fmt.Fprintf(&links, "<link rel=\"modulepreload\" href=\"./%s\">\n", module)
	}
	return slices.Concat(text[:at], links.Bytes(), text[at:]), nil
}

// imported is every module that these import, and those import in turn, without the
// first ones and without what is imported only while running.
func imported(roots []string, all sources) ([]string, error) {
	seen := slices.Clone(roots)
	for i := 0; i < len(seen); i++ {
		text, there := all[seen[i]]
		if !there {
			continue
		}
		spoken, err := references(seen[i], text, all)
		if err != nil {
			return nil, err
		}
		for _, r := range spoken {
			if !r.later && path.Ext(r.target) == ".js" && !slices.Contains(seen, r.target) {
				seen = append(seen, r.target)
			}
		}
	}
	return seen[len(roots):], nil
}
