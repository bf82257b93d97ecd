package cli

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"needlesight/data/store"
	"needlesight/sync/change"
	"needlesight/sync/stamp"
)

// night is a nightly whose clock the test sets.
type night struct {
	nightly
	t     *testing.T
	clock time.Time
	made  uint64
}

func newNight(t *testing.T, keep int) *night {
	t.Helper()
	quiet := slog.New(slog.DiscardHandler)
	s, err := store.Open(t.TempDir(), store.Options{Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	n := &night{t: t, clock: time.Date(2026, 11, 25, 14, 0, 0, 0, time.Local)}
	n.nightly = nightly{store: s, folder: filepath.Join(t.TempDir(), "backups"), keep: keep, log: quiet, now: func() time.Time { return n.clock }}
	return n
}

// change has one more change come home.
func (n *night) change() {
	n.t.Helper()
	n.made++
	c := change.Change{Where: change.Where{Kind: "project", ID: "otterotterotter2", Field: "name"}, Value: json.RawMessage(fmt.Sprintf(`"Otter %d"`, n.made)), Stamp: stamp.Stamp{Counter: n.made, Device: "aaaaaaaaaaaaaaaa"}}
	if r, err := n.store.Append([]change.Change{c}); err != nil || r.Accepted != 1 {
		n.t.Fatal(r, err)
	}
}

// looks looks at a time, and gives what changes each backup then holds, the oldest first.
func (n *night) looks(after time.Duration) (holds []uint64) {
	n.t.Helper()
	n.clock = n.clock.Add(after)
	before, _ := filepath.Glob(filepath.Join(n.folder, "*.zip"))
	n.look()
	list, err := n.backups()
	if err != nil {
		n.t.Fatal(err)
	}
	for _, b := range list {
		if !slices.Contains(before, b.path) { // what the disk's own clock says is what this one said
			if err := os.Chtimes(b.path, n.clock, n.clock); err != nil {
				n.t.Fatal(err)
			}
		}
		m, err := inspect(b.path)
		if err != nil {
			n.t.Fatal(err)
		}
		holds = append(holds, m.Changes)
	}
	return holds
}

func (n *night) expect(what string, holds []uint64, want ...uint64) {
	n.t.Helper()
	if !slices.Equal(holds, want) {
		n.t.Errorf("%s: the backups hold %v changes, not %v", what, holds, want)
	}
}

func TestABackupIsMadeEachNightThatSomethingChanged(t *testing.T) {
	n := newNight(t, 3)
	if err := os.MkdirAll(n.folder, 0o700); err != nil {
		t.Fatal(err)
	}
	mine := filepath.Join(n.folder, "needlesight-otter.zip")
	if err := os.WriteFile(mine, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	n.expect("of an empty home", n.looks(0))
	n.change()
	n.expect("the first", n.looks(0), 1)
	n.change()
	n.expect("the same day", n.looks(5*time.Hour), 1)
	n.expect("not yet 3 at night", n.looks(7*time.Hour), 1)
	n.expect("at night", n.looks(11*time.Hour), 1, 2)
	n.expect("nothing has changed", n.looks(24*time.Hour), 1, 2)
	for i := range uint64(3) {
		n.change()
		n.expect("later", n.looks(24*time.Hour), [][]uint64{{1, 2, 3}, {2, 3, 4}, {3, 4, 5}}[i]...)
	}
	if _, err := os.Stat(mine); err != nil {
		t.Error("a file of another name was removed")
	}
}

// A clock that was years ahead, and is put right again, costs no backup that is newer.
func TestAWrongClockRemovesNoGoodBackup(t *testing.T) {
	n := newNight(t, 3)
	const years = 10 * 365 * 24 * time.Hour
	n.change()
	n.expect("at first", n.looks(0), 1)
	n.change()
	n.expect("years ahead", n.looks(years), 1, 2)
	n.change()
	n.expect("put right", n.looks(-years), 1, 2, 3)
	n.change()
	n.expect("the next day", n.looks(24*time.Hour), 2, 3, 4)
	n.change()
	n.expect("years behind", n.looks(-years), 3, 4, 5)
	n.expect("and again, with nothing new", n.looks(time.Minute), 3, 4, 5)
}

func TestABackupThatFailsIsTriedAgainAndLosesNone(t *testing.T) {
	n := newNight(t, 1)
	n.change()
	n.expect("at first", n.looks(0), 1)
	n.change()
	good := n.folder
	n.folder = filepath.Join(good, "needlesight-000001-2026-11-25.zip") // a file: no folder can be made there
	n.clock = n.clock.Add(24 * time.Hour)
	n.look()
	n.folder = good
	n.expect("then", n.looks(time.Minute), 2)
}

func TestADamagedBackupIsFollowedByAnother(t *testing.T) {
	n := newNight(t, 2)
	n.change()
	n.expect("at first", n.looks(0), 1)
	list, err := n.backups()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(list[0].path, []byte("wool"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(list[0].path, n.clock, n.clock); err != nil {
		t.Fatal(err)
	}
	n.clock = n.clock.Add(24 * time.Hour)
	n.look()
	if list, err = n.backups(); err != nil || len(list) != 2 {
		t.Fatal(list, err)
	}
	if _, err := inspect(list[1].path); err != nil {
		t.Error(err)
	}
}
