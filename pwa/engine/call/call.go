// Package call makes a function of the engine into a method that is called by name,
// with JSON in and JSON out.
package call

import (
	"encoding/json"
	"reflect"

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
	return method(name, doc, reflect.TypeFor[Req](), reflect.TypeFor[Resp](), func(read reader, _ raster.Source) (any, error) {
		var request Req
		if err := read(&request); err != nil {
			return nil, err
		}
		return run(request)
	})
}

// Looking makes a method of a function that looks at pictures, which its request
// calls by name.
func Looking[Req, Resp any](name, doc string, run func(Req, raster.Source) (Resp, error)) Method {
	return method(name, doc, reflect.TypeFor[Req](), reflect.TypeFor[Resp](), func(read reader, pictures raster.Source) (any, error) {
		var request Req
		if err := read(&request); err != nil {
			return nil, err
		}
		return run(request, pictures)
	})
}

// reader reads a request's JSON into the struct that it points at.
type reader func(request any) error

// method is what Plain and Looking have in common: all that is not written anew for
// each of their types, which would make the phone's engine heavier.
func method(name, doc string, request, response reflect.Type, run func(reader, raster.Source) (any, error)) Method {
	plan := shapeOf(request)
	return Method{name, doc, request, response, response.Implements(reflect.TypeFor[filer]()), func(text []byte, pictures raster.Source) (any, error) {
		return run(func(request any) error { return plan.decode(text, request) }, pictures)
	}}
}

// Table is methods, sorted by name.
type Table []Method

// Find is the named method, or nil.
func (t Table) Find(name string) *Method {
	for i := range t {
		if t[i].Name == name {
			return &t[i]
		}
	}
	return nil
}

// Call runs the named method on a JSON request and returns its JSON response, and the
// file beside it, or nil where it has none. Every error is a *fault.Error:
// UnknownMethod, RequestTooBig, what the strict reading of the request refuses
// (NotJSON, TrailingData, UnknownField, RepeatedField, WrongType), what the source
// of the pictures refuses, or what the method itself refuses.
func (t Table) Call(name string, request []byte, pictures raster.Source) (response, file []byte, err error) {
	m := t.Find(name)
	if m == nil {
		return nil, nil, fault.New(fault.UnknownMethod, "", "There is no method called %.40q.", name)
	}
	if len(request) > MaxRequest {
		return nil, nil, fault.New(fault.RequestTooBig, "", "The request is %d bytes long, and at most %d are read.", len(request), MaxRequest)
	}
	answer, err := m.run(request, pictures)
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
