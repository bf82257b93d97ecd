package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"time"

	"needlesight/data/store"
)

// nightly makes a backup each night and keeps the newest few. Backups are numbered,
// and the numbers say which is newer: a clock that was wrong for a while must not
// make old ones look new, or have good ones removed.
type nightly struct {
	store  *store.Store
	folder string
	keep   int
	log    *slog.Logger
	now    func() time.Time

	swept time.Time // monotonic
}

const (
	quietHour   = 3              // from then on it is night enough
	dueAfter    = 20 * time.Hour // a day, nearly, so that one that was late does not put off the next
	nightlyLook = 10 * time.Minute
)

// backupName is what its backups are called: needlesight-000012-2026-11-25.zip.
var backupName = regexp.MustCompile(`^needlesight-(\d{6,})-\d{4}-\d\d-\d\d\.zip$`)

// run looks again and again whether something is due, until ctx ends.
func (n *nightly) run(ctx context.Context) {
	tick := time.NewTicker(nightlyLook)
	defer tick.Stop()
	for {
		n.look()
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// look does what is due. What fails is told, and tried again at the next look.
func (n *nightly) look() {
	now := n.now()
	if n.swept.IsZero() || now.Sub(n.swept) > 24*time.Hour {
		n.swept = now
		if removed, err := n.store.Sweep(now); err != nil {
			n.log.Error("pictures that nothing refers to could not be removed", "error", err)
		} else if removed > 0 {
			n.log.Info("pictures were removed to which nothing had referred for 30 days", "pictures", removed)
		}
	}
	if n.keep == 0 {
		return
	}
	if err := n.backUp(now); err != nil {
		n.log.Error("the nightly backup could not be made; it is tried again soon", "folder", n.folder, "error", err)
	}
}

// backUp makes a backup if one is due.
func (n *nightly) backUp(now time.Time) error {
	if err := os.MkdirAll(n.folder, 0o700); err != nil {
		return err
	}
	list, err := n.backups()
	if err != nil {
		return err
	}
	number := 1
	if len(list) > 0 {
		newest := list[len(list)-1]
		number = newest.number + 1
		due, err := n.isDue(newest, now)
		if err != nil || !due {
			return err
		}
	} else if n.store.Last() == 0 {
		return nil // there is nothing yet
	}
	path := filepath.Join(n.folder, fmt.Sprintf("needlesight-%06d-%s.zip", number, now.Format(time.DateOnly)))
	if err := writeWhole(path, false, func(w io.Writer) error { _, err := n.store.Backup(&roomy{w, n.store, 0}, now); return err }); err != nil {
		return err
	}
	m, err := inspect(path) // as it stands on the disk
	if err != nil {
		return err
	}
	n.log.Info("a backup was made", "changes", m.Changes, "pictures", m.Pictures)
	return n.remove(append(list, nightBackup{number: number, path: path}))
}

// roomy writes as long as the disk of the store has room: a backup that filled it
// would take home down.
type roomy struct {
	to    io.Writer
	store *store.Store
	left  int // bytes until it is looked again
}

// lookEach is after how many bytes it is looked again, and how many must fit each time.
const lookEach = 4 << 20

func (r *roomy) Write(b []byte) (int, error) {
	if r.left <= 0 {
		if err := r.store.Room(2 * lookEach); err != nil {
			return 0, err
		}
		r.left = lookEach
	}
	r.left -= len(b)
	return r.to.Write(b)
}

// isDue tells whether a backup is to be made after the newest there is: a night has
// come, or a day has gone by, and home has changed.
func (n *nightly) isDue(newest nightBackup, now time.Time) (bool, error) {
	info, err := os.Stat(newest.path)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	if err != nil {
		return false, err
	}
	age := now.Sub(info.ModTime())
	if age >= 0 && (age < dueAfter || age < 24*time.Hour && now.Hour() < quietHour) {
		return false, nil // else it is old, or its time is still to come and some clock was wrong
	}
	m, err := inspect(newest.path)
	if err != nil {
		return true, nil // it is damaged: another is needed all the more
	}
	pictures, err := n.store.Pictures()
	return m.Epoch != n.store.Epoch() || m.Changes != n.store.Last() || m.Pictures != pictures, err
}

// nightBackup is one of its backups.
type nightBackup struct {
	number int
	path   string
}

// backups are its backups, the newest last.
func (n *nightly) backups() (list []nightBackup, err error) {
	entries, err := os.ReadDir(n.folder)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if m := backupName.FindStringSubmatch(e.Name()); m != nil {
			if number, err := strconv.Atoi(m[1]); err == nil {
				list = append(list, nightBackup{number, filepath.Join(n.folder, e.Name())})
			}
		}
	}
	slices.SortFunc(list, func(a, b nightBackup) int { return a.number - b.number })
	return list, nil
}

// remove lets go of all but the newest few.
func (n *nightly) remove(list []nightBackup) error {
	var err error
	for len(list) > n.keep {
		err = errors.Join(err, os.Remove(list[0].path))
		list = list[1:]
	}
	return err
}
