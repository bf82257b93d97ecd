package wire

import (
	"bytes"
	"encoding/binary"
	"encoding/json"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// A batch of changes, in this order:
//
//	how many changes; nothing follows if there are none
//	names:   how many; each its length and its bytes (kinds and fields)
//	devices: how many; each 10 bytes
//	shapes:  how many; each its kind, how many fields, its fields (places in names)
//	runs:    how many; a column of their shapes (places in shapes); then of each run its record's id, 10 bytes
//	         (changes that follow one another and are of one record are a run)
//	column:  the device of each stamp (places in devices)
//	column:  the counter of each stamp, less the one before, zigzag; the first less 0
//	column:  the counter of each base, subtracted from the stamp's; 0 for no base
//	column:  the device of each base that there is
//	tags:    of each change, what its value is, see below
//	values:  the bytes that the tags speak of, one after the other
//
// A tag is 0 for null, 1 for false, 2 for true, 3 for a text that is an id
// (10 bytes among the values); an even number from 4 on, 2n+4, for n+1 bytes
// of JSON; an odd one, 2n+5, for what the n-th of the values before it said
// that have bytes of their own (the first is the 0th).
const (
	tagNull = iota
	tagFalse
	tagTrue
	tagID
	tagOther
)

// writeBatch writes changes that are Sound, or fails.
func (w *walker) writeBatch(changes []change.Change) {
	if Fit(changes) < len(changes) {
		w.fail("the changes are too many for one message")
		return
	}
	for i, c := range changes {
		if err := Sound(c); err != nil {
			w.fail("change %d: %v", i+1, err)
			return
		}
	}
	w.b = binary.AppendUvarint(w.b, uint64(len(changes)))
	if len(changes) == 0 {
		return
	}
	newBatch(changes).write(w)
}

// batch is changes as they are laid out.
type batch struct {
	names, devices, shapes table
	runs                   []uint64 // the shape of each
	ids                    []byte
	by, counters           []uint64
	bases, basesBy         []uint64
	tags, values           []byte
}

// newBatch lays out changes.
func newBatch(changes []change.Change) *batch {
	n := len(changes)
	b := &batch{by: make([]uint64, 0, n), counters: make([]uint64, 0, n), bases: make([]uint64, 0, n)}
	for rest := changes; len(rest) > 0; {
		run := runLength(rest)
		b.addRun(rest[:run])
		rest = rest[run:]
	}
	before := uint64(0)
	for _, c := range changes {
		b.by = append(b.by, b.devices.place(c.Stamp.Device))
		b.counters = append(b.counters, zigzag(int64(c.Stamp.Counter-before)))
		before = c.Stamp.Counter
		if c.Base.IsNone() {
			b.bases = append(b.bases, 0)
			continue
		}
		b.bases = append(b.bases, c.Stamp.Counter-c.Base.Counter)
		b.basesBy = append(b.basesBy, b.devices.place(c.Base.Device))
	}
	b.addValues(changes)
	return b
}

// runLength tells how many of the first changes are of one record.
func runLength(changes []change.Change) int {
	n := 1
	for n < len(changes) && changes[n].ID == changes[0].ID && changes[n].Kind == changes[0].Kind {
		n++
	}
	return n
}

func (b *batch) addRun(run []change.Change) {
	var room [64]byte
	shape := binary.AppendUvarint(room[:0], b.names.place(run[0].Kind))
	shape = binary.AppendUvarint(shape, uint64(len(run)))
	for _, c := range run {
		shape = binary.AppendUvarint(shape, b.names.place(c.Field))
	}
	b.runs = append(b.runs, b.shapes.place(string(shape)))
	b.ids = appendID(b.ids, run[0].ID)
}

func (b *batch) addValues(changes []change.Change) {
	var said table
	for _, c := range changes {
		tag := uint64(tagOther)
		switch v := string(c.Value); {
		case v == "null":
			tag = tagNull
		case v == "false":
			tag = tagFalse
		case v == "true":
			tag = tagTrue
		default:
			known := len(said.list)
			if at := said.place(v); int(at) < known {
				tag = tagOther + 1 + 2*at
			} else if len(v) == 18 && data.IsID(v[1:17]) { // the rest of a text of 18 bytes is its quotes
				tag = tagID
				b.values = appendID(b.values, v[1:17])
			} else {
				tag = tagOther + 2*uint64(len(v)-1)
				b.values = append(b.values, v...)
			}
		}
		b.tags = binary.AppendUvarint(b.tags, tag)
	}
}

func (b *batch) write(w *walker) {
	w.b = binary.AppendUvarint(w.b, uint64(len(b.names.list)))
	for _, name := range b.names.list {
		w.b = binary.AppendUvarint(w.b, uint64(len(name)))
		w.b = append(w.b, name...)
	}
	w.b = binary.AppendUvarint(w.b, uint64(len(b.devices.list)))
	for _, device := range b.devices.list {
		w.b = appendID(w.b, device)
	}
	w.b = binary.AppendUvarint(w.b, uint64(len(b.shapes.list)))
	for _, shape := range b.shapes.list {
		w.b = append(w.b, shape...)
	}
	w.b = binary.AppendUvarint(w.b, uint64(len(b.runs)))
	w.writeColumn(b.runs)
	w.b = append(w.b, b.ids...)
	for _, column := range [][]uint64{b.by, b.counters, b.bases, b.basesBy} {
		w.writeColumn(column)
	}
	w.b = append(append(w.b, b.tags...), b.values...)
}

// table gives each text its place, in the order in which they first come.
type table struct {
	list   []string
	places map[string]uint64
}

func (t *table) place(s string) uint64 {
	if n := len(t.list); n > 0 && t.list[n-1] == s {
		return uint64(n - 1)
	}
	at, known := t.places[s]
	if !known {
		if t.places == nil {
			t.places = map[string]uint64{}
		}
		at = uint64(len(t.list))
		t.places[s] = at
		t.list = append(t.list, s)
	}
	return at
}

// count reads how many of something follow, each of at least so many bytes.
func (w *walker) count(what string, each int) uint64 {
	n := w.uvarint()
	if n*uint64(each) > uint64(len(w.b)) || n > MaxFrame {
		w.fail("the message has no room for %d %s", n, what)
		return 0
	}
	return n
}

// readBatch reads changes, or fails.
func (w *walker) readBatch() []change.Change {
	n := w.count("changes", 1)
	if n > MaxWeight/perChange {
		w.fail("%d changes are too many for one message", n)
	}
	if n == 0 || w.err != nil {
		return nil
	}
	changes := make([]change.Change, n)
	names, devices := w.readNames(), w.readDevices()
	w.readRuns(changes, names)
	w.readStamps(changes, devices)
	w.readValues(changes)
	if w.err == nil && Fit(changes) < len(changes) {
		w.fail("the changes are too heavy for one message")
	}
	return changes
}

func (w *walker) readNames() []string {
	names := make([]string, w.count("names", 2))
	for i := range names {
		names[i] = string(w.take(w.uvarint()))
		if !change.IsName(names[i]) {
			w.fail("a name is not the name of a kind or a field")
			return nil
		}
	}
	return names
}

func (w *walker) readDevices() []string {
	return w.readIDs(w.count("devices", idBytes))
}

// readIDs reads so many ids.
func (w *walker) readIDs(n uint64) []string {
	all := letters.EncodeToString(w.take(n * idBytes))
	if w.err != nil {
		return nil
	}
	ids := make([]string, n)
	for i := range ids {
		ids[i] = all[16*i : 16*i+16]
	}
	return ids
}

// shape is the kind and the fields of a run.
type shape struct {
	kind   string
	fields []string
}

func (w *walker) readShapes(names []string) []shape {
	shapes := make([]shape, w.count("shapes", 3))
	for i := range shapes {
		shapes[i].kind = pick(w, names, w.uvarint())
		fields := make([]string, w.count("fields", 1))
		if len(fields) == 0 {
			w.fail("a run has no changes")
		}
		for j := range fields {
			fields[j] = pick(w, names, w.uvarint())
		}
		shapes[i].fields = fields
		if w.err != nil {
			return nil
		}
	}
	return shapes
}

// pick is what stands at a place of a list, or fails.
func pick[T any](w *walker, list []T, at uint64) (picked T) {
	if at >= uint64(len(list)) {
		w.fail("a number points beyond its list")
		return picked
	}
	return list[at]
}

// readRuns reads what the changes are of.
func (w *walker) readRuns(changes []change.Change, names []string) {
	shapes := w.readShapes(names)
	runs := make([]uint64, w.count("runs", idBytes))
	w.readColumn(runs)
	ids := w.readIDs(uint64(len(runs)))
	if w.err != nil {
		return
	}
	for i, id := range ids {
		s := pick(w, shapes, runs[i])
		if len(s.fields) > len(changes) {
			w.fail("the runs have more changes than the batch")
		}
		if w.err != nil {
			return
		}
		for j, field := range s.fields {
			changes[j].Where = change.Where{Kind: s.kind, ID: id, Field: field}
		}
		changes = changes[len(s.fields):]
	}
	if len(changes) > 0 {
		w.fail("the runs have fewer changes than the batch")
	}
}

// readStamps reads when and where the changes were made.
func (w *walker) readStamps(changes []change.Change, devices []string) {
	n := len(changes)
	columns := make([]uint64, 4*n)
	by, counters, bases, basesBy := columns[:n], columns[n:2*n], columns[2*n:3*n], columns[3*n:]
	w.readColumn(by)
	w.readColumn(counters)
	w.readColumn(bases)
	based := 0
	for _, distance := range bases {
		if distance > 0 {
			based++
		}
	}
	w.readColumn(basesBy[:based])
	counter := uint64(0)
	for i := range changes {
		counter += uint64(unzigzag(counters[i]))
		changes[i].Stamp = w.stamp(counter, pick(w, devices, by[i]))
		if bases[i] > 0 {
			changes[i].Base = w.stamp(counter-bases[i], pick(w, devices, basesBy[0]))
			basesBy = basesBy[1:]
		}
		if bases[i] >= counter {
			w.fail("the base of change %d is not a stamp", i+1)
		}
		if w.err != nil {
			return
		}
	}
}

func (w *walker) stamp(counter uint64, device string) stamp.Stamp {
	if counter < 1 || counter > stamp.MaxCounter {
		w.fail("a stamp has a counter that is not from 1 to %d", uint64(stamp.MaxCounter))
	}
	return stamp.Stamp{Counter: counter, Device: device}
}

// readValues reads what the changes say. Those that say the same share one
// text.
func (w *walker) readValues(changes []change.Change) {
	tags := make([]uint64, len(changes))
	for i := range tags {
		tags[i] = w.uvarint()
	}
	if w.err != nil {
		return
	}
	values := cutter{from: bytes.Clone(w.b), said: make([]json.RawMessage, 0, len(changes))}
	for i := range changes {
		v, fault := values.next(tags[i])
		if fault != "" {
			w.fail("the value of change %d %s", i+1, fault)
			return
		}
		changes[i].Value = v
	}
	w.b = values.from
}

// constant are the values that have no bytes.
var constant = [...]json.RawMessage{tagNull: json.RawMessage("null"), tagFalse: json.RawMessage("false"), tagTrue: json.RawMessage("true")}

// cutter cuts bytes into values.
type cutter struct {
	from []byte
	said []json.RawMessage
}

// next is the value that a tag speaks of, or what is wrong with it.
func (c *cutter) next(tag uint64) (v json.RawMessage, fault string) {
	n := (tag - tagOther) / 2
	switch {
	case tag < tagID:
		return constant[tag], ""
	case tag > tagOther && tag%2 == 1:
		if n >= uint64(len(c.said)) {
			return nil, "points at one that is not there"
		}
		return c.said[n], ""
	case tag == tagID && len(c.from) < idBytes, tag != tagID && n >= uint64(len(c.from)):
		return nil, "is cut off"
	case tag == tagID:
		v = append(make(json.RawMessage, 0, 18), '"')
		v = append(letters.AppendEncode(v, c.from[:idBytes]), '"')
		c.from = c.from[idBytes:]
	case n >= change.MaxValue:
		return nil, "is too long"
	default:
		v = json.RawMessage(c.from[: n+1 : n+1])
		c.from = c.from[n+1:]
		if !canonical(v) {
			return nil, "is not JSON, or not written as it must be"
		}
	}
	c.said = append(c.said, v)
	return v, ""
}
