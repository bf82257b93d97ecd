package wire

import (
	"encoding/base32"
	"encoding/binary"
	"slices"

	"needlesight/data"
	"needlesight/sync/change"
)

// The first byte of every frame.
const (
	kindHello = iota + 1
	kindWelcome
	kindPush
	kindAck
	kindNews
	kindSeen
	kindPing
	kindPong
	kindBye
)

func (*Hello) kind() byte   { return kindHello }
func (*Welcome) kind() byte { return kindWelcome }
func (*Push) kind() byte    { return kindPush }
func (*Ack) kind() byte     { return kindAck }
func (*News) kind() byte    { return kindNews }
func (*Seen) kind() byte    { return kindSeen }
func (*Ping) kind() byte    { return kindPing }
func (*Pong) kind() byte    { return kindPong }
func (*Bye) kind() byte     { return kindBye }

// blank is an empty message of a kind, or nil.
func blank(kind byte) Message {
	switch kind {
	case kindHello:
		return &Hello{}
	case kindWelcome:
		return &Welcome{}
	case kindPush:
		return &Push{}
	case kindAck:
		return &Ack{}
	case kindNews:
		return &News{}
	case kindSeen:
		return &Seen{}
	case kindPing:
		return &Ping{}
	case kindPong:
		return &Pong{}
	case kindBye:
		return &Bye{}
	}
	return nil
}

// Encode writes a message as a frame. It fails, with an *Error, only for a
// message beyond its limits or with a change that is not Sound.
func Encode(m Message) ([]byte, error) {
	w := &walker{b: []byte{m.kind()}}
	m.walk(w)
	if w.err == nil && len(w.b) > MaxFrame {
		w.fail("the message would be %d bytes; at most %d are sent", len(w.b), MaxFrame)
	}
	return w.b, w.err
}

// Decode reads a frame. The error is an *Error. The message keeps no part of
// the frame.
func Decode(frame []byte) (Message, error) {
	if len(frame) == 0 || len(frame) > MaxFrame {
		return nil, wrong("a frame has %d bytes; it must have 1 to %d", len(frame), MaxFrame)
	}
	m := blank(frame[0])
	if m == nil {
		return nil, wrong("there is no message of kind %d", frame[0])
	}
	w := &walker{b: frame[1:], reading: true}
	m.walk(w)
	if w.err == nil && len(w.b) > 0 {
		w.fail("a message of kind %d goes on for %d bytes after its end", frame[0], len(w.b))
	}
	if w.err != nil {
		return nil, w.err
	}
	return m, nil
}

// walker goes through the parts of a message, in their order, and reads or
// writes each: so reading and writing have one definition. After a fault it
// does nothing more.
type walker struct {
	b       []byte // when reading, what is left; when writing, what is there
	reading bool
	err     error
}

func (w *walker) fail(format string, args ...any) {
	if w.err == nil {
		w.err = wrong(format, args...)
	}
}

// number is an unsigned number from low to high.
func (w *walker) number(n *uint64, what string, low, high uint64) {
	if w.reading {
		*n = w.uvarint()
	} else {
		w.b = binary.AppendUvarint(w.b, *n)
	}
	if *n < low || *n > high {
		w.fail("%s is %d; it must be %d to %d", what, *n, low, high)
	}
}

// uvarint reads a number of 7 bits a byte, the lowest first. It must take no
// byte too many.
func (w *walker) uvarint() uint64 {
	if w.err != nil {
		return 0
	}
	n, size := binary.Uvarint(w.b)
	if size <= 0 || size > 1 && w.b[size-1] == 0 {
		w.fail("a number is cut off or badly written")
		return 0
	}
	w.b = w.b[size:]
	return n
}

// take reads so many bytes.
func (w *walker) take(n uint64) []byte {
	if w.err != nil || n > uint64(len(w.b)) {
		w.fail("the message is cut off")
		return nil
	}
	taken := w.b[:n]
	w.b = w.b[n:]
	return taken
}

// text is a text of a to z, - and _, of so many bytes at most.
func (w *walker) text(s *string, what string, most uint64) {
	n := uint64(len(*s))
	w.number(&n, "the length of "+what, 1, most)
	if w.err != nil {
		return
	}
	if w.reading {
		*s = string(w.take(n))
	} else {
		w.b = append(w.b, *s...)
	}
	for _, c := range []byte(*s) {
		if (c < 'a' || c > 'z') && c != '-' && c != '_' {
			w.fail("%s has a byte that is not a letter a to z, - or _", what)
			return
		}
	}
}

// idBytes is how many bytes an id takes.
const idBytes = 10

// letters turns the bytes of an id into its 16 letters and digits, and back.
var letters = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

// id is an id.
func (w *walker) id(s *string, what string) {
	if w.reading {
		*s = letters.EncodeToString(w.take(idBytes))
		return
	}
	if !data.IsID(*s) {
		w.fail("%s is not an id", what)
		return
	}
	w.b = appendID(w.b, *s)
}

func appendID(b []byte, id string) []byte {
	b, _ = letters.AppendDecode(b, []byte(id)) // an id decodes
	return b
}

func (m *Hello) walk(w *walker) {
	w.number(&m.Low, "the lowest version", 1, MaxNumber)
	w.number(&m.High, "the highest version", m.Low, MaxNumber)
	if m.Low < Oldest || m.Low > Newest {
		w.rest()
		return
	}
	w.id(&m.Device, "the device")
	known := uint64(0)
	if m.Epoch != "" {
		known = 1
	}
	w.number(&known, "whether an epoch is known", 0, 1)
	if known == 1 {
		w.id(&m.Epoch, "the epoch")
	}
	w.number(&m.After, "the number kept", 0, known*MaxNumber)
	w.number(&m.Waiting, "the count of what waits", 0, MaxNumber)
}

// rest passes over what only another version can read.
func (w *walker) rest() {
	if w.reading {
		w.b = nil
	}
}

func (m *Welcome) walk(w *walker) {
	w.number(&m.Version, "the version", Oldest, Newest)
	w.id(&m.Epoch, "the epoch")
	w.number(&m.Last, "the last number", 0, MaxNumber)
	w.number(&m.Time, "the time", 0, maxTime)
}

func (m *Push) walk(w *walker) {
	w.number(&m.Batch, "the batch", 1, MaxNumber)
	w.changes(&m.Changes)
	if len(m.Changes) == 0 {
		w.fail("a push brings nothing")
	}
}

func (m *Ack) walk(w *walker) {
	w.number(&m.Batch, "the batch", 1, MaxNumber)
	w.number(&m.From, "from", 0, MaxNumber)
	w.number(&m.To, "to", m.From, MaxNumber)
	count := uint64(len(m.Refused))
	w.number(&count, "the count of refusals", 0, MaxWeight/perChange)
	if w.reading {
		if count > uint64(len(w.b))/3 { // a place, a length, a letter
			w.fail("the message is cut off")
			return
		}
		m.Refused = slices.Grow(m.Refused, int(count))[:count]
	}
	low := uint64(0)
	for i := range m.Refused {
		w.number(&m.Refused[i].Place, "a place", low, MaxWeight/perChange)
		w.text(&m.Refused[i].Code, "a code", MaxCode)
		if low = m.Refused[i].Place + 1; w.err != nil {
			return
		}
	}
}

func (m *News) walk(w *walker) {
	w.number(&m.From, "from", 0, MaxNumber-1)
	w.number(&m.To, "to", m.From+1, MaxNumber)
	w.changes(&m.Changes)
	if uint64(len(m.Changes)) > m.To-m.From {
		w.fail("news of %d numbers has %d changes", m.To-m.From, len(m.Changes))
	}
}

func (m *Seen) walk(w *walker) { w.number(&m.To, "the number", 0, MaxNumber) }
func (m *Ping) walk(w *walker) { w.number(&m.Mark, "the mark", 0, MaxNumber) }
func (m *Pong) walk(w *walker) { w.number(&m.Mark, "the mark", 0, MaxNumber) }

func (m *Bye) walk(w *walker) {
	w.text(&m.Code, "the code", MaxCode)
	w.number(&m.Low, "the lowest version", 1, MaxNumber)
	w.number(&m.High, "the highest version", m.Low, MaxNumber)
}

// changes is a batch of changes.
func (w *walker) changes(changes *[]change.Change) {
	if w.err != nil {
		return
	}
	if w.reading {
		*changes = w.readBatch()
		return
	}
	w.writeBatch(*changes)
}
