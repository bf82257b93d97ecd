// Package call makes a function of the engine into a method that is called by name,
// with JSON in and JSON out.
package call

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"

	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
)

// MaxRequest is the longest request in bytes that is read. Pictures come beside it.
const MaxRequest = 4 << 20

// Method is one thing the engine can do.
type Method struct {
	// Name is how it is called: kebab-case.
	Name string
	// Doc says in a sentence what it does.
	Doc string
	// Request and Response are the structs whose JSON goes in and comes out.
	Request, Response reflect.Type
	// File says that a file comes beside the response.
	File bool

	run func(request []byte, pictures raster.Source) (any, error)
}

// filer is a response with a file beside it, which is not part of its JSON.
type filer interface{ Bytes() []byte }

// Plain makes a method of a function that needs nothing but its request.
func Plain[Req, Resp any](name, doc string, run func(Req) (Resp, error)) Method {
	return Looking(name, doc, func(request Req, _ raster.Source) (Resp, error) { return run(request) })
}

// Looking makes a method of a function that looks at pictures, which its request
// calls by name.
func Looking[Req, Resp any](name, doc string, run func(Req, raster.Source) (Resp, error)) Method {
	request, response := reflect.TypeFor[Req](), reflect.TypeFor[Resp]()
	plan := shapeOf(request)
	return Method{name, doc, request, response, response.Implements(reflect.TypeFor[filer]()), func(text []byte, pictures raster.Source) (any, error) {
		var req Req
		if err := plan.decode(text, &req); err != nil {
			return nil, err
		}
		return run(req, pictures)
	}}
}

// Table is methods, sorted by name.
type Table []Method

// NewTable sorts methods.
func NewTable(methods ...Method) Table {
	slices.SortFunc(methods, byName)
	return methods
}

func byName(a, b Method) int { return strings.Compare(a.Name, b.Name) }

// Has tells whether a method is in the table.
func (t Table) Has(name string) bool {
	_, found := slices.BinarySearchFunc(t, Method{Name: name}, byName)
	return found
}

// Call runs the named method on a JSON request and returns its JSON response, and the
// file beside it, or nil where it has none. Every error is a *fault.Error:
// UnknownMethod, RequestTooBig, what the strict reading of the request refuses
// (NotJSON, TrailingData, UnknownField, RepeatedField, WrongType), what the source
// of the pictures refuses, or what the method itself refuses.
func (t Table) Call(name string, request []byte, pictures raster.Source) (response, file []byte, err error) {
	i, found := slices.BinarySearchFunc(t, Method{Name: name}, byName)
	if !found {
		return nil, nil, fault.New(fault.UnknownMethod, "", "There is no method called %.40q.", name)
	}
	if len(request) > MaxRequest {
		return nil, nil, fault.New(fault.RequestTooBig, "", "The request is %d bytes long, and at most %d are read.", len(request), MaxRequest)
	}
	answer, err := t[i].run(request, pictures)
	if err != nil {
		return nil, nil, err
	}
	if f, ok := answer.(filer); ok {
		file = f.Bytes()
	}
	response, err = json.Marshal(answer)
	if err != nil {
		return nil, nil, fault.New(fault.EngineCrashed, "", "The answer of %s could not be written down: %v.", name, err)
	}
	return response, file, nil
}
