package store

import (
	"errors"
	"fmt"

	"github.com/dgraph-io/badger/v4"

	"needlesight/sync/change"
)

// MaxFaults is how many faults and missing things a Report names.
const MaxFaults = 100

// Report tells what Verify found.
type Report struct {
	// Changes is how many changes could be read, Records of how many records.
	Changes, Records uint64
	// Devices is how many may come in or were struck off.
	Devices int
	// Pictures is how many there are, damaged ones too.
	Pictures int
	// Faults are sentences: what is damaged, and what that means.
	Faults []string
	// Missing are sentences: what a record refers to and home does not have.
	// That is no fault. The device that has it may not have brought it yet.
	Missing []string
	// More is how many faults and missing things are not named.
	More int
}

// Verify opens the store in a folder, which must be in no use, and does what
// its method of that name does.
func Verify(dir string, o Options) (Report, error) {
	s, err := Open(dir, o)
	if err != nil {
		return Report{}, err
	}
	r, err := s.Verify()
	return r, errors.Join(err, s.Close())
}

// Verify reads all that home has: that each change of the log can be read,
// has its number and follows the rules of data; that no two changes of a
// record contradict one another; that each picture's bytes have the hash that
// is its name; that what records refer to is there. It may take long, and
// disturbs nobody. The error is one that kept it from looking.
func (s *Store) Verify() (Report, error) {
	v := verifier{store: s, last: s.Last()}
	v.report.Devices = len(s.Devices())
	err := s.db.View(func(txn *badger.Txn) error {
		v.txn = txn
		v.survive(v.log)
		v.survive(v.records)
		v.survive(v.sums)
		return nil
	})
	if err != nil {
		return v.report, err
	}
	return v.report, v.pictures()
}

type verifier struct {
	store  *Store
	txn    *badger.Txn
	last   uint64 // at least so many changes are there
	report Report
	runs   int // records named in the log, each time
}

// survive goes on where Badger panics at what it reads.
func (v *verifier) survive(look func()) {
	defer func() {
		if r := recover(); r != nil {
			v.fault("Badger cannot read its files: %.200v", r)
		}
	}()
	look()
}

func (v *verifier) sums() {
	if err := v.store.db.VerifyChecksum(); err != nil {
		v.fault("Badger's own sums do not hold: %v", err)
	}
}

func (v *verifier) fault(format string, args ...any) {
	v.tell(&v.report.Faults, format, args...)
}

func (v *verifier) missing(format string, args ...any) {
	v.tell(&v.report.Missing, format, args...)
}

func (v *verifier) tell(list *[]string, format string, args ...any) {
	if len(*list) == MaxFaults {
		v.report.More++
		return
	}
	*list = append(*list, fmt.Sprintf(format, args...))
}

// log goes through the numbers.
func (v *verifier) log() {
	o := badger.DefaultIteratorOptions
	o.Prefix, o.PrefetchValues = []byte{'l'}, false
	it := v.txn.NewIterator(o)
	defer it.Close()
	before := uint64(0)
	for it.Rewind(); it.Valid(); it.Next() {
		last, runs, err := readLog(it.Item())
		if err != nil {
			v.fault("%v", err)
			before = last
			continue
		}
		if first := last - numbers(runs) + 1; first != before+1 {
			v.fault("after number %d comes number %d", before, first)
		}
		before = last
		v.runs += len(runs)
		for _, r := range runs {
			v.run(last, r)
		}
	}
	if before < v.last {
		v.fault("numbers %d to %d are missing from the log", before+1, v.last)
	}
}

// run looks at the changes of a record in one batch.
func (v *verifier) run(last uint64, r run) {
	err := changesOf(v.txn, 0, last, []run{r}, func(_ uint64, c change.Change) error {
		v.report.Changes++
		if _, err := sound(c); err != nil {
			v.fault("%s breaks a rule: %v", place{r.record, last}, err)
		}
		return nil
	})
	if err != nil {
		v.fault("%v", err)
	}
}

// records goes through the records.
func (v *verifier) records() {
	l := newLookup(v.txn)
	defer l.close()
	entries := 0
	var at record
	var all []change.Change
	for l.it.Rewind(); l.it.Valid(); l.it.Next() {
		entries++
		changes, err := readRecord(l.it.Item())
		if err != nil {
			continue // told when the log came to it
		}
		if r := (record{changes[0].Kind, changes[0].ID}); r != at {
			v.record(all)
			at, all = r, nil
		}
		all = append(all, changes...)
	}
	v.record(all)
	if entries != v.runs {
		v.fault("the log names %d parts of records, and there are %d", v.runs, entries)
	}
}

// record looks at all changes of one record.
func (v *verifier) record(changes []change.Change) {
	if len(changes) == 0 {
		return
	}
	v.report.Records++
	if err := change.Agree(changes); err != nil {
		v.fault("%s %s contradicts itself: %v", changes[0].Kind, changes[0].ID, err)
	}
	told := map[string]bool{}
	for _, c := range changes {
		for _, hash := range References(c.Value) {
			if !told[hash] && !v.store.has(hash) {
				told[hash] = true
				v.missing("%v refers to the picture %s", c, hash)
			}
		}
	}
	if project := saysOfProject(changes); project != "" && project != "null" {
		v.project(changes[0], project[1:len(project)-1])
	}
}

// project looks whether a record's project is there.
func (v *verifier) project(c change.Change, id string) {
	prefix := recordPrefix(record{"project", id})
	o := badger.DefaultIteratorOptions
	o.Prefix, o.PrefetchValues = prefix, false
	it := v.txn.NewIterator(o)
	defer it.Close()
	if it.Rewind(); !it.Valid() {
		v.missing("%s %s belongs to project %s", c.Kind, c.ID, id)
	}
}

// pictures reads each picture.
func (v *verifier) pictures() error {
	return v.store.eachPicture(func(name string) error {
		v.report.Pictures++
		f, err := v.store.OpenPicture(name)
		if err != nil {
			v.fault("the picture %s cannot be opened: %v", name, err)
			return nil
		}
		hash, err := hashOf(f)
		switch err = errors.Join(err, f.Close()); {
		case err != nil:
			v.fault("the picture %s cannot be read: %v", name, err)
		case hash != name:
			v.fault("the picture %s is not what it was: its bytes have the hash %s", name, hash)
		}
		return nil
	})
}
