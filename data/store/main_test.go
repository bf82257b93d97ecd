package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// Some tests need a process of their own, to be killed or to have a disk of
// its own: this program again, with a part to play.
const partVar, dirVar = "NEEDLESIGHT_STORE_PART", "NEEDLESIGHT_STORE_DIR"

var playing = map[string]func(dir string) error{}

func TestMain(m *testing.M) {
	part := os.Getenv(partVar)
	if part == "" {
		os.Exit(m.Run())
	}
	if err := playing[part](os.Getenv(dirVar)); err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	os.Exit(0)
}

// noise makes ids and records that are the same at each run.
func noise(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 7)) }

func someID(r *rand.Rand) string {
	var b [10]byte
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return ids.EncodeToString(b[:])
}

// set makes a change without a base.
func set(kind, id, field, value string, counter uint64, device string) change.Change {
	return change.Change{Where: change.Where{Kind: kind, ID: id, Field: field},
		Value: json.RawMessage(value), Stamp: stamp.Stamp{Counter: counter, Device: device}}
}

// parts makes n records of six small fields, as a device would: the changes
// of one record have one counter.
func parts(r *rand.Rand, n int, device, project string, counter uint64) (made []change.Change) {
	for range n {
		id := someID(r)
		counter++
		made = append(made,
			set("part", id, "project", `"`+project+`"`, counter, device),
			set("part", id, "name", fmt.Sprintf(`"part %d"`, r.IntN(1000)), counter, device),
			set("part", id, "axis", `"length"`, counter, device),
			set("part", id, "order", fmt.Sprint(r.IntN(100)), counter, device),
			set("part", id, "nailed", "false", counter, device),
			set("part", id, "binned", "null", counter, device))
	}
	return made
}

// open opens a store that is closed when the test ends.
func open(tb testing.TB, dir string) *Store {
	tb.Helper()
	s, err := Open(dir, Options{})
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { s.Close() }) // a second time does no harm
	return s
}

// keep appends and expects all to be new.
func keep(tb testing.TB, s *Store, changes ...change.Change) {
	tb.Helper()
	before := s.Last()
	got, err := s.Append(changes)
	if err != nil || len(got.Refused) > 0 || got.Accepted != len(changes) || got.Last != before+uint64(len(changes)) {
		tb.Fatalf("Append of %d changes gives %+v, %v", len(changes), got, err)
	}
}

// all are the changes of the log, by their numbers from 1.
func all(tb testing.TB, s *Store) (changes []change.Change) {
	tb.Helper()
	err := s.After(0, 0, func(number uint64, c change.Change) error {
		if number != uint64(len(changes))+1 {
			return fmt.Errorf("number %d stands at place %d", number, len(changes)+1)
		}
		changes = append(changes, c)
		return nil
	})
	if err != nil {
		tb.Fatal(err)
	}
	return changes
}

// sound expects that Verify finds nothing wrong.
func expectSound(tb testing.TB, s *Store) Report {
	tb.Helper()
	r, err := s.Verify()
	if err != nil || len(r.Faults) > 0 {
		tb.Fatalf("Verify finds %q, %v", r.Faults, err)
	}
	return r
}

// putPicture brings a whole picture and gives its hash.
func putPicture(s *Store, picture []byte) (string, error) {
	hash, err := hashOf(bytes.NewReader(picture))
	if err != nil {
		return "", err
	}
	w, err := s.PutPicture(hash)
	if err != nil {
		return hash, err
	}
	defer w.Close()
	if _, err := w.Write(picture[w.Offset():]); err != nil {
		return hash, err
	}
	return hash, w.Commit()
}
