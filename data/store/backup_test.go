package store

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"needlesight/sync/change"
)

// unzipped is what stands in a zip, one file after the other.
func unzipped(t *testing.T, backup []byte) (text []byte) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(backup), int64(len(backup)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		one, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, one...)
	}
	return text
}

func restore(dir string, backup []byte, overwrite bool) (Restored, error) {
	return Restore(dir, bytes.NewReader(backup), int64(len(backup)), overwrite, Options{})
}

// sameSet tells whether the same changes are in two logs, in whatever order.
func sameSet(a, b []change.Change) bool {
	in := map[string]change.Change{}
	for _, c := range a {
		in[c.String()] = c
	}
	for _, c := range b {
		if !c.Equal(in[c.String()]) {
			return false
		}
	}
	return len(a) == len(b) && len(in) == len(a)
}

func TestBackupAndRestore(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(41)
	device := someID(r)
	for i := range 5 { // more than one file of changes
		keep(t, s, parts(r, 900, device, device, uint64(900*i))...)
	}
	picture, hash := somePicture(r, 100_000)
	if _, err := putPicture(s, picture); err != nil {
		t.Fatal(err)
	}
	_, token, err := s.AddDevice("phone", noon)
	if err != nil {
		t.Fatal(err)
	}
	var backup bytes.Buffer
	made, err := s.Backup(&backup, noon)
	if err != nil || made.Changes != 27_000 || made.Files != 2 || made.Pictures != 1 || made.Devices != 1 || len(made.Damaged) != 0 || made.Epoch != s.Epoch() {
		t.Fatalf("%+v, %v", made, err)
	}
	for _, dir := range []string{filepath.Join(t.TempDir(), "new"), t.TempDir()} { // one that is not there, and an empty one
		done, err := restore(dir, backup.Bytes(), false)
		if err != nil || done.Replaced != "" || len(done.Lost) != 0 {
			t.Fatalf("%+v, %v", done, err)
		}
		again := open(t, dir)
		if again.Epoch() == s.Epoch() {
			t.Error("a restored store has the same epoch")
		}
		if !sameSet(all(t, again), all(t, s)) {
			t.Error("the restored changes are others")
		}
		if _, err := again.Authenticate(token); err != nil || !again.HasPicture(hash) {
			t.Errorf("device: %v; picture: %v", err, again.HasPicture(hash))
		}
		if report := expectSound(t, again); report.Changes != 27_000 || report.Pictures != 1 || report.Devices != 1 {
			t.Errorf("%+v", report)
		}
		if left, err := filepath.Glob(dir + ".*"); err != nil || len(left) > 0 {
			t.Errorf("%v is left, %v", left, err)
		}
		got, err := again.Append(parts(r, 1, device, device, 5000)) // and it goes on
		if err != nil || got.Accepted != 6 {
			t.Errorf("%+v, %v", got, err)
		}
	}
}

// A device that brings everything again after a restore makes good what the
// backup did not have, and what it had is not taken twice.
func TestRestoreOfAnOlderBackup(t *testing.T) {
	dir, r := filepath.Join(t.TempDir(), "home"), noise(42)
	s := open(t, dir)
	device := someID(r)
	old := parts(r, 100, device, device, 0)
	keep(t, s, old...)
	var backup bytes.Buffer
	if _, err := s.Backup(&backup, noon); err != nil {
		t.Fatal(err)
	}
	recent := parts(r, 100, device, device, 100)
	keep(t, s, recent...)
	epoch := s.Epoch()
	if _, err := restore(dir, backup.Bytes(), true); !errors.Is(err, ErrInUse) {
		t.Errorf("over a store in use: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := restore(dir, backup.Bytes(), false); !errors.Is(err, ErrNotEmpty) {
		t.Errorf("over a store, not told to: %v", err)
	}
	done, err := restore(dir, backup.Bytes(), true)
	if err != nil || done.Manifest.Epoch != epoch {
		t.Fatalf("%+v, %v", done, err)
	}
	replaced := open(t, done.Replaced)
	if replaced.Epoch() != epoch || replaced.Last() != 1200 {
		t.Errorf("the store that was there has epoch %s and %d changes", replaced.Epoch(), replaced.Last())
	}
	s = open(t, dir)
	if s.Epoch() == epoch || s.Last() != 600 {
		t.Errorf("restored: epoch %s, last %d", s.Epoch(), s.Last())
	}
	got, err := s.Append(slices.Concat(recent, old))
	if err != nil || got.Accepted != 600 || len(got.Refused) != 0 || got.Last != 1200 {
		t.Errorf("everything brought again: %+v, %v", got, err)
	}
	expectSound(t, s)
}

// While others append, a backup holds the changes up to one number: a store
// as it was at one moment.
func TestBackupWhileAppending(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(43)
	var stop atomic.Bool
	ended := make(chan error)
	device := someID(r)
	keep(t, s, parts(r, 500, device, device, 0)...)
	go func() {
		r := noise(44)
		for counter := uint64(500); !stop.Load(); counter += 20 {
			if _, err := s.Append(parts(r, 20, device, device, counter)); err != nil {
				ended <- err
				return
			}
			picture, _ := somePicture(r, 10_000)
			if _, err := putPicture(s, picture); err != nil {
				ended <- err
				return
			}
		}
		ended <- nil
	}()
	var backups [3]bytes.Buffer
	var lasts [3]uint64
	for i := range backups {
		before := s.Last()
		made, err := s.Backup(&backups[i], noon)
		lasts[i] = made.Changes
		if err != nil || made.Changes < before || made.Changes > s.Last() {
			t.Errorf("backup %d: %d changes, with %d before and %d after; %v", i, made.Changes, before, s.Last(), err)
		}
	}
	stop.Store(true)
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	log := all(t, s)
	for i := range backups {
		dir := filepath.Join(t.TempDir(), "restored")
		if _, err := restore(dir, backups[i].Bytes(), false); err != nil {
			t.Fatal(err)
		}
		again := open(t, dir)
		if !sameSet(all(t, again), log[:lasts[i]]) || lasts[i]%120 != 0 {
			t.Errorf("backup %d is not the log up to number %d", i, lasts[i])
		}
		expectSound(t, again)
	}
}

func TestBackupTellsOfADamagedPicture(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(45)
	picture, hash := somePicture(r, 10_000)
	whole, wholeHash := somePicture(r, 10_000)
	for _, p := range [][]byte{picture, whole} {
		if _, err := putPicture(s, p); err != nil {
			t.Fatal(err)
		}
	}
	picture[5000] ^= 0x10
	if err := os.WriteFile(s.picturePath(hash), picture, 0o600); err != nil {
		t.Fatal(err)
	}
	report, err := s.Verify()
	if err != nil || len(report.Faults) != 1 || !strings.Contains(report.Faults[0], hash) {
		t.Errorf("Verify finds %q, %v", report.Faults, err)
	}
	var backup bytes.Buffer
	made, err := s.Backup(&backup, noon)
	if err != nil || !slices.Equal(made.Damaged, []string{hash}) || made.Pictures != 2 {
		t.Errorf("%+v, %v", made, err)
	}
	dir := filepath.Join(t.TempDir(), "restored")
	done, err := restore(dir, backup.Bytes(), false)
	if err != nil || !slices.Equal(done.Lost, []string{hash}) {
		t.Errorf("%+v, %v", done, err)
	}
	again := open(t, dir)
	if expectSound(t, again); again.HasPicture(hash) || !again.HasPicture(wholeHash) {
		t.Error("the damaged picture was restored, or the whole one not")
	}
}

func TestBackupToWhereThereIsNoRoom(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(46)
	keep(t, s, parts(r, 100, someID(r), someID(r), 0)...)
	full := errors.New("no room")
	if _, err := s.Backup(failing{full}, noon); !errors.Is(err, full) {
		t.Errorf("Backup gives %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// Whatever is no backup is refused, and changes nothing.
func TestRestoreOfWhatIsNoBackup(t *testing.T) {
	dir, r := filepath.Join(t.TempDir(), "home"), noise(47)
	s := open(t, dir)
	keep(t, s, parts(r, 100, someID(r), someID(r), 0)...)
	picture, hash := somePicture(r, 1000)
	if _, err := putPicture(s, picture); err != nil {
		t.Fatal(err)
	}
	var good bytes.Buffer
	if _, err := s.Backup(&good, noon); err != nil {
		t.Fatal(err)
	}
	epoch := s.Epoch()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// rewritten is the backup with some files changed (to nil: left out) or added.
	rewritten := func(changed map[string]string) []byte {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		add := func(name, text string) {
			f, err := w.Create(name)
			if err == nil {
				_, err = io.WriteString(f, text)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		z, _ := zip.NewReader(bytes.NewReader(good.Bytes()), int64(good.Len()))
		for _, f := range z.File {
			if _, is := changed[f.Name]; !is {
				r, _ := f.Open()
				text, _ := io.ReadAll(r)
				add(f.Name, string(text))
			}
		}
		for name, text := range changed {
			if text != "" {
				add(name, text)
			}
		}
		return b.Bytes()
	}
	manifest := func(change func(*Manifest)) map[string]string {
		m := Manifest{Format: BackupFormat, Version: BackupVersion, Changes: 600, Files: 1, Pictures: 1}
		change(&m)
		text, _ := json.Marshal(m)
		return map[string]string{manifestName: string(text)}
	}
	twice := rewritten(nil)
	twice = bytes.ReplaceAll(twice, []byte(devicesName), []byte(manifestName)[:len(devicesName)])
	bad := map[string][]byte{
		"nothing":                 {},
		"no zip":                  []byte(strings.Repeat("otter", 1000)),
		"cut off":                 good.Bytes()[:good.Len()-100],
		"cut off early":           good.Bytes()[:100],
		"a byte changed":          flip(good.Bytes(), 200),
		"no manifest":             rewritten(map[string]string{manifestName: ""}),
		"no devices":              rewritten(map[string]string{devicesName: ""}),
		"devices that are none":   rewritten(map[string]string{devicesName: `{"devices":[{"id":"x"}]}`}),
		"no changes":              rewritten(map[string]string{"changes/000001.json": ""}),
		"no picture":              rewritten(map[string]string{"pictures/" + hash: ""}),
		"changes that are none":   rewritten(map[string]string{"changes/000001.json": `{"format":"needlesight-changes","version":1,"made":"","changes":[{}]}`}),
		"fewer changes":           rewritten(map[string]string{"changes/000001.json": `{"format":"needlesight-changes","version":1,"made":"","changes":[]}`}),
		"another format":          rewritten(manifest(func(m *Manifest) { m.Format = "knitting" })),
		"a later version":         rewritten(manifest(func(m *Manifest) { m.Version = 2 })),
		"a path out of it":        rewritten(map[string]string{"../evil": "x"}),
		"a path out of pictures":  rewritten(map[string]string{"pictures/../../evil": "x"}),
		"an absolute path":        rewritten(map[string]string{"/etc/evil": "x"}),
		"a name too short":        rewritten(map[string]string{"pictures/" + hash[1:]: "x"}),
		"a name with a backslash": rewritten(map[string]string{`pictures\` + hash: "x"}),
		"one name twice":          twice,
	}
	for what, backup := range bad {
		if _, err := restore(dir, backup, true); !errors.Is(err, ErrNotBackup) && !errors.Is(err, ErrNewer) {
			t.Errorf("%s: %v", what, err)
		}
	}
	entries, err := os.ReadDir(filepath.Dir(dir))
	if err != nil || len(entries) != 1 {
		t.Errorf("%v is left, %v", entries, err)
	}
	if s := open(t, dir); s.Epoch() != epoch || s.Last() != 600 {
		t.Errorf("the store has epoch %s and %d changes", s.Epoch(), s.Last())
	}
}

func flip(b []byte, at int) []byte {
	b = slices.Clone(b)
	b[at] ^= 0x10
	return b
}

// A restore that a crash cut off just before its end is ended by the next Open.
func TestOpenEndsARestore(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "home")
	s := open(t, dir+finished)
	r := noise(48)
	keep(t, s, parts(r, 1, someID(r), someID(r), 0)...)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s := open(t, dir); s.Last() != 6 {
		t.Errorf("the last is %d", s.Last())
	}
	if _, err := os.Lstat(dir + finished); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("it is still there: %v", err)
	}
}
