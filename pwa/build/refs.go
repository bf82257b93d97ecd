package main

import (
	"bytes"
	"fmt"
	"path"
	"regexp"
	"strings"

	"github.com/tdewolff/parse/v2"
	"github.com/tdewolff/parse/v2/css"
	"github.com/tdewolff/parse/v2/html"
	"github.com/tdewolff/parse/v2/js"
)

// reference is a place in a file that speaks of another: text[start:end] is the
// address as it is written, without quotes; target is the file it means. A later one
// is loaded only when the running code asks for it.
type reference struct {
	start, end int
	target     string
	later      bool
}

// fixed are the files that keep their names: addresses that people and browsers
// know. They may be spoken of from anywhere without waiting for their content.
var fixed = map[string]bool{"index.html": true, "sw.js": true, "manifest.webmanifest": true}

// references finds every place in a file that speaks of another file of the app.
func references(name string, text []byte, all sources) ([]reference, error) {
	switch path.Ext(name) {
	case ".js":
		return jsReferences(name, text, all)
	case ".css":
		return cssReferences(name, text)
	case ".html":
		return htmlReferences(name, text)
	case ".webmanifest":
		return manifestReferences(name, text, all), nil
	}
	return nil, nil
}

// resolve is the file that an address written in another file means; empty when it
// leads out of the app, to a page of it, or nowhere in particular (data:, #top).
func resolve(from, address string) string {
	if !strings.HasPrefix(address, "./") && !strings.HasPrefix(address, "../") {
		return ""
	}
	address, _, _ = strings.Cut(address, "#")
	address, _, _ = strings.Cut(address, "?")
	if strings.HasSuffix(address, "/") {
		return ""
	}
	return path.Join(path.Dir(from), address)
}

// jsReferences finds the modules in import and export statements, in import(), and
// the files in new URL('...', import.meta.url). An address of a file anywhere else
// would go stale without anyone noticing, so it is an error.
func jsReferences(name string, text []byte, all sources) ([]reference, error) {
	buffer := append(bytes.Clone(text), 0)[:len(text)]
	tree, err := js.Parse(parse.NewInputBytes(buffer), js.Options{})
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %w", name, err)
	}
	v := &jsVisitor{name: name, text: buffer, all: all, seen: map[*byte]bool{}}
	js.Walk(v, tree)
	if v.err == nil {
		v.strays()
	}
	return v.found, v.err
}

type jsVisitor struct {
	name   string
	text   []byte
	all    sources
	found  []reference
	seen   map[*byte]bool // literals already counted as references, by where they lie
	others [][]byte       // all other literals
	err    error
}

// Enter looks at one node of the syntax tree.
func (v *jsVisitor) Enter(node js.INode) js.IVisitor {
	switch n := node.(type) {
	case *js.ImportStmt:
		v.add(n.Module)
	case *js.ExportStmt:
		v.add(n.Module)
	case *js.CallExpr:
		if x, ok := n.X.(*js.LiteralExpr); ok && x.TokenType == js.ImportToken {
			v.dynamic(n.Args.List)
		}
	case *js.NewExpr:
		if x, ok := n.X.(*js.Var); ok && string(x.Data) == "URL" && n.Args != nil && besideThisModule(n.Args.List) {
			v.dynamic(n.Args.List)
		}
	case *js.LiteralExpr:
		if n.TokenType == js.StringToken {
			v.others = append(v.others, n.Data)
		}
	case *js.TemplateExpr:
		for _, part := range n.List {
			v.others = append(v.others, part.Value)
		}
		v.others = append(v.others, n.Tail)
	case *js.Field:
		if string(n.Name.Literal.Data) == "accessor" && n.Init == nil {
			v.fail("a class field called accessor is written wrongly by the minifier without a word: use get and set")
		}
	}
	return v
}

// Exit does nothing: all is seen on the way in.
func (v *jsVisitor) Exit(js.INode) {}

// besideThisModule tells whether the second argument is import.meta.url.
func besideThisModule(args []js.Arg) bool {
	if len(args) != 2 {
		return false
	}
	dot, ok := args[1].Value.(*js.DotExpr)
	if !ok {
		return false
	}
	_, ok = dot.X.(*js.ImportMetaExpr)
	return ok && dot.Y.String() == "url"
}

// dynamic takes the first argument of import() or new URL(). An address that is
// made while running cannot be followed.
func (v *jsVisitor) dynamic(args []js.Arg) {
	if len(args) == 0 {
		return
	}
	literal, ok := args[0].Value.(*js.LiteralExpr)
	if !ok || literal.TokenType != js.StringToken {
		v.fail("import() or new URL(..., import.meta.url) needs an address written out in quotes, so that the build can follow it; found %s", args[0].Value.String())
		return
	}
	before := len(v.found)
	v.add(literal.Data)
	for i := range v.found[before:] {
		v.found[before+i].later = true
	}
}

// add notes a quoted address.
func (v *jsVisitor) add(quoted []byte) {
	if len(quoted) < 2 {
		return
	}
	v.seen[&quoted[0]] = true
	address := string(quoted[1 : len(quoted)-1])
	target := resolve(v.name, address)
	switch {
	case target == "":
		v.fail("%q is not the address of a file beside this one: write ./NAME or ../NAME, and ./lib/NAME for a library", address)
	case !fixed[target]:
		at := v.offset(quoted)
		v.found = append(v.found, reference{start: at + 1, end: at + len(quoted) - 1, target: target})
	}
}

// offset is where in the file a slice of it lies.
func (v *jsVisitor) offset(part []byte) int {
	for i := range v.text {
		if &v.text[i] == &part[0] {
			return i
		}
	}
	panic("the parser no longer returns slices of its input")
}

// inMarkup finds addresses in the text of a template.
var inMarkup = regexp.MustCompile(`["'= ](\.\.?/[A-Za-z0-9_./-]+)`)

// strays refuses addresses of the app's files in other literals.
func (v *jsVisitor) strays() {
	for _, literal := range v.others {
		if len(literal) == 0 || v.seen[&literal[0]] {
			continue
		}
		for _, m := range inMarkup.FindAllSubmatch(append([]byte(" "), literal...), -1) {
			target := resolve(v.name, string(m[1]))
			fromPage := resolve("index.html", string(m[1]))
			for _, t := range []string{target, fromPage} {
				if _, there := v.all[t]; there && !fixed[t] {
					v.fail("%q is the address of a file whose name the build changes: write new URL('%s', import.meta.url).href", m[1], m[1])
				}
			}
		}
	}
}

func (v *jsVisitor) fail(format string, args ...any) {
	if v.err == nil {
		v.err = fmt.Errorf(v.name+": "+format, args...)
	}
}

// cssReferences finds url(...) and the quoted address after @import.
func cssReferences(name string, text []byte) ([]reference, error) {
	var found []reference
	lexer := css.NewLexer(parse.NewInputBytes(bytes.Clone(text)))
	at, importing, inURL := 0, false, false
	for {
		kind, token := lexer.Next()
		if kind == css.ErrorToken {
			return found, nil
		}
		start, end := -1, -1
		switch {
		case kind == css.URLToken:
			inner := bytes.Trim(token[len("url("):], "() \t\r\n\"'")
			start = at + bytes.Index(token, inner)
			end = start + len(inner)
		case kind == css.StringToken && (importing || inURL):
			start, end = at+1, at+len(token)-1
		}
		if start >= 0 {
			if target := resolve(name, string(text[start:end])); target != "" {
				found = append(found, reference{start: start, end: end, target: target})
			}
		}
		if kind != css.WhitespaceToken {
			importing = kind == css.AtKeywordToken && string(token) == "@import"
			inURL = kind == css.FunctionToken && strings.EqualFold(string(token), "url(")
		}
		at += len(token)
	}
}

// htmlReferences finds the addresses in href and src.
func htmlReferences(name string, text []byte) ([]reference, error) {
	var found []reference
	lexer := html.NewLexer(parse.NewInputBytes(bytes.Clone(text)))
	at := 0
	for {
		kind, token := lexer.Next()
		if kind == html.ErrorToken {
			return found, nil
		}
		at = bytes.Index(text[at:], token) + at
		if kind == html.AttributeToken {
			key, value := string(lexer.AttrKey()), string(bytes.Trim(lexer.AttrVal(), `"'`))
			target := resolve(name, value)
			if (key == "href" || key == "src") && target != "" && !fixed[target] {
				start := at + bytes.LastIndex(token, []byte(value))
				found = append(found, reference{start: start, end: start + len(value), target: target})
			}
		}
		at += len(token)
	}
}

var quotedAddress = regexp.MustCompile(`"(\./[^"]+)"`)

// manifestReferences finds the icons, screenshots and the like: every quoted
// address of a file that is there, or that looks like a picture.
func manifestReferences(name string, text []byte, all sources) []reference {
	var found []reference
	for _, m := range quotedAddress.FindAllSubmatchIndex(text, -1) {
		target := resolve(name, string(text[m[2]:m[3]]))
		_, there := all[target]
		if target != "" && !fixed[target] && (there || contentTypes[path.Ext(target)] != "") {
			found = append(found, reference{start: m[2], end: m[3], target: target})
		}
	}
	return found
}
