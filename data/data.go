// Package data says what needlesight keeps: the kinds of record, their
// fields, and the rule each field's value must follow. It is code only; the
// program never writes here. It knows nothing of how copies are merged
// (sync) or of the maths (pwa/engine).
package data

import "slices"

// The codes of the errors told about changes, for the machine. The sentence
// in Error.Text is for a person.
const (
	CodeNotJSON   = "changes-not-json"  // the text is not JSON, or is cut off
	CodeRequest   = "changes-request"   // the request or file has a field too many or too few
	CodeFormat    = "changes-format"    // the file does not say that it holds changes of needlesight
	CodeVersion   = "changes-version"   // the file's version is not one this program reads
	CodeTooMany   = "changes-too-many"  // more changes than are taken at once
	CodeShape     = "change-shape"      // one change has a field too many, too few or of the wrong sort
	CodeKind      = "change-kind"       // no such kind of record
	CodeID        = "change-id"         // the record's id is not an id
	CodeField     = "change-field"      // the kind has no such field
	CodeValue     = "change-value"      // the value breaks the field's rule
	CodeTooBig    = "change-too-big"    // the value is larger or deeper than a value may be
	CodeStamp     = "change-stamp"      // the stamp is not a stamp
	CodeBase      = "change-base"       // the base is not a stamp, or not older than the change
	CodeSameStamp = "change-same-stamp" // two different changes of one field bear one stamp
	CodeFactTwice = "change-fact-twice" // what is written once was written again, differently
)

// Codes lists every code an Error of data or sync can bear, sorted.
func Codes() []string {
	codes := []string{CodeNotJSON, CodeRequest, CodeFormat, CodeVersion, CodeTooMany, CodeShape, CodeKind, CodeID,
		CodeField, CodeValue, CodeTooBig, CodeStamp, CodeBase, CodeSameStamp, CodeFactTwice}
	slices.Sort(codes)
	return codes
}

// Error is what is wrong with a change, a file of changes or a value. Its
// JSON has the shape of every error of this program: code, text, at.
type Error struct {
	Code string `json:"code"` // for the machine: one of Codes()
	Text string `json:"text"` // for a person: what is wrong and where
	At   string `json:"at"`   // the JSON path of the fault, such as changes[16].value.mm; may be ""
}

// Error gives the sentence.
func (e *Error) Error() string { return e.Text }

// IsID tells whether s can name a record or a device: 16 characters of
// lower-case base32 (RFC 4648: a to z and 2 to 7), 80 bits made at random.
func IsID(s string) bool {
	for i := range len(s) {
		if c := s[i]; (c < 'a' || c > 'z') && (c < '2' || c > '7') {
			return false
		}
	}
	return len(s) == 16
}
