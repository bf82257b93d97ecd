// The command types prints TypeScript declarations of every method of the engine,
// made from the Go structs of its requests and responses:
//
//	go run ./pwa/build/types > pwa/app/types/engine.d.ts
//
// A field that may be left out of a request, or may be missing from a response
// (omitempty), is optional; a pointer may be null.
package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"needlesight/pwa/engine"
	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/pictures"
)

func main() {
	if err := declare(os.Stdout, engine.Methods(), pictures.Methods()); err != nil {
		fmt.Fprintln(os.Stderr, "types:", err)
		os.Exit(1)
	}
}

// writer gives each struct a name and collects its declaration.
type writer struct {
	names    map[reflect.Type]string
	taken    map[string]bool
	texts    []string
	requests map[reflect.Type]bool // what is part of a request
	docs     map[string]map[string]string
}

// declare writes the declarations of the methods of both halves of the engine.
func declare(out io.Writer, core, looking []call.Method) error {
	w := &writer{names: map[reflect.Type]string{}, taken: map[string]bool{"Methods": true, "PictureMethods": true}, requests: map[reflect.Type]bool{}, docs: map[string]map[string]string{}}
	for _, m := range slices.Concat(core, looking) {
		w.mark(m.Request)
		w.reserve(m.Request, pascal(m.Name)+"Request")
		w.reserve(m.Response, pascal(m.Name)+"Response")
	}
	first, second := w.table(core), w.table(looking)
	_, err := fmt.Fprintf(out, `// Made by pwa/build from the engine's Go structs. Do not edit.

%s
/** The methods of the engine that need nothing but their request. */
export interface Methods {
%s}

/** Those that look at pictures, which the request calls by name, or make sheets; those with bytes give a file beside the response. */
export interface PictureMethods {
%s}
`, strings.Join(w.texts, "\n"), first, second)
	return err
}

// table writes a line for each method.
func (w *writer) table(methods []call.Method) string {
	var table strings.Builder
	for _, m := range methods {
		bytes := ""
		if m.File {
			bytes = "; bytes: Uint8Array"
		}
		fmt.Fprintf(&table, "  /** %s */\n  %q: { request: %s; response: %s%s };\n", m.Doc, m.Name, w.typeOf(m.Request), w.typeOf(m.Response), bytes)
	}
	return table.String()
}

// mark notes that a type is part of a request.
func (w *writer) mark(t reflect.Type) {
	for _, choice := range call.Choices(t) {
		w.mark(choice)
	}
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Map:
		w.mark(t.Elem())
	case reflect.Struct:
		if w.requests[t] {
			return
		}
		w.requests[t] = true
		for f := range t.Fields() {
			w.mark(f.Type)
		}
	}
}

// reserve keeps a name for the request or response of a method; a struct that two
// methods share keeps the first.
func (w *writer) reserve(t reflect.Type, name string) {
	if t.Kind() == reflect.Struct && w.names[t] == "" {
		w.names[t] = name
		w.taken[name] = true
	}
}

// typeOf is the TypeScript type of a Go type; a struct is declared when first met.
func (w *writer) typeOf(t reflect.Type) string {
	if choices := call.Choices(t); choices != nil {
		var types []string
		for _, choice := range choices {
			types = append(types, w.typeOf(choice))
		}
		return strings.Join(types, " | ")
	}
	switch t.Kind() {
	case reflect.Pointer:
		return w.typeOf(t.Elem()) + " | null"
	case reflect.Array:
		return "[" + strings.Join(slices.Repeat([]string{w.typeOf(t.Elem())}, t.Len()), ", ") + "]"
	case reflect.Slice:
		if t.Elem().Kind() == reflect.Uint8 {
			return "unknown" // json.RawMessage: any JSON
		}
		if inner := w.typeOf(t.Elem()); strings.Contains(inner, " | ") {
			return "(" + inner + ")[]"
		} else {
			return inner + "[]"
		}
	case reflect.Map:
		return "Record<string, " + w.typeOf(t.Elem()) + ">"
	case reflect.String:
		return "string"
	case reflect.Bool:
		return "boolean"
	case reflect.Struct:
		return w.structOf(t)
	case reflect.Interface:
		return "unknown"
	}
	return "number"
}

func (w *writer) structOf(t reflect.Type) string {
	name := w.names[t]
	if name == "" {
		name = strings.ToUpper(t.Name()[:1]) + t.Name()[1:]
		if w.taken[name] {
			name = pascal(filepath.Base(t.PkgPath())) + name
		}
		w.names[t], w.taken[name] = name, true
	}
	if w.taken["declared "+name] {
		return name
	}
	w.taken["declared "+name] = true
	var fields strings.Builder
	w.fields(&fields, t)
	w.texts = append(w.texts, fmt.Sprintf("export interface %s {\n%s}\n", name, fields.String()))
	return name
}

// fields writes a struct's fields, those of structs embedded in it among them.
func (w *writer) fields(out *strings.Builder, t reflect.Type) {
	for f := range t.Fields() {
		tag, rest, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous && tag == "" {
			w.fields(out, f.Type)
			continue
		}
		if !f.IsExported() || tag == "-" || tag == "" {
			continue
		}
		mark := ""
		options := strings.Split(rest, ",")
		if slices.Contains(options, "omitempty") || slices.Contains(options, "omitzero") || w.requests[t] && f.Type.Kind() == reflect.Pointer {
			mark = "?"
		}
		if doc := w.doc(t, f.Name); doc != "" {
			fmt.Fprintf(out, "  /** %s */\n", doc)
		}
		fmt.Fprintf(out, "  %s%s: %s;\n", tag, mark, w.typeOf(f.Type))
	}
}

// doc is the comment beside a field in its source.
func (w *writer) doc(t reflect.Type, field string) string {
	docs, read := w.docs[t.PkgPath()]
	if !read {
		docs = fieldDocs(strings.TrimPrefix(t.PkgPath(), "needlesight/"))
		w.docs[t.PkgPath()] = docs
	}
	return docs[t.Name()+"."+field]
}

// fieldDocs reads the comments of all fields of a package's structs. A package
// that cannot be read has none: the declarations are right without them.
func fieldDocs(dir string) map[string]string {
	docs := map[string]string{}
	names, _ := filepath.Glob(filepath.Join(dir, "*.go"))
	for _, name := range names {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
		if err != nil {
			continue
		}
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			if body, ok := spec.Type.(*ast.StructType); ok {
				for _, f := range body.Fields.List {
					text := strings.Join(strings.Fields(f.Doc.Text()+" "+f.Comment.Text()), " ")
					for _, id := range f.Names {
						docs[spec.Name.Name+"."+id.Name] = strings.ReplaceAll(text, "*/", "* /")
					}
				}
			}
			return true
		})
	}
	return docs
}

// pascal is parse-length as ParseLength.
func pascal(name string) string {
	var out strings.Builder
	for word := range strings.SplitSeq(name, "-") {
		if word != "" {
			out.WriteString(strings.ToUpper(word[:1]) + word[1:])
		}
	}
	return out.String()
}
