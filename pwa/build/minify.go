package main

import (
	"bytes"
	"fmt"
	"io"
	"path"
	"strings"

	"github.com/tdewolff/minify/v2"
	"github.com/tdewolff/minify/v2/css"
	"github.com/tdewolff/minify/v2/html"
	"github.com/tdewolff/minify/v2/js"
	"github.com/tdewolff/minify/v2/json"
	"github.com/tdewolff/minify/v2/svg"
	"github.com/tdewolff/parse/v2"
	csslex "github.com/tdewolff/parse/v2/css"
)

// minifiers are the minifier of each kind of file. What it cannot read is an error,
// never passed on as it is: an unminified file may just be the broken one.
var minifiers = map[string]minify.Minifier{
	".js":          &js.Minifier{},
	".css":         &css.Minifier{},
	".html":        &html.Minifier{KeepDocumentTags: true, KeepEndTags: true, KeepQuotes: true},
	".json":        &json.Minifier{KeepNumbers: true},
	".webmanifest": &json.Minifier{KeepNumbers: true},
	".svg":         &svg.Minifier{},
}

// shrink minifies a file, after refusing what the minifier is known to break
// without a word. Of that, one thing cannot be seen here: it drops parameters that
// are not used at the end of a list, so nothing may rely on a function's length.
func shrink(name string, text []byte) ([]byte, error) {
	kind := path.Ext(name)
	minifier := minifiers[kind]
	if minifier == nil || kind == ".svg" && speaks(text) {
		return text, nil
	}
	if err := refuse(name, text); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := minifier.Minify(minify.New(), &out, bytes.NewReader(text), nil); err != nil && err != io.EOF {
		return nil, fmt.Errorf("%s cannot be minified: %w", name, err)
	}
	if kind == ".js" {
		if err := refuseOrder(name, out.Bytes()); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

// speaks tells whether an SVG holds text, whose spaces the minifier would fold.
func speaks(svg []byte) bool {
	return bytes.Contains(svg, []byte("<text")) || bytes.Contains(svg, []byte("xml:space"))
}

// refuse names what comes out of the minifier with another meaning.
func refuse(name string, text []byte) error {
	switch path.Ext(name) {
	case ".css":
		return refuseFlex(name, text)
	case ".html":
		for _, tag := range []string{"<template", "<pre"} {
			if bytes.Contains(bytes.ToLower(text), []byte(tag)) {
				return fmt.Errorf("%s: the minifier folds the spaces inside %s>: make it in a script", name, tag)
			}
		}
	}
	return nil
}

// refuseFlex refuses a flex shorthand with a zero length as its basis: the minifier
// takes it away, and the basis becomes 0 %, which is another height in a column.
func refuseFlex(name string, text []byte) error {
	parser := csslex.NewParser(parse.NewInputBytes(bytes.Clone(text)), false)
	for {
		grammar, _, data := parser.Next()
		if grammar == csslex.ErrorGrammar {
			if err := parser.Err(); err != io.EOF {
				return fmt.Errorf("%s cannot be read: %w", name, err)
			}
			return nil
		}
		if grammar != csslex.DeclarationGrammar || !strings.EqualFold(string(data), "flex") {
			continue
		}
		for _, token := range parser.Values() {
			if token.TokenType == csslex.DimensionToken && !bytes.ContainsAny(token.Data, "123456789") {
				return fmt.Errorf("%s: flex with %s as its basis becomes 0%% when minified: write flex-grow, flex-shrink and flex-basis apart", name, token.Data)
			}
		}
	}
}
