package main

import (
	"encoding/json"
	"errors"

	"needlesight/data"
	"needlesight/pwa/engine"
	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/wasm/door"
	"needlesight/sync/change"
	"needlesight/sync/merge"
	"needlesight/sync/stamp"
)

// A caller answers a method's JSON request with JSON.
type caller func(method string, request []byte) ([]byte, error)

// extras are the methods of the phone that are not maths: those of data and
// sync. All other methods are the engine's.
var extras = map[string]func(request []byte) (any, error){
	"check-changes": checkChanges,
	"merge":         mergeChanges,
}

// methods is the one table of the door.
func methods(method string, request []byte) ([]byte, error) {
	extra, ok := extras[method]
	if !ok {
		return engine.Call(method, request)
	}
	response, err := extra(request)
	if err != nil {
		return nil, err
	}
	return json.Marshal(response)
}

// answer calls a method and gives its response, or its error as JSON.
func answer(call caller, method string, request []byte) (response []byte) {
	err := door.Try(method, func() (err error) {
		response, err = call(method, request)
		return err
	})
	if err != nil {
		return told(err)
	}
	return response
}

// told is an error as JSON.
func told(err error) []byte {
	if e, ok := errors.AsType[*data.Error](err); ok {
		err = fault.New(e.Code, e.At, "%s", e.Text)
	}
	return fault.JSON(err)
}

// notTexts is the answer to a call with anything but two texts.
func notTexts() []byte {
	return told(fault.New(fault.WrongType, "", "The engine is called with two texts: the name of a method and its request as JSON."))
}

// checked is the answer of check-changes.
type checked struct {
	Count int `json:"count"` // changes in the file, repetitions too
}

// checkChanges reads a file of changes (see change.Format) and tells how
// many it holds, or what is wrong with the first bad one.
func checkChanges(request []byte) (any, error) {
	file, err := change.DecodeFile(request)
	if err != nil {
		return nil, err
	}
	return checked{len(file.Changes)}, nil
}

// merged is the answer of merge.
type merged struct {
	Fields []field `json:"fields"` // sorted by kind, id and field
}

// field is a field as it stands.
type field struct {
	change.Where
	Value json.RawMessage `json:"value"`
	Stamp stamp.Stamp     `json:"stamp"`
	Base  stamp.Stamp     `json:"base"`
	// Apart are the other answers, each once, the latest first.
	Apart []merge.Answer `json:"apart"`
	// History is how many changes were ever made, each counted once.
	History int `json:"history"`
}

// mergeChanges makes the state of every field of {"changes":[...]}: all that
// is known of these fields, from here and from afar, in any order.
func mergeChanges(request []byte) (any, error) {
	changes, err := change.DecodeList(request)
	if err != nil {
		return nil, err
	}
	states, err := merge.Fields(changes)
	if err != nil {
		return nil, err
	}
	fields := make([]field, len(states))
	for i, s := range states {
		fields[i] = field{s.Winner.Where, s.Winner.Value, s.Winner.Stamp, s.Winner.Base, s.Apart, len(s.History)}
	}
	return merged{fields}, nil
}
