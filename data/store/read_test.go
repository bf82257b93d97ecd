package store

import (
	"errors"
	"slices"
	"testing"

	"github.com/dgraph-io/badger/v4"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"

	"pgregory.net/rapid"
)

type badgerTxn = badger.Txn

func TestAfter(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(11)
	device := someID(r)
	for i := range 4 {
		keep(t, s, parts(r, 5, device, device, uint64(5*i))...)
	}
	whole := all(t, s)
	for n := range 121 {
		var got []change.Change
		err := s.After(uint64(n), 0, func(number uint64, c change.Change) error {
			if number != uint64(n+len(got)+1) {
				t.Errorf("after %d, number %d stands at place %d", n, number, len(got))
			}
			got = append(got, c)
			return nil
		})
		if err != nil || !slices.EqualFunc(got, whole[n:], change.Change.Equal) {
			t.Errorf("after %d: %d changes, %v", n, len(got), err)
		}
	}
	if err := s.After(121, 0, nil); !errors.Is(err, ErrAhead) {
		t.Errorf("after 121 of 120: %v", err)
	}
}

func TestAfterInPieces(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(12)
	keep(t, s, parts(r, 40, someID(r), someID(r), 0)...)
	for _, most := range []int{1, 100, 1000, 1e6} {
		var got []change.Change
		pieces := 0
		for n := uint64(0); n < s.Last(); pieces++ {
			size, before := 0, n
			err := s.After(n, most, func(number uint64, c change.Change) error {
				n = number
				got = append(got, c)
				size += len(c.Value)
				return nil
			})
			if err != nil || n == before || size > max(most, 20) {
				t.Fatalf("at most %d bytes: %d to %d, values of %d bytes, %v", most, before, n, size, err)
			}
		}
		if !slices.EqualFunc(got, all(t, s), change.Change.Equal) {
			t.Errorf("at most %d bytes: %d changes in %d pieces", most, len(got), pieces)
		}
	}
	enough := errors.New("no more")
	if err := s.After(0, 0, func(uint64, change.Change) error { return enough }); err != enough {
		t.Errorf("an error of f comes out as %v", err)
	}
}

func TestHistoryWalkProject(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(13)
	device, otter, owl, moved := someID(r), someID(r), someID(r), someID(r)
	keep(t, s, set("project", otter, "name", `"otter"`, 1, device), set("project", owl, "name", `"owl"`, 1, device))
	keep(t, s, parts(r, 3, device, otter, 1)...)
	keep(t, s, parts(r, 2, device, owl, 10)...)
	first := set("part", moved, "project", `"`+otter+`"`, 20, device)
	second := set("part", moved, "project", `"`+owl+`"`, 21, device)
	second.Base = first.Stamp
	keep(t, s, first)
	keep(t, s, second)

	got, err := s.History("part", moved)
	if err != nil || !slices.EqualFunc(got, []change.Change{first, second}, change.Change.Equal) {
		t.Errorf("History gives %v, %v", got, err)
	}
	for _, id := range []string{device, "", "../x"} {
		if got, err := s.History("part", id); err != nil || len(got) > 0 {
			t.Errorf("History of nothing gives %v, %v", got, err)
		}
	}
	records, changes := 0, 0
	kind, seen := "", map[string]bool{}
	err = s.Walk(func(c []change.Change) error {
		if c[0].Kind < kind || seen[c[0].ID] {
			t.Errorf("%s %s comes after a %s, or again", c[0].Kind, c[0].ID, kind)
		}
		kind, seen[c[0].ID] = c[0].Kind, true
		records, changes = records+1, changes+len(c)
		return nil
	})
	if err != nil || records != 8 || changes != int(s.Last()) {
		t.Errorf("Walk gives %d records and %d changes, %v", records, changes, err)
	}
	count := func(project string) (n int) {
		err := s.Project(project, func(c []change.Change) error {
			if c[0].ID == moved && project != owl {
				t.Error("what was moved to another project still belongs to the first")
			}
			n++
			return nil
		})
		if err != nil {
			t.Error(err)
		}
		return n
	}
	if a, b, c := count(otter), count(owl), count(device); a != 4 || b != 4 || c != 0 {
		t.Errorf("the projects hold %d, %d and %d records", a, b, c)
	}
}

func TestReadingWhileAppending(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(15)
	device := someID(r)
	ended := make(chan error, 1)
	go func() {
		for i := range uint64(80) {
			if _, err := s.Append(parts(r, 2, device, device, 2*i)); err != nil {
				ended <- err
				return
			}
		}
		ended <- nil
	}()
	for n, reading := uint64(0), true; reading; {
		select {
		case err := <-ended:
			if reading = false; err != nil {
				t.Fatal(err)
			}
		default:
		}
		err := s.After(n, 500, func(number uint64, _ change.Change) error {
			if n++; number != n {
				t.Errorf("number %d comes in place of %d", number, n)
			}
			return nil
		})
		if err = errors.Join(err, s.Walk(func([]change.Change) error { return nil })); err != nil {
			t.Fatal(err)
		}
		expectSound(t, s)
	}
}

// anyChange makes changes that are right in form, of known and unknown names.
var anyChange = rapid.Custom(func(t *rapid.T) change.Change {
	r := noise(rapid.Uint64().Draw(t, "seed"))
	c := set("part", "aaaaaaaaaaaaaaaa", rapid.StringMatching(`[a-z]{1,32}`).Draw(t, "field"),
		rapid.StringN(0, 40, 200).Draw(t, "value"), rapid.Uint64Range(1, stamp.MaxCounter).Draw(t, "counter"), someID(r))
	if back := rapid.Uint64Range(0, c.Stamp.Counter-1).Draw(t, "base"); back > 0 {
		c.Base = stamp.Stamp{Counter: back, Device: rapid.SampledFrom([]string{c.Stamp.Device, someID(r)}).Draw(t, "of")}
	}
	return c
})

func TestEntriesComeBackAsTheyWere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		changes := rapid.SliceOfN(anyChange, 1, 20).Draw(t, "changes")
		at := place{record{"part", "aaaaaaaaaaaaaaaa"}, 7}
		entry := encodeRecord(changes)
		got, err := decodeRecord(at, entry)
		if err != nil || !slices.EqualFunc(got, changes, change.Change.Equal) {
			t.Fatalf("%v comes back as %v, %v", changes, got, err)
		}
		for n := range entry {
			if _, err := decodeRecord(at, entry[:n]); !errors.Is(err, ErrDamaged) {
				t.Fatalf("cut off at %d of %d: %v", n, len(entry), err)
			}
		}
		if _, err := decodeRecord(at, append(entry, 0)); !errors.Is(err, ErrDamaged) {
			t.Fatalf("with one byte more: %v", err)
		}
	})
}

func FuzzDecode(f *testing.F) {
	r := noise(14)
	made := parts(r, 1, someID(r), someID(r), 0)
	f.Add(encodeRecord(made))
	f.Add(encodeLog([]group{{record{"part", made[0].ID}, made}}))
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, entry []byte) {
		if changes, err := decodeRecord(place{record{"part", made[0].ID}, 7}, slices.Clone(entry)); err == nil {
			again, err := decodeRecord(place{record{"part", made[0].ID}, 7}, encodeRecord(changes))
			if err != nil || !slices.EqualFunc(changes, again, change.Change.Equal) {
				t.Errorf("%v comes back as %v, %v", changes, again, err)
			}
		}
		if runs, err := decodeLog(1000, slices.Clone(entry)); err == nil && numbers(runs) > 1000 {
			t.Errorf("a batch up to number 1000 is %d changes", numbers(runs))
		}
		if r, number, err := parseRecordKey(entry); err == nil && data.IsID(r.id) && string(recordKey(r, number)) != string(entry) {
			t.Errorf("the key %q comes back otherwise", entry)
		}
	})
}

// What stands in stores that people have must be read for good. If this
// fails, the format has changed: then it needs another number, and a way up.
func TestFormatStays(t *testing.T) {
	c := set("part", "abcdefghijklmnop", "name", `"tail"`, 300, "qrstuvwxyz234567")
	d := set("part", "abcdefghijklmnop", "nailed", "true", 302, "abcdefghijklmnop")
	d.Base = stamp.Stamp{Counter: 299, Device: "qrstuvwxyz234567"}
	got := encodeRecord([]change.Change{c, d})
	want := "\x02" + rawID("qrstuvwxyz234567") + rawID("abcdefghijklmnop") + "\x02" +
		"\x04name\x00\xd8\x04\x00\x06\"tail\"" +
		"\x06nailed\x01\x04\x01\x03\x04true"
	if string(got) != want {
		t.Errorf("a record is written %q, want %q", got, want)
	}
	key := recordKey(record{"part", "abcdefghijklmnop"}, 258)
	if want := "rpart\x00" + rawID("abcdefghijklmnop") + "\x00\x00\x00\x00\x00\x00\x01\x02"; string(key) != want {
		t.Errorf("its key is written %q, want %q", key, want)
	}
	log := encodeLog([]group{{record{"part", c.ID}, []change.Change{c, d}}, {record{"part", d.Stamp.Device}, []change.Change{c}}})
	if want := "\x02\x05\x04part" + rawID(c.ID) + "\x02" + rawID(d.Stamp.Device); string(log) != want {
		t.Errorf("a batch is written %q, want %q", log, want)
	}
	// RFC 4648, section 6: five bits a letter, a is 0 and 7 is 31, the highest first.
	if got := rawID("abcdefghijklmnop"); got != "\x00\x44\x32\x14\xc7\x42\x54\xb6\x35\xcf" {
		t.Errorf("the id is %q", got)
	}
}

func rawID(id string) string { return string(appendID(nil, id)) }
