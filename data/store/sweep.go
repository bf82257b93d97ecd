package store

import (
	"encoding/binary"
	"errors"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/dgraph-io/badger/v4"

	"needlesight/sync/change"
)

// KeepPictures is how long a picture stays at home that nothing refers to.
const KeepPictures = 30 * 24 * time.Hour

// longestSweep is how much time counts as gone between two sweeps, at most: a
// clock that jumps takes nobody's picture.
const longestSweep = 24 * time.Hour

// Sweep removes the pictures to which nothing has referred for KeepPictures,
// and what was brought of pictures that were never whole, and tells how many
// it removed. It is for once a day. A picture is referred to by a field's value,
// or by an answer that stands apart from it, unless the record or its project
// is in the bin.
//
// The time is counted by home alone, and no more than a day from one sweep to
// the next, whatever a clock says.
func (s *Store) Sweep(now time.Time) (removed int, err error) {
	s.pictures.shelves.Lock()
	defer s.pictures.shelves.Unlock()
	from := s.Last()
	live, err := s.live()
	if err != nil {
		return 0, err
	}
	s.appending.Lock()
	defer s.appending.Unlock()
	err = s.After(from, 0, func(_ uint64, c change.Change) error {
		for _, hash := range References(c.Value) {
			live[hash] = true
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	return s.age(live, now)
}

// live are the pictures that are referred to.
func (s *Store) live() (map[string]bool, error) {
	live := map[string]bool{}
	binned := map[string]bool{} // by project
	err := s.Walk(func(changes []change.Change) error {
		fields := mentioning(changes)
		if len(fields) == 0 || isBinned(changes) {
			return nil
		}
		project := strings.Trim(saysOfProject(changes), `"`)
		gone, asked := binned[project]
		if !asked {
			history, err := s.History("project", project)
			if err != nil {
				return err
			}
			gone = isBinned(history)
			binned[project] = gone
		}
		if gone {
			return nil
		}
		for _, field := range fields {
			now := state(changes, field)
			for _, hash := range References(now.Winner.Value) {
				live[hash] = true
			}
			for _, answer := range now.Apart {
				for _, hash := range References(answer.Value) {
					live[hash] = true
				}
			}
		}
		return nil
	})
	return live, err
}

// mentioning are the fields that ever referred to a picture.
func mentioning(changes []change.Change) (fields []string) {
	for _, c := range changes {
		if !slices.Contains(fields, c.Field) && len(References(c.Value)) > 0 {
			fields = append(fields, c.Field)
		}
	}
	return fields
}

func isBinned(changes []change.Change) bool {
	day := string(state(changes, "binned").Winner.Value)
	return day != "" && day != "null"
}

// age lets each picture that is not live grow older, and removes the oldest.
// The caller holds s.appending.
func (s *Store) age(live map[string]bool, now time.Time) (removed int, err error) {
	gone, ages, err := s.ages(now)
	if err != nil {
		return 0, err
	}
	marks := []entry{{[]byte(keySwept), strconv.AppendInt(nil, now.Unix(), 10)}}
	mark := func(hash string, age time.Duration) {
		var value []byte
		if age > 0 {
			value = binary.AppendUvarint(nil, uint64(age/time.Second))
		}
		marks = append(marks, entry{append([]byte{'p'}, hash...), value})
	}
	err = s.everyPicture(func(hash, path string) error {
		age, old := ages[hash]
		delete(ages, hash)
		switch age += gone; {
		case live[hash] || s.isWanted(hash):
			if old {
				mark(hash, 0)
			}
		case age < KeepPictures:
			mark(hash, max(age, time.Second))
		default:
			removed++
			mark(hash, 0)
			return os.Remove(path)
		}
		return nil
	})
	for hash := range ages { // of what is there no more
		mark(hash, 0)
	}
	for part := range slices.Chunk(marks, MaxMany) {
		err = errors.Join(err, s.write(part...))
	}
	return removed, err
}

// ages are the ages of what nothing referred to at the last sweep, and how
// long that is gone.
func (s *Store) ages(now time.Time) (gone time.Duration, ages map[string]time.Duration, err error) {
	swept, err := s.read(keySwept)
	if err != nil {
		return 0, nil, err
	}
	if then, err := strconv.ParseInt(swept, 10, 64); err == nil {
		gone = min(max(now.Sub(time.Unix(then, 0)), 0), longestSweep)
	}
	ages = map[string]time.Duration{}
	err = s.db.View(func(txn *badger.Txn) error {
		return each(txn, []byte{'p'}, func(key, value []byte) error {
			seconds, _ := binary.Uvarint(value)
			ages[string(key[1:])] = min(time.Duration(seconds)*time.Second, KeepPictures)
			return nil
		})
	})
	return gone, ages, err
}

// everyPicture gives the pictures, and those that have come in part. What else
// lies among these is left from a crash, and removed.
func (s *Store) everyPicture(f func(hash, path string) error) error {
	if err := s.eachPicture(func(hash string) error { return f(hash, s.picturePath(hash)) }); err != nil {
		return err
	}
	files, err := os.ReadDir(s.in("pictures", "part"))
	if err != nil {
		return err
	}
	for _, file := range files {
		path := s.partPath(file.Name())
		if IsHash(file.Name()) {
			err = f(file.Name(), path)
		} else {
			err = os.Remove(path)
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// isWanted tells whether a picture was asked for since the last sweep, or is
// being brought.
func (s *Store) isWanted(hash string) bool {
	s.pictures.Lock()
	defer s.pictures.Unlock()
	wanted := s.pictures.wanted[hash]
	delete(s.pictures.wanted, hash)
	return wanted || s.pictures.busy[hash]
}
