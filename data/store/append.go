package store

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/dgraph-io/badger/v4"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// MaxBatch is how many bytes of changes go into one transaction, and MaxMany
// how many changes. What Append is given beyond that goes into the next.
const (
	MaxBatch = 256 << 10
	MaxMany  = 4096
)

// AppendResult tells what became of a batch.
type AppendResult struct {
	// Accepted is how many changes were new, and have a number now. Those
	// that home had already are neither accepted nor refused.
	Accepted int
	// Last is the number of the last change in the log.
	Last    uint64
	Refused []Refusal
}

// Refusal is a change that home does not take, and why.
type Refusal struct {
	// Index is the change's place in the batch, from 0.
	Index int
	Code  string // one of data.Codes()
	Text  string // a sentence for a person
}

// Append takes a batch of changes into the log. Each is checked: its names,
// stamps and value; that home has no other change under its stamp
// (data.CodeSameStamp), nor another value of what is written once
// (data.CodeFactTwice). What fails is refused, and the rest is kept. A change
// that home has already gets no new number. A value is kept in canonical
// form.
//
// When Append returns without an error, all that was not refused is on the
// disk. A batch of up to MaxBatch bytes and MaxMany changes is kept whole or
// not at all; a larger one may be kept in its first part. The numbers go
// through the batch record by record, in the order in which the records and
// the changes of each first stand in it.
//
// The error wraps ErrFull, with nothing kept of the part it came at, or
// ErrFailed.
func (s *Store) Append(batch []change.Change) (AppendResult, error) {
	s.appending.Lock()
	defer s.appending.Unlock()
	result := AppendResult{Last: s.Last()}
	for done := 0; done < len(batch); {
		part := batch[done : done+fitting(batch[done:])]
		a := appender{store: s, first: done, result: &result}
		if err := a.take(part); err != nil {
			return result, err
		}
		done += len(part)
	}
	return result, nil
}

// fitting is how many of the changes go into one transaction.
func fitting(batch []change.Change) int {
	size := 0
	for i, c := range batch {
		size += len(c.Kind) + len(c.Field) + len(c.Value) + 80 // the most that encodeRecord, encodeLog and the key add
		if i > 0 && (size > MaxBatch || i == MaxMany) {
			return i
		}
	}
	return len(batch)
}

// appender takes one transaction's worth of a batch.
type appender struct {
	store  *Store
	first  int // place in the batch
	result *AppendResult
	groups []group
	which  map[record]int // in groups
	stored map[record]bool
	known  map[under]change.Change // what is in the log or will be
	facts  map[change.Where]json.RawMessage
}

// under is what no two changes share.
type under struct {
	change.Where
	stamp stamp.Stamp
}

func (a *appender) take(part []change.Change) error {
	s := a.store
	if s.failed != nil {
		return s.failed
	}
	if err := s.room(memTable); err != nil {
		return err
	}
	a.which, a.stored = map[record]int{}, map[record]bool{}
	a.known, a.facts = make(map[under]change.Change, len(part)), map[change.Where]json.RawMessage{}
	err := s.db.View(func(txn *badger.Txn) error {
		l := newLookup(txn)
		defer l.close()
		for i, c := range part {
			if err := a.consider(l, a.first+i, c); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil || len(a.groups) == 0 {
		return err
	}
	return a.commit()
}

// consider adds one change to what is to be written, or refuses it.
func (a *appender) consider(l *lookup, index int, c change.Change) error {
	c, err := sound(c)
	if err != nil {
		a.refuse(index, err)
		return nil
	}
	r := record{c.Kind, c.ID}
	once := data.WrittenOnce(c.Kind, c.Field)
	// A stamp above all that the device has made cannot be in the log.
	if (once || c.Stamp.Counter <= a.store.highest[c.Stamp.Device]) && !a.stored[r] {
		a.stored[r] = true
		if err := l.changes(r, a.know); err != nil {
			return err
		}
	}
	if other, there := a.known[under{c.Where, c.Stamp}]; there {
		if !other.Equal(c) {
			a.refuse(index, &data.Error{Code: data.CodeSameStamp, Text: fmt.Sprintf("%v differs from what home has under the same stamp", c)})
		}
		return nil
	}
	if fact, there := a.facts[c.Where]; once && there && !bytes.Equal(fact, c.Value) {
		a.refuse(index, &data.Error{Code: data.CodeFactTwice, Text: fmt.Sprintf("%v differs from what home has there, but a %s is written once", c, c.Field)})
		return nil
	}
	a.know(c)
	i, there := a.which[r]
	if !there {
		i = len(a.groups)
		a.which[r] = i
		a.groups = append(a.groups, group{record: r})
	}
	a.groups[i].changes = append(a.groups[i].changes, c)
	return nil
}

func (a *appender) know(c change.Change) {
	a.known[under{c.Where, c.Stamp}] = c
	if data.WrittenOnce(c.Kind, c.Field) {
		a.facts[c.Where] = c.Value
	}
}

func (a *appender) refuse(index int, err error) {
	r := Refusal{Index: index, Code: data.CodeShape, Text: err.Error()}
	if e, ok := errors.AsType[*data.Error](err); ok {
		r.Code = e.Code
	}
	a.result.Refused = append(a.result.Refused, r)
}

// commit writes the groups under the next numbers.
func (a *appender) commit() error {
	s := a.store
	accepted := 0
	highest := map[string]uint64{}
	for _, g := range a.groups {
		accepted += len(g.changes)
		for _, c := range g.changes {
			if device := c.Stamp.Device; c.Stamp.Counter > max(highest[device], s.highest[device]) {
				highest[device] = c.Stamp.Counter
			}
		}
	}
	last := s.Last() + uint64(accepted)
	entries := make([]entry, 0, len(a.groups)+len(highest)+1)
	for _, g := range a.groups {
		entries = append(entries, entry{recordKey(g.record, last), encodeRecord(g.changes)})
	}
	entries = append(entries, entry{logKey(last), encodeLog(a.groups)})
	for device, counter := range highest {
		entries = append(entries, entry{appendID([]byte{'c'}, device), binary.AppendUvarint(nil, counter)})
	}
	if err := s.write(entries...); err != nil {
		return err
	}
	for device, counter := range highest {
		s.highest[device] = counter
	}
	s.last.Store(last)
	a.result.Accepted += accepted
	a.result.Last = last
	return nil
}

// sound checks a change by itself, and gives it with its value canonical.
// The error is a *data.Error.
func sound(c change.Change) (change.Change, error) {
	var value any
	switch {
	case !data.IsID(c.ID):
		return c, &data.Error{Code: data.CodeID, Text: "the id of a change is not 16 letters a to z or digits 2 to 7"}
	case !isStamp(c.Stamp):
		return c, &data.Error{Code: data.CodeStamp, Text: fmt.Sprintf("the stamp of field %.40q of %s is not one", c.Field, c.ID)}
	case !c.Base.IsNone() && !isStamp(c.Base), c.Base.Counter >= c.Stamp.Counter:
		return c, &data.Error{Code: data.CodeBase, Text: fmt.Sprintf("the base of field %.40q of %s is not a stamp older than its own", c.Field, c.ID)}
	case len(c.Value) > 2*change.MaxValue:
		return c, &data.Error{Code: data.CodeTooBig, Text: fmt.Sprintf("the value of field %.40q of %s is %d bytes", c.Field, c.ID, len(c.Value))}
	case json.Unmarshal(c.Value, &value) != nil:
		return c, &data.Error{Code: data.CodeNotJSON, Text: fmt.Sprintf("the value of field %.40q of %s is not JSON", c.Field, c.ID)}
	}
	canonical, err := change.Canonical(value)
	if err != nil {
		return c, err
	}
	if !bytes.Equal(canonical, c.Value) {
		c.Value = canonical
	}
	return c, data.Check(c.Kind, c.Field, value)
}

func isStamp(s stamp.Stamp) bool {
	return s.Counter >= 1 && s.Counter <= stamp.MaxCounter && data.IsID(s.Device)
}
