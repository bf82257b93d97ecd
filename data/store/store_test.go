package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"needlesight/data"
)

func TestOpenMakesAPrivateStore(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "home")
	s, r := open(t, dir), noise(21)
	keep(t, s, parts(r, 10, someID(r), someID(r), 0)...)
	if _, err := putPicture(s, []byte("an otter")); err != nil {
		t.Fatal(err)
	}
	if !data.IsID(s.Epoch()) {
		t.Errorf("the epoch is %q", s.Epoch())
	}
	other := open(t, filepath.Join(t.TempDir(), "other"))
	if other.Epoch() == s.Epoch() {
		t.Error("two stores have one epoch")
	}
	before := s.Epoch()
	if err := s.NewEpoch(); err != nil || s.Epoch() == before || s.Last() != 60 {
		t.Errorf("NewEpoch gives %v; epoch %s after %s, last %d", err, s.Epoch(), before, s.Last())
	}
	if runtime.GOOS == "windows" {
		return // where it is the folder's owner that counts
	}
	check := func() {
		err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			info, err := e.Info()
			want := fs.FileMode(0o600)
			if e.IsDir() {
				want = 0o700 | fs.ModeDir
			}
			if err == nil && info.Mode() != want {
				t.Errorf("%s is %v, want %v", path, info.Mode(), want)
			}
			return err
		})
		if err != nil {
			t.Error(err)
		}
	}
	check()
	if err := errors.Join(s.Close(), os.Chmod(dir, 0o755)); err != nil {
		t.Fatal(err)
	}
	open(t, dir)
	check()
}

func TestOpenTellsThatItIsInUse(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	_, err := Open(dir, Options{})
	if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), dir) {
		t.Errorf("opened twice: %v", err)
	}
	r := noise(22)
	keep(t, s, parts(r, 1, someID(r), someID(r), 0)...) // no harm was done
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, dir)
}

func TestOpenWhereItCannot(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{file, filepath.Join(file, "below")} {
		if _, err := Open(path, Options{}); err == nil || !strings.Contains(err.Error(), path) {
			t.Errorf("Open(%s) gives %v", path, err)
		}
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "mine" {
		t.Errorf("the file is now %q, %v", text, err)
	}
	if _, err := Open(filepath.Join(dir, "home"), Options{Reserve: 1 << 60}); !errors.Is(err, ErrFull) {
		t.Errorf("Open on a full disk gives %v", err)
	}
	if os.Getuid() > 0 { // for root, TestReadOnlyDisk shows it
		if err := os.Chmod(dir, 0o500); err != nil {
			t.Fatal(err)
		}
		defer os.Chmod(dir, 0o700)
		if _, err := Open(filepath.Join(dir, "home"), Options{}); !errors.Is(err, fs.ErrPermission) {
			t.Errorf("Open in a folder that is read-only gives %v", err)
		}
	}
}

func TestOpenOfALaterVersion(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	if err := errors.Join(s.write(entry{[]byte(keyFormat), []byte("2")}), s.Close()); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(dir, Options{}); !errors.Is(err, ErrNewer) {
		t.Errorf("Open gives %v", err)
	}
	if _, err := Open(dir, Options{}); !errors.Is(err, ErrNewer) {
		t.Errorf("Open again gives %v: it left the folder locked", err)
	}
}

// Files that are not the store's own are left alone; those of the store that
// are not what they were are told as damage, or found and put right; in no
// case is a part of what was kept given as if it were all.
func TestGarbageFiles(t *testing.T) {
	filled := filledStore(t)
	garbage := []byte(strings.Repeat("this is no file of Badger's. ", 1000))
	for _, of := range []string{"records/note.txt", "records/000099.sst", "note.txt", "pictures/note.txt", "pictures/ab/note.txt", "pictures/part/note.txt"} {
		dir := copied(t, filled)
		path := filepath.Join(dir, filepath.FromSlash(of))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o700), os.WriteFile(path, garbage, 0o600)); err != nil {
			t.Fatal(err)
		}
		s, err := Open(dir, Options{})
		if err != nil {
			t.Errorf("with %s: %v", of, err)
			continue
		}
		if got := len(all(t, s)); got != 600 {
			t.Errorf("with %s there are %d changes", of, got)
		}
		expectSound(t, s)
		s.Close()
	}
	for _, of := range []string{"MANIFEST", "*.sst", "KEYREGISTRY", "DISCARD", "*.vlog", "00099.mem"} {
		dir := copied(t, filled)
		if err := os.WriteFile(filepath.Join(dir, "records", "00099.mem"), nil, 0o600); err != nil {
			t.Fatal(err)
		}
		matches, err := filepath.Glob(filepath.Join(dir, "records", of))
		if err != nil || len(matches) == 0 {
			t.Fatalf("no %s: %v", of, err)
		}
		for _, path := range matches {
			if err := os.WriteFile(path, garbage, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		expectDamageOrAll(t, dir, of+" of garbage")
	}
}

// filledStore is a store of 600 changes that is closed.
func filledStore(t *testing.T) string {
	t.Helper()
	dir, r := t.TempDir(), noise(23)
	s := open(t, dir)
	keep(t, s, parts(r, 100, someID(r), someID(r), 0)...)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

// copied is a copy of a store that is closed.
func copied(t *testing.T, dir string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "copy")
	if err := os.CopyFS(to, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	return to
}

// expectDamageOrAll opens a store of 600 changes in which something was
// damaged, and tells whether it was found.
func expectDamageOrAll(t *testing.T, dir, what string) (found bool) {
	t.Helper()
	s, err := Open(dir, Options{})
	if err != nil {
		if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), dir) {
			t.Errorf("%s: Open gives %v", what, err)
		}
		return true
	}
	defer s.Close()
	report, err := s.Verify()
	switch {
	case err != nil || len(report.Faults) > 0:
		return true
	case report.Changes != 600 || len(all(t, s)) != 600:
		t.Errorf("%s: %d changes are left of 600, and nothing is said", what, report.Changes)
	}
	return false
}

// Any single byte of the tables that changes on the disk is found, or changes
// nothing.
func TestFlippedByteInATable(t *testing.T) {
	dir := filledStore(t)
	tables, err := filepath.Glob(filepath.Join(dir, "records", "*.sst"))
	if err != nil || len(tables) != 1 {
		t.Fatalf("the tables are %v, %v", tables, err)
	}
	whole, err := os.ReadFile(tables[0])
	if err != nil {
		t.Fatal(err)
	}
	found, tries := 0, 0
	for at := 0; at < len(whole); at += len(whole)/12 + 1 {
		flipped := append([]byte{}, whole...)
		flipped[at] ^= 0x10
		again := copied(t, dir)
		if err := os.WriteFile(filepath.Join(again, "records", filepath.Base(tables[0])), flipped, 0o600); err != nil {
			t.Fatal(err)
		}
		if tries++; expectDamageOrAll(t, again, "a flipped byte") {
			found++
		}
	}
	if found < tries*3/4 {
		t.Errorf("%d of %d flipped bytes were found", found, tries)
	}
	t.Logf("%d of %d flipped bytes were found, the others changed nothing", found, tries)
}

// Badger leaves empty files when it is killed at the wrong moment, and does
// not open with them by itself.
func TestOpenWithEmptyFilesOfBadger(t *testing.T) {
	dir := filledStore(t)
	for _, name := range []string{"00042.mem", "000042.vlog"} {
		if err := os.WriteFile(filepath.Join(dir, "records", name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if got := len(all(t, open(t, dir))); got != 600 {
		t.Errorf("%d changes are left of 600", got)
	}
}
