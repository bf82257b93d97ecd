package store

import (
	"encoding/binary"
	"errors"
	"fmt"

	"github.com/dgraph-io/badger/v4"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/merge"
)

// lookup finds records in the log.
type lookup struct{ it *badger.Iterator }

func newLookup(txn *badger.Txn) *lookup {
	o := badger.DefaultIteratorOptions
	o.Prefix, o.PrefetchValues = []byte{'r'}, false
	return &lookup{txn.NewIterator(o)}
}

func (l *lookup) close() { l.it.Close() }

// changes gives every change of a record in the order of their numbers.
func (l *lookup) changes(r record, f func(change.Change)) error {
	prefix := recordPrefix(r)
	for l.it.Seek(prefix); l.it.ValidForPrefix(prefix); l.it.Next() {
		changes, err := readRecord(l.it.Item())
		if err != nil {
			return err
		}
		for _, c := range changes {
			f(c)
		}
	}
	return nil
}

// readRecord reads the recordEntry of an item.
func readRecord(item *badger.Item) ([]change.Change, error) {
	r, number, err := parseRecordKey(item.Key())
	if err != nil {
		return nil, err
	}
	at := place{r, number}
	entry, err := item.ValueCopy(nil)
	if err != nil {
		return nil, fmt.Errorf("%w: %s cannot be read: %w", ErrDamaged, at, err)
	}
	return decodeRecord(at, entry)
}

// After gives the changes with numbers above n, in the order of their
// numbers, until they are more than maxBytes (each counted as its names and
// value and 32 bytes more; at least one is given), or all if maxBytes is 0.
// An error of f ends it and is returned. What is accepted meanwhile is not
// given. The error wraps ErrAhead if n is above Last, and ErrDamaged.
func (s *Store) After(n uint64, maxBytes int, f func(number uint64, c change.Change) error) error {
	end := s.Last() // before the transaction begins, so that it sees as much
	if n > end {
		return fmt.Errorf("%w: what came after %d is asked for, but the last is %d", ErrAhead, n, end)
	}
	size := 0
	err := s.db.View(func(txn *badger.Txn) error {
		return batchesAfter(txn, n, end, func(txn *badger.Txn, last uint64, runs []run) error {
			return changesOf(txn, n, last, runs, func(number uint64, c change.Change) error {
				if number > end {
					return errEnough
				}
				size += len(c.Kind) + len(c.ID) + len(c.Field) + len(c.Value) + 32
				if maxBytes > 0 && size > maxBytes && number > n+1 {
					return errEnough
				}
				return f(number, c)
			})
		})
	})
	if errors.Is(err, errEnough) {
		return nil
	}
	return err
}

var errEnough = errors.New("enough")

// batchesAfter gives each batch that holds a number above n, at least up to a
// number that is known to be there. That a batch is missing is an error: Badger
// ends quietly at a block it cannot read.
func batchesAfter(txn *badger.Txn, n, atLeast uint64, f func(txn *badger.Txn, last uint64, runs []run) error) error {
	o := badger.DefaultIteratorOptions
	o.Prefix, o.PrefetchValues = []byte{'l'}, false
	it := txn.NewIterator(o)
	defer it.Close()
	for it.Seek(logKey(n + 1)); it.Valid(); it.Next() {
		last, runs, err := readLog(it.Item())
		if err != nil {
			return err
		}
		if first := last - numbers(runs) + 1; first > n+1 {
			return fmt.Errorf("%w: numbers %d to %d are missing from the log", ErrDamaged, n+1, first-1)
		}
		if err := f(txn, last, runs); err != nil {
			return err
		}
		n = last
	}
	if n < atLeast {
		return fmt.Errorf("%w: numbers %d to %d are missing from the log", ErrDamaged, n+1, atLeast)
	}
	return nil
}

// readLog reads the logEntry of an item, and gives its number too.
func readLog(item *badger.Item) (last uint64, runs []run, err error) {
	key := item.Key()
	if len(key) != 9 {
		return 0, nil, fmt.Errorf("%w: a key of the log is %d bytes", ErrDamaged, len(key))
	}
	last = binary.BigEndian.Uint64(key[1:])
	entry, err := item.ValueCopy(nil)
	if err != nil {
		return last, nil, fmt.Errorf("%w: %s cannot be read: %w", ErrDamaged, place{number: last}, err)
	}
	runs, err = decodeLog(last, entry)
	return last, runs, err
}

// numbers is how many changes a batch is.
func numbers(runs []run) (n uint64) {
	for _, r := range runs {
		n += uint64(r.changes)
	}
	return n
}

// changesOf gives the changes of one batch that have numbers above n.
func changesOf(txn *badger.Txn, n, last uint64, runs []run, f func(number uint64, c change.Change) error) error {
	number := last - numbers(runs)
	for _, r := range runs {
		if number+uint64(r.changes) <= n {
			number += uint64(r.changes)
			continue
		}
		item, err := txn.Get(recordKey(r.record, last))
		if err != nil {
			return fmt.Errorf("%w: %s cannot be found: %w", ErrDamaged, place{r.record, last}, err)
		}
		changes, err := readRecord(item)
		if err != nil {
			return err
		}
		if len(changes) != r.changes {
			return fmt.Errorf("%w: %s is %d changes, and should be %d", ErrDamaged, place{r.record, last}, len(changes), r.changes)
		}
		for _, c := range changes {
			if number++; number <= n {
				continue
			}
			if err := f(number, c); err != nil {
				return err
			}
		}
	}
	return nil
}

// History gives every change ever made of a record, in the order in which
// they came home; none if there is no such record.
func (s *Store) History(kind, id string) (history []change.Change, err error) {
	if !data.IsID(id) {
		return nil, nil
	}
	err = s.db.View(func(txn *badger.Txn) error {
		l := newLookup(txn)
		defer l.close()
		return l.changes(record{kind, id}, func(c change.Change) { history = append(history, c) })
	})
	return history, err
}

// Walk gives every record, kind by kind, as all changes ever made of it in the
// order in which they came home. It sees the log as it was when it
// began. An error of f ends it and is returned; ErrDamaged can come at the
// end, when less was found than home has accepted.
func (s *Store) Walk(f func(changes []change.Change) error) error {
	atLeast, found := s.Last(), uint64(0)
	err := s.db.View(func(txn *badger.Txn) error {
		l := newLookup(txn)
		defer l.close()
		var all []change.Change
		for l.it.Rewind(); l.it.Valid(); l.it.Next() {
			changes, err := readRecord(l.it.Item())
			if err != nil {
				return err
			}
			found += uint64(len(changes))
			if len(all) > 0 && (all[0].ID != changes[0].ID || all[0].Kind != changes[0].Kind) {
				if err := f(all); err != nil {
					return err
				}
				all = nil
			}
			all = append(all, changes...)
		}
		if len(all) == 0 {
			return nil
		}
		return f(all)
	})
	if err == nil && found < atLeast {
		err = fmt.Errorf("%w: %d changes were found of %d", ErrDamaged, found, atLeast)
	}
	return err
}

// Project gives, as Walk does, the records that belong to a project: the
// project itself, and each whose field project says so.
func (s *Store) Project(id string, f func(changes []change.Change) error) error {
	says := `"` + id + `"`
	return s.Walk(func(changes []change.Change) error {
		if c := changes[0]; c.Kind == "project" && c.ID == id || saysOfProject(changes) == says {
			return f(changes)
		}
		return nil
	})
}

// saysOfProject is the JSON of a record's project, "" if it has none.
func saysOfProject(changes []change.Change) string {
	return string(state(changes, "project").Winner.Value)
}

// state is how a field of a record stands, without a value if it has none.
func state(changes []change.Change, field string) merge.State {
	var of []change.Change
	for _, c := range changes {
		if c.Field == field {
			of = append(of, c)
		}
	}
	if len(of) == 0 {
		return merge.State{}
	}
	return merge.Of(of)
}
