// Package engine is the maths of the craft as one table of methods, the same for
// the phone and for the shell. It is pure: no clock, no files, no network, no
// state. Inside, lengths are mm, angles radians, masses grams; the JSON names say
// so (height_mm, tilt_rad).
package engine

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"

	"needlesight/pwa/engine/fault"
)

// MaxRequest is the longest request in bytes that Call reads.
const MaxRequest = 4 << 20

// Method is one thing the engine can do.
type Method struct {
	// Name is how it is called: kebab-case.
	Name string
	// Doc says in a sentence what it does.
	Doc string
	// Request and Response are the structs whose JSON goes in and comes out.
	Request, Response reflect.Type

	call func([]byte) (any, error)
}

// Methods returns the table of all methods, sorted by name. The slice is the
// caller's own.
func Methods() []Method { return slices.Clone(table) }

// Call runs the named method on a JSON request and returns its JSON response.
// Every error is a *fault.Error: UnknownMethod, RequestTooBig, what the strict
// reading of the request refuses (NotJSON, TrailingData, UnknownField,
// RepeatedField, WrongType), or what the method itself refuses.
func Call(name string, request []byte) ([]byte, error) {
	i, found := slices.BinarySearchFunc(table, name, func(m Method, name string) int { return strings.Compare(m.Name, name) })
	if !found {
		return nil, fault.New(fault.UnknownMethod, "", "There is no method called %.40q.", name)
	}
	if len(request) > MaxRequest {
		return nil, fault.New(fault.RequestTooBig, "", "The request is %d bytes long, and at most %d are read.", len(request), MaxRequest)
	}
	answer, err := table[i].call(request)
	if err != nil {
		return nil, err
	}
	response, err := json.Marshal(answer)
	if err != nil {
		return nil, fault.New(fault.EngineCrashed, "", "The answer of %s could not be written down: %v.", name, err)
	}
	return response, nil
}

// method makes a row of the table from a function and its two structs.
func method[Req, Resp any](name, doc string, run func(Req) (Resp, error)) Method {
	request := reflect.TypeFor[Req]()
	plan := shapeOf(request)
	return Method{name, doc, request, reflect.TypeFor[Resp](), func(text []byte) (any, error) {
		var req Req
		if err := plan.decode(text, &req); err != nil {
			return nil, err
		}
		return run(req)
	}}
}

func sorted(methods ...Method) []Method {
	slices.SortFunc(methods, func(a, b Method) int { return strings.Compare(a.Name, b.Name) })
	return methods
}
