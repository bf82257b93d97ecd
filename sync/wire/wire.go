// Package wire is the one definition of every message that a device and home
// send each other: what is in it, its bytes, and its limits. sync/PROTOCOL.md
// says the same for whoever writes another client.
//
// A message is one frame: one binary message of the websocket. Reading is
// strict: whatever is not exactly as it should be is refused as a whole, with
// a sentence; it takes no more memory than the frame's length warrants, and
// it never panics.
package wire

import (
	"fmt"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// The versions of these messages that this program speaks.
const (
	Oldest = 1
	Newest = 1
)

// Limits of one message.
const (
	MaxWeight = 256 << 10      // of the changes in one message together, see Weigh
	MaxFrame  = 260 << 10      // bytes of one frame; changes of MaxWeight always fit
	MaxNumber = 1<<53 - 1      // of a number in the log, of a batch, of anything counted
	MaxCode   = 32             // bytes of a code
	perChange = 128            // bytes that a change may take besides its names and its value
	maxTime   = 253402300799e3 // the last millisecond of the year 9999
)

// Message is one of Hello, Welcome, Push, Ack, News, Seen, Ping, Pong and Bye.
type Message interface {
	kind() byte
	walk(w *walker)
}

// Hello is the first message of a device, and its only one until home has
// answered with Welcome or Bye.
type Hello struct {
	Low, High uint64 // the versions that the device speaks
	// What follows is laid out as in version Low. It is left empty when home
	// does not speak Low: then home can do no more than say Bye.
	Device  string // an id: the device of the stamps it makes
	Epoch   string // the epoch it knows home by, an id; "" when it has not met home yet
	After   uint64 // the last number of home's log that it has kept; 0 with no epoch
	Waiting uint64 // changes it has to bring, for display only
}

// Welcome is home's answer to Hello.
type Welcome struct {
	Version uint64 // of every message that follows, and of this one
	Epoch   string // an id: which life of home's log this is
	Last    uint64 // the last number of the log
	Time    uint64 // home's clock in milliseconds since 1970 UTC; for display only, it decides nothing
}

// Push brings changes to home.
type Push struct {
	Batch   uint64 // 1 for the first of this connection, one more for each
	Changes []change.Change
}

// Ack says that a push is on home's disk, but for the changes it names.
type Ack struct {
	Batch uint64 // that of the push
	// From and To say, as in News, that the device now has all numbers after
	// From up to To: those were its own. They are equal when there is nothing
	// to say.
	From, To uint64
	Refused  []Refusal // in the order of their places
}

// Refusal says that home did not take a change, and never will as it is.
type Refusal struct {
	Place uint64 // of the change in its push, from 0
	Code  string // why, such as those of data.Codes
}

// News brings to a device what stands in home's log after From up to To, but
// for changes which this connection brought to home itself. From is the To of
// the last News or Ack before it, or where the device said Hello from.
type News struct {
	From, To uint64
	Changes  []change.Change // at most To-From; in the order of the log
}

// Seen says that a device has kept what home's log says up to this number.
type Seen struct{ To uint64 }

// Ping asks the other end for a Pong with the same mark.
type Ping struct{ Mark uint64 }

// Pong answers a Ping.
type Pong struct{ Mark uint64 }

// Bye is the last message of a connection, and says why it ends. Its bytes
// are the same in every version.
type Bye struct {
	Code      string // one of Codes, or one that a later version knows
	Low, High uint64 // the versions that the sender speaks
}

// The codes of Bye.
const (
	ByeMessage  = "wire-message"  // a message could not be read, or came out of turn
	ByeTooOld   = "wire-too-old"  // the device speaks only versions older than home's
	ByeTooNew   = "wire-too-new"  // the device speaks only versions newer than home's
	ByeTooFast  = "wire-too-fast" // more pushes under way than are allowed
	ByeSilent   = "wire-silent"   // nothing came for too long
	ByeStruck   = "wire-struck"   // the device is struck off, or was never paired
	ByeFull     = "wire-full"     // home's disk is full or cannot be written
	ByeStopping = "wire-stopping" // home stops; it may be back soon
	ByeBusy     = "wire-busy"     // home has as many connections as it takes
)

// Codes lists every code that a Bye of this version can bear, sorted.
func Codes() []string {
	return []string{ByeBusy, ByeFull, ByeMessage, ByeSilent, ByeStopping, ByeStruck, ByeTooFast, ByeTooNew, ByeTooOld}
}

// Agree picks the version to speak with a device that speaks low to high:
// the newest that both know. When there is none the code says who is behind.
func Agree(low, high uint64) (version uint64, code string) {
	switch {
	case high < Oldest:
		return 0, ByeTooOld
	case low > Newest:
		return 0, ByeTooNew
	}
	return min(high, Newest), ""
}

// Error says why a frame could not be read, or a message not be written.
type Error struct{ Text string }

// Error gives the sentence.
func (e *Error) Error() string { return e.Text }

func wrong(format string, args ...any) error { return &Error{fmt.Sprintf(format, args...)} }

// Weigh tells how much a change counts towards MaxWeight: at least the bytes
// that it takes in a message, however badly it goes with the others.
func Weigh(c change.Change) int { return perChange + len(c.Kind) + len(c.Field) + len(c.Value) }

// Fit tells how many of the first of these changes go into one message. One
// sound change always does.
func Fit(changes []change.Change) int {
	weight := 0
	for i, c := range changes {
		if weight += Weigh(c); weight > MaxWeight {
			return i
		}
	}
	return len(changes)
}

// Sound tells whether a change can be sent at all: its names, id and stamps
// are such, its base is older, its value is canonical and within the limits.
// It does not ask for the rules of data. The error is a *data.Error.
func Sound(c change.Change) error {
	switch {
	case !change.IsName(c.Kind):
		return unsound(data.CodeKind, "kind")
	case !change.IsName(c.Field):
		return unsound(data.CodeField, "field")
	case !data.IsID(c.ID):
		return unsound(data.CodeID, "id")
	case c.Stamp.Counter < 1 || c.Stamp.Counter > stamp.MaxCounter || !data.IsID(c.Stamp.Device):
		return unsound(data.CodeStamp, "stamp")
	case !c.Base.IsNone() && (c.Base.Counter < 1 || c.Base.Counter >= c.Stamp.Counter || !data.IsID(c.Base.Device)):
		return unsound(data.CodeBase, "base")
	case len(c.Value) > change.MaxValue:
		return unsound(data.CodeTooBig, "value")
	case !canonical(c.Value):
		return unsound(data.CodeShape, "value")
	}
	return nil
}

func unsound(code, at string) error {
	return &data.Error{Code: code, At: at, Text: "the " + at + " of a change is not as it must be to be sent"}
}
