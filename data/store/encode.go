package store

import (
	"encoding/binary"
	"fmt"
	"slices"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// What stands in the log, version 1. Numbers are uvarints unless said
// otherwise, texts a length and bytes, ids and devices their 10 bytes.
//
// A recordEntry is what one batch changed of one record:
//
//	how many devices, and each
//	how many changes, and of each:
//	  field      text
//	  device     which of those devices made it, from 0
//	  counter    of the stamp, less that of the change before it (varint; the first less 0)
//	  base       0 for none, else 1 + which of those devices made it
//	  back       if there is a base, the counter of the stamp less that of the base
//	  value      text: JSON as change.Canonical writes it
//
// A logEntry is which records one batch changed, in the order of the numbers:
//
//	how many records, and of each:
//	  changes    how many, times 2, plus 1 if its kind is not that of the record before
//	  kind       text, only if so
//	  id
//
// The numbers of a batch's changes are those up to its own, and go through
// its records, and through the changes of each.

// record names one record.
type record struct{ kind, id string }

// group is what one batch changes of one record.
type group struct {
	record
	changes []change.Change
}

func appendText[T ~string | ~[]byte](b []byte, text T) []byte {
	return append(binary.AppendUvarint(b, uint64(len(text))), text...)
}

// appendID writes the 10 bytes of an id, which must be one.
func appendID(b []byte, id string) []byte {
	b, err := ids.AppendDecode(b, []byte(id))
	if err != nil {
		panic("not an id: " + id) // the caller has checked
	}
	return b
}

// recordPrefix is how the keys of a record begin.
func recordPrefix(r record) []byte {
	b := make([]byte, 0, len(r.kind)+20)
	b = append(append(append(b, 'r'), r.kind...), 0)
	return appendID(b, r.id)
}

// recordKey is where the recordEntry of a batch stands.
func recordKey(r record, number uint64) []byte {
	return binary.BigEndian.AppendUint64(recordPrefix(r), number)
}

// parseRecordKey reads what recordKey writes.
func parseRecordKey(key []byte) (r record, number uint64, err error) {
	const tail = 1 + 10 + 8
	end := len(key) - tail
	if end < 2 || key[0] != 'r' || key[end] != 0 {
		return r, 0, fmt.Errorf("%w: the key %q of a record cannot be read", ErrDamaged, key)
	}
	return record{string(key[1:end]), ids.EncodeToString(key[end+1 : end+11])}, binary.BigEndian.Uint64(key[end+11:]), nil
}

func logKey(number uint64) []byte { return binary.BigEndian.AppendUint64([]byte{'l'}, number) }

// encodeRecord writes a recordEntry.
func encodeRecord(changes []change.Change) []byte {
	var devices []string
	which := func(device string) uint64 {
		i := slices.Index(devices, device)
		if i < 0 {
			i, devices = len(devices), append(devices, device)
		}
		return uint64(i)
	}
	body := binary.AppendUvarint(make([]byte, 0, 24*len(changes)), uint64(len(changes)))
	before := uint64(0)
	for _, c := range changes {
		body = appendText(body, c.Field)
		body = binary.AppendUvarint(body, which(c.Stamp.Device))
		body = binary.AppendVarint(body, int64(c.Stamp.Counter)-int64(before))
		before = c.Stamp.Counter
		if c.Base.IsNone() {
			body = append(body, 0)
		} else {
			body = binary.AppendUvarint(body, 1+which(c.Base.Device))
			body = binary.AppendUvarint(body, c.Stamp.Counter-c.Base.Counter)
		}
		body = appendText(body, c.Value)
	}
	head := binary.AppendUvarint(make([]byte, 0, len(body)+2+10*len(devices)), uint64(len(devices)))
	for _, d := range devices {
		head = appendID(head, d)
	}
	return append(head, body...)
}

// encodeLog writes a logEntry.
func encodeLog(groups []group) []byte {
	b := binary.AppendUvarint(make([]byte, 0, 16*len(groups)), uint64(len(groups)))
	kind := ""
	for _, g := range groups {
		if g.kind == kind {
			b = binary.AppendUvarint(b, uint64(len(g.changes))<<1)
		} else {
			b = appendText(binary.AppendUvarint(b, uint64(len(g.changes))<<1|1), g.kind)
			kind = g.kind
		}
		b = appendID(b, g.id)
	}
	return b
}

// decoder reads an entry strictly. After the first fault it gives zeros.
type decoder struct {
	rest  []byte
	wrong string
}

func (d *decoder) fail(what string) {
	if d.wrong == "" {
		d.wrong = what
	}
	d.rest = nil
}

func (d *decoder) number() uint64 {
	x, n := binary.Uvarint(d.rest)
	if n <= 0 {
		d.fail("a number is cut off or too large")
		return 0
	}
	d.rest = d.rest[n:]
	return x
}

func (d *decoder) signed() int64 {
	x, n := binary.Varint(d.rest)
	if n <= 0 {
		d.fail("a number is cut off or too large")
		return 0
	}
	d.rest = d.rest[n:]
	return x
}

// bytes gives so many bytes, which stay those of the entry.
func (d *decoder) bytes(n uint64) []byte {
	if n > uint64(len(d.rest)) {
		d.fail("a text is cut off")
		return nil
	}
	b := d.rest[:n:n]
	d.rest = d.rest[n:]
	return b
}

func (d *decoder) text() []byte { return d.bytes(d.number()) }

func (d *decoder) id() string {
	if b := d.bytes(10); b != nil {
		return ids.EncodeToString(b)
	}
	return ""
}

// count is how many things follow, each of at least so many bytes.
func (d *decoder) count(size int) int {
	n := d.number()
	if n > uint64(len(d.rest)/size) {
		d.fail("more is told to follow than there is")
		return 0
	}
	return int(n)
}

// end is the error of the whole entry, if it has one.
func (d *decoder) end(what fmt.Stringer) error {
	if d.wrong == "" && len(d.rest) > 0 {
		d.wrong = "something follows its end"
	}
	if d.wrong == "" {
		return nil
	}
	return fmt.Errorf("%w: %s cannot be read: %s", ErrDamaged, what, d.wrong)
}

// place names an entry in a sentence.
type place struct {
	record
	number uint64
}

func (p place) String() string {
	if p.kind == "" {
		return fmt.Sprintf("the batch up to number %d", p.number)
	}
	return fmt.Sprintf("what the batch up to number %d says of %s %s", p.number, p.kind, p.id)
}

// decodeRecord reads a recordEntry. The values share the entry's bytes.
func decodeRecord(at place, entry []byte) ([]change.Change, error) {
	d := &decoder{rest: entry}
	devices := make([]string, d.count(10))
	for i := range devices {
		devices[i] = d.id()
	}
	changes := make([]change.Change, d.count(5))
	before := int64(0)
	for i := range changes {
		c := &changes[i]
		c.Kind, c.ID, c.Field = at.kind, at.id, fieldName(d.text())
		c.Stamp.Device = d.device(devices, d.number())
		before += d.signed()
		c.Stamp.Counter = d.counter(before)
		if by := d.number(); by > 0 {
			c.Base = stamp.Stamp{Counter: d.counter(before - int64(d.number())), Device: d.device(devices, by-1)}
		}
		c.Value = d.text()
	}
	if len(changes) == 0 {
		d.fail("it says nothing")
	}
	return changes, d.end(at)
}

func (d *decoder) device(devices []string, i uint64) string {
	if i >= uint64(len(devices)) {
		d.fail("a device is not named")
		return ""
	}
	return devices[i]
}

func (d *decoder) counter(n int64) uint64 {
	if n < 1 || n > stamp.MaxCounter {
		d.fail("a counter is out of its range")
		return 0
	}
	return uint64(n)
}

// run is how many of a batch's numbers are of one record.
type run struct {
	record
	changes int
}

// decodeLog reads a logEntry.
func decodeLog(number uint64, entry []byte) ([]run, error) {
	d := &decoder{rest: entry}
	runs := make([]run, d.count(11))
	kind, all := "", uint64(0)
	for i := range runs {
		n := d.number()
		if n&1 == 1 {
			kind = string(d.text())
		}
		if n>>1 == 0 || n>>1 > number-all {
			d.fail("the numbers do not add up")
			break
		}
		all += n >> 1
		runs[i] = run{record{kind, d.id()}, int(n >> 1)}
	}
	if len(runs) == 0 {
		d.fail("it says nothing")
	}
	return runs, d.end(place{number: number})
}

// fieldName is a field's name as text, made once for those that are known.
func fieldName(b []byte) string {
	if name, known := fieldNames[string(b)]; known {
		return name
	}
	return string(b)
}

var fieldNames = func() map[string]string {
	names := map[string]string{}
	for _, k := range data.Kinds() {
		for _, f := range k.Fields {
			names[f.Name] = f.Name
		}
	}
	return names
}()
