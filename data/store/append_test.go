package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"needlesight/data"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

func TestAppendNumbersFromOne(t *testing.T) {
	dir, r := t.TempDir(), noise(1)
	s := open(t, dir)
	if s.Last() != 0 {
		t.Fatalf("a new store's last number is %d", s.Last())
	}
	device := someID(r)
	first, second := parts(r, 3, device, someID(r), 0), parts(r, 2, device, someID(r), 3)
	keep(t, s, first...)
	keep(t, s, second...)
	want := slices.Concat(first, second)
	if got := all(t, s); !slices.EqualFunc(got, want, change.Change.Equal) {
		t.Errorf("the log is %v, want %v", got, want)
	}
	epoch := s.Epoch()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	if got := all(t, s); s.Epoch() != epoch || s.Last() != 30 || !slices.EqualFunc(got, want, change.Change.Equal) {
		t.Errorf("opened again: epoch %s, last %d, %d changes", s.Epoch(), s.Last(), len(got))
	}
	keep(t, s, parts(r, 1, device, someID(r), 5)...)
}

func TestAppendGroupsByRecord(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(2)
	a, b, device := someID(r), someID(r), someID(r)
	keep(t, s,
		set("part", a, "name", `"tail"`, 1, device), set("part", b, "name", `"head"`, 2, device),
		set("part", a, "nailed", "true", 3, device), set("part", b, "nailed", "false", 4, device))
	var order []uint64
	for _, c := range all(t, s) {
		order = append(order, c.Stamp.Counter)
	}
	if want := []uint64{1, 3, 2, 4}; !slices.Equal(order, want) {
		t.Errorf("the counters are %v by number, want %v", order, want)
	}
}

func TestAppendTwiceIsHarmless(t *testing.T) {
	dir, r := t.TempDir(), noise(3)
	s := open(t, dir)
	batch := parts(r, 50, someID(r), someID(r), 0)
	keep(t, s, batch...)
	for i := range 3 {
		got, err := s.Append(batch)
		if err != nil || got.Accepted != 0 || len(got.Refused) != 0 || got.Last != 300 {
			t.Errorf("time %d: %+v, %v", i, got, err)
		}
		if err := s.Close(); err != nil { // from memory, then from the disk
			t.Fatal(err)
		}
		s = open(t, dir)
	}
	older := parts(r, 1, batch[0].Stamp.Device, someID(r), 0) // a counter that the device has left behind
	got, err := s.Append(slices.Concat(batch[:10], older, older, batch[200:]))
	if err != nil || got.Accepted != 6 || len(got.Refused) != 0 || got.Last != 306 {
		t.Errorf("some new, one twice: %+v, %v", got, err)
	}
}

func TestAppendRefusesWithItsCode(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(4)
	id, other, device, far := someID(r), someID(r), someID(r), someID(r)
	fact := func(value float64) string {
		return fmt.Sprintf(`{"denominator":null,"part":%q,"place":null,"sitting":%q,"typed":null,"value":%v}`, id, id, value)
	}
	keep(t, s, set("part", id, "name", `"tail"`, 5, device), set("reading", id, "fact", fact(3), 6, device))
	based := func(c change.Change, counter uint64, device string) change.Change {
		c.Base = stamp.Stamp{Counter: counter, Device: device}
		return c
	}
	for _, bad := range []struct {
		code string
		change.Change
	}{
		{data.CodeSameStamp, set("part", id, "name", `"head"`, 5, device)},
		{data.CodeSameStamp, based(set("part", id, "name", `"tail"`, 5, device), 1, device)},
		{data.CodeFactTwice, set("reading", id, "fact", fact(4), 9, far)},
		{data.CodeKind, set("otter", id, "name", `"x"`, 9, device)},
		{data.CodeKind, set("", id, "name", `"x"`, 9, device)},
		{data.CodeField, set("part", id, "colour", `"x"`, 9, device)},
		{data.CodeValue, set("part", id, "nailed", `"yes"`, 9, device)},
		{data.CodeValue, set("part", id, "nailed", `null`, 9, device)},
		{data.CodeID, set("part", "tail", "name", `"x"`, 9, device)},
		{data.CodeID, set("part", "../../../etc/pas", "name", `"x"`, 9, device)},
		{data.CodeStamp, set("part", id, "name", `"x"`, 0, device)},
		{data.CodeStamp, set("part", id, "name", `"x"`, stamp.MaxCounter+1, device)},
		{data.CodeStamp, set("part", id, "name", `"x"`, 9, "")},
		{data.CodeBase, based(set("part", id, "name", `"x"`, 9, device), 9, device)},
		{data.CodeBase, based(set("part", id, "name", `"x"`, 9, device), 8, "")},
		{data.CodeNotJSON, set("part", id, "name", `"x`, 9, device)},
		{data.CodeNotJSON, set("part", id, "name", ``, 9, device)},
		{data.CodeTooBig, set("part", id, "name", `"`+strings.Repeat("x", change.MaxValue)+`"`, 9, device)},
		{data.CodeTooBig, set("part", id, "name", strings.Repeat(" ", 1<<20), 9, device)},
		{data.CodeTooBig, set("part", id, "name", strings.Repeat("[", 20)+strings.Repeat("]", 20), 9, device)},
	} {
		last := s.Last()
		good := set("part", other, "order", fmt.Sprint(last), 10+last, device)
		got, err := s.Append([]change.Change{bad.Change, good})
		if err != nil || got.Accepted != 1 || len(got.Refused) != 1 || got.Last != last+1 {
			t.Errorf("%s: %+v, %v", bad.code, got, err)
			continue
		}
		if no := got.Refused[0]; no.Index != 0 || no.Code != bad.code || no.Text == "" || !slices.Contains(data.Codes(), no.Code) {
			t.Errorf("%+v, want code %s", no, bad.code)
		}
	}
	// The same fact by another device is no contradiction, and within one batch all this holds too.
	keep(t, s, set("reading", id, "fact", fact(3), 9, far))
	got, err := s.Append([]change.Change{
		set("part", far, "name", `"a"`, 900, device), set("part", far, "name", `"b"`, 900, device),
		set("reading", far, "fact", fact(1), 901, device), set("reading", far, "fact", fact(2), 902, device)})
	if err != nil || got.Accepted != 2 || len(got.Refused) != 2 || got.Refused[0].Code != data.CodeSameStamp || got.Refused[1].Code != data.CodeFactTwice {
		t.Errorf("within a batch: %+v, %v", got, err)
	}
	expectSound(t, s)
}

func TestAppendMakesValuesCanonical(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(5)
	id, device := someID(r), someID(r)
	keep(t, s, set("part", id, "order", " 1.50e1 ", 1, device))
	got, err := s.Append([]change.Change{set("part", id, "order", "15", 1, device)})
	if err != nil || got.Accepted != 0 || len(got.Refused) != 0 {
		t.Errorf("the same value written otherwise: %+v, %v", got, err)
	}
	if value := string(all(t, s)[0].Value); value != "15" {
		t.Errorf("the value is kept as %s", value)
	}
}

func TestAppendSplitsWhatIsTooMuchForOneTransaction(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(6)
	batch := parts(r, 2000, someID(r), someID(r), 0)
	long := json.RawMessage(`"` + strings.Repeat("n", data.MaxText) + `"`)
	for i := range batch {
		if batch[i].Field == "name" {
			batch[i].Value = long
		}
	}
	keep(t, s, batch...)
	batches := 0
	err := s.db.View(func(txn *badgerTxn) error {
		return batchesAfter(txn, 0, s.Last(), func(_ *badgerTxn, last uint64, runs []run) error {
			batches++
			size := 0
			for _, r := range runs {
				item, err := txn.Get(recordKey(r.record, last))
				if err != nil {
					return err
				}
				size += int(item.EstimatedSize())
			}
			if n := numbers(runs); size > MaxBatch || n > MaxMany {
				t.Errorf("a transaction of %d changes and %d bytes", n, size)
			}
			return nil
		})
	})
	if err != nil || batches < 4 {
		t.Errorf("%d transactions, %v", batches, err)
	}
	if got := all(t, s); !slices.EqualFunc(got, batch, change.Change.Equal) {
		t.Error("the log is not what was appended")
	}
}

// Whatever comes, in whatever order and how often, the log is the set of it,
// each change once, under the numbers from 1 without a gap.
func TestLogIsTheSetOfWhatCame(t *testing.T) {
	dir, run := t.TempDir(), uint64(0)
	s := open(t, dir)
	rapid.Check(t, func(rt *rapid.T) { // all that came in other runs is there too
		if run++; run%10 == 0 {
			if err := s.Close(); err != nil {
				rt.Fatal(err)
			}
			s = open(t, dir)
		}
		r := noise(run) // other ids each time
		project := someID(r)
		var made []change.Change
		for range 3 {
			made = append(made, parts(r, 3, someID(r), project, 0)...)
		}
		before := s.Last()
		came := map[string]bool{}
		for range rapid.IntRange(1, 6).Draw(rt, "batches") {
			batch := rapid.SliceOfN(rapid.SampledFrom(made), 1, 40).Draw(rt, "batch")
			fresh := 0
			for _, c := range batch {
				if !came[c.String()] {
					came[c.String()] = true
					fresh++
				}
			}
			got, err := s.Append(batch)
			if err != nil || len(got.Refused) > 0 || got.Accepted != fresh {
				rt.Fatalf("%d of %d are new, and Append gives %+v, %v", fresh, len(batch), got, err)
			}
		}
		number := before
		err := s.After(before, 0, func(n uint64, c change.Change) error {
			number++
			if n != number || !came[c.String()] || !slices.ContainsFunc(made, c.Equal) {
				return fmt.Errorf("%d is %v", n, c)
			}
			delete(came, c.String())
			return nil
		})
		if err != nil || len(came) > 0 || number != s.Last() {
			rt.Fatalf("%v; %d are missing; the last is %d, not %d", err, len(came), s.Last(), number)
		}
	})
}

func TestAppendAfterAFailure(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(7)
	if err := s.db.Close(); err != nil { // as if the disk had gone
		t.Fatal(err)
	}
	batch := parts(r, 1, someID(r), someID(r), 0)
	for range 2 {
		if _, err := s.Append(batch); err == nil || s.Last() != 0 {
			t.Errorf("Append without a disk gives %v, and the last is %d", err, s.Last())
		}
	}
	if err := s.NewEpoch(); !errors.Is(err, ErrFailed) {
		t.Errorf("NewEpoch without a disk gives %v", err)
	}
}
