// Package fault holds the one kind of error the engine returns: a code for the
// machine, a sentence for a person, and the place in the request where it lies.
package fault

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"unicode"
	"unicode/utf8"
)

// The codes. Each is kebab-case, stands for one thing a caller can do something
// about, and never changes its meaning.
const (
	UnknownMethod     = "unknown-method"     // no method of that name
	RequestTooBig     = "request-too-big"    // the request is longer than the engine reads
	NotJSON           = "not-json"           // the request is not a JSON value
	TrailingData      = "trailing-data"      // something follows the JSON value
	UnknownField      = "unknown-field"      // a field the method does not have
	RepeatedField     = "repeated-field"     // a field given twice in one object
	WrongType         = "wrong-type"         // a field holds another kind of value than it should
	MissingField      = "missing-field"      // a field the method cannot do without
	OutOfRange        = "out-of-range"       // a number outside its limits
	ConflictingFields = "conflicting-fields" // fields that exclude each other, given together
	TooFew            = "too-few"            // less is given than is needed to work something out
	TooMany           = "too-many"           // a list longer than its limit
	BadName           = "bad-name"           // a name that is empty, too long, or holds control characters
	NotOneOf          = "not-one-of"         // a word or number that is not one of those allowed
	EmptyText         = "empty-text"         // nothing was typed where a length or count is needed
	NotALength        = "not-a-length"       // a typed text that is no length or count
	UnknownUnit       = "unknown-unit"       // a typed unit other than mm, cm and in
	DuplicateID       = "duplicate-id"       // two readings or sittings of one id
	UnknownSitting    = "unknown-sitting"    // a reading of a sitting that is not there
	PartNotRead       = "part-not-read"      // a part that something is asked of has no reading
	PictureMissing    = "picture-missing"    // a picture that the request names was not given
	PictureNotRead    = "picture-not-read"   // a file that is no picture, damaged, or of a kind that is not read
	PictureTooBig     = "picture-too-big"    // a picture of more pixels or bytes than are looked at
	PointsRepeated    = "points-repeated"    // two points in one place, where different ones are needed
	PointsOnALine     = "points-on-a-line"   // points on one line, where a quadrilateral is needed
	PointsCrossed     = "points-crossed"     // points that no view of a plane can bring where they should go
	NoCardFound       = "no-card-found"      // no rectangle of the size asked for is seen in the picture
	UnknownWool       = "unknown-wool"       // a form of a wool that is not there
	CrossesItself     = "crosses-itself"     // an outline that crosses itself, so that its inside is not known
	EngineCrashed     = "engine-crashed"     // a fault of the engine itself
)

// Codes lists every code, in the order of their constants.
func Codes() []string {
	return []string{
		UnknownMethod, RequestTooBig, NotJSON, TrailingData, UnknownField, RepeatedField,
		WrongType, MissingField, ConflictingFields, OutOfRange, TooFew, TooMany, BadName, NotOneOf,
		EmptyText, NotALength, UnknownUnit, DuplicateID, UnknownSitting, PartNotRead, UnknownWool, CrossesItself,
		PictureMissing, PictureNotRead, PictureTooBig,
		PointsRepeated, PointsOnALine, PointsCrossed, NoCardFound, EngineCrashed,
	}
}

// Error is what every method returns when it cannot answer. It is used as a pointer.
type Error struct {
	// Code is one of the constants of this package.
	Code string `json:"code"`
	// Text says in an English sentence what is wrong and where.
	Text string `json:"text"`
	// At is where it lies: the path of a field (readings[3].value), or the
	// position in a typed text in characters from 0 (text:4). It may be empty.
	At string `json:"at"`
}

// Error returns the sentence.
func (e *Error) Error() string { return e.Text }

// New makes an Error; the sentence is made as by fmt.Sprintf.
func New(code, at, format string, args ...any) *Error {
	return &Error{Code: code, At: at, Text: fmt.Sprintf(format, args...)}
}

// JSON writes any error as {"error":{"code":..,"text":..,"at":..}}. An error that
// did not come from this package is told as EngineCrashed.
func JSON(err error) []byte {
	var e *Error
	if !errors.As(err, &e) {
		e = New(EngineCrashed, "", "The engine met a fault of its own: %v.", err)
	}
	text, _ := json.Marshal(map[string]*Error{"error": e}) // three strings cannot fail
	return text
}

// MaxName is the most bytes a name may have: a part, a place, a sitting, a reading.
const MaxName = 200

// Name refuses a name that is empty, longer than MaxName bytes, not UTF-8, or
// holds control characters, with BadName.
func Name(at, name string) error {
	switch {
	case name == "":
		return New(BadName, at, "%s is empty, and a name is needed there.", at)
	case len(name) > MaxName:
		return New(BadName, at, "%s is %d bytes long, and a name has at most %d.", at, len(name), MaxName)
	case !utf8.ValidString(name):
		return New(BadName, at, "%s is not written in UTF-8.", at)
	}
	for _, r := range name {
		if unicode.IsControl(r) {
			return New(BadName, at, "%s holds a control character, which a name may not.", at)
		}
	}
	return nil
}

// MaxValue is the greatest length, count or ratio the engine takes, in mm or units.
const MaxValue = 1e7

// Number writes a number as a person would, 10000000 or 0.025, unless that were very long.
func Number(value float64) string {
	if size := math.Abs(value); size < 1e-6 && size > 0 || size >= 1e15 {
		return strconv.FormatFloat(value, 'g', -1, 64)
	}
	return strconv.FormatFloat(value, 'f', -1, 64)
}

// Positive refuses a value that is not finite, not above 0, or above MaxValue,
// with OutOfRange.
func Positive(at string, value float64) error {
	if value > 0 && value <= MaxValue {
		return nil
	}
	return New(OutOfRange, at, "%s is %s, and must be more than 0 and at most %s.", at, Number(value), Number(MaxValue))
}

// Between refuses a value that is not finite or outside low to high, both
// included, with OutOfRange.
func Between(at string, value, low, high float64) error {
	if value >= low && value <= high && !math.IsInf(value, 0) {
		return nil
	}
	return New(OutOfRange, at, "%s is %s, and must be between %s and %s.", at, Number(value), Number(low), Number(high))
}
