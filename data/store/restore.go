package store

import (
	"archive/zip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"needlesight/sync/change"
)

// What can be wrong with a restore.
var (
	ErrNotBackup = errors.New("this is no backup of ours, or it is damaged or cut off")
	ErrNotEmpty  = errors.New("there is a store already")
)

// Inspect reads what a backup of so many bytes says of itself. The error wraps
// ErrNotBackup or ErrNewer.
func Inspect(backup io.ReaderAt, size int64) (Manifest, error) {
	files, err := backupFiles(backup, size)
	if err != nil {
		return Manifest{}, err
	}
	return readManifest(files)
}

// Restored tells what a restore did.
type Restored struct {
	Manifest Manifest
	// Lost are the pictures of the backup that could not be restored, since
	// their bytes do not have the hash that is their name.
	Lost []string
	// Replaced is where the store now lies that was there before; "" if there was none.
	Replaced string
}

// Restore makes the store in a folder of a backup of so many bytes. The store
// gets a new epoch, so that every device brings everything again: nothing is
// lost that any device still has. Devices keep their tokens.
//
// If there is a store already, the error wraps ErrNotEmpty, unless overwrite is set: then
// the old one is moved aside to a name of its own. The new one takes its place only when it is whole and on the
// disk; whatever happens before changes nothing. The error wraps
// ErrNotBackup, ErrNotEmpty, ErrInUse, ErrFull or that of the file system.
func Restore(dir string, backup io.ReaderAt, size int64, overwrite bool, o Options) (Restored, error) {
	dir = filepath.Clean(dir)
	var done Restored
	files, err := backupFiles(backup, size)
	if err == nil {
		done.Manifest, err = readManifest(files)
	}
	if err != nil {
		return done, err
	}
	there, err := isThere(dir, o)
	if err != nil {
		return done, err
	}
	if there && !overwrite {
		return done, fmt.Errorf("%w in %s; it is overwritten only if you say so", ErrNotEmpty, dir)
	}
	if done.Lost, err = build(dir, files, done.Manifest, o); err != nil {
		return done, errors.Join(err, os.RemoveAll(dir+unfinished))
	}
	done.Replaced, err = swap(dir, there)
	return done, err
}

// Beside the folder, while a backup is restored: a store that is not whole
// yet, and one that is and only has to take its place.
const (
	unfinished = ".restoring"
	finished   = ".restored"
)

// finishRestore puts a restored store in its place, if a crash came just
// before that.
func finishRestore(dir string) error {
	dir = filepath.Clean(dir)
	if _, err := os.Lstat(dir); !errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if _, err := os.Lstat(dir + finished); err != nil {
		return nil
	}
	return os.Rename(dir+finished, dir)
}

// isThere tells whether there is something in the folder. The error is
// ErrInUse if someone has it open.
func isThere(dir string, o Options) (bool, error) {
	if err := finishRestore(dir); err != nil {
		return false, err
	}
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(entries) == 0 {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	s, err := Open(dir, o)
	if errors.Is(err, ErrInUse) {
		return false, err
	}
	if err == nil {
		err = s.Close()
	} else {
		err = nil // it is damaged: that is what backups are for
	}
	return true, err
}

// swap puts the new store in its place, and the old one aside.
func swap(dir string, there bool) (replaced string, err error) {
	if err := os.Rename(dir+unfinished, dir+finished); err != nil {
		return "", err
	}
	if there {
		for i := 1; ; i++ {
			replaced = fmt.Sprintf("%s.before-restore-%d", dir, i)
			if _, err := os.Lstat(replaced); errors.Is(err, fs.ErrNotExist) {
				break
			}
		}
		err = os.Rename(dir, replaced)
	} else if err = os.Remove(dir); errors.Is(err, fs.ErrNotExist) { // an empty folder
		err = nil
	}
	if err != nil {
		return "", errors.Join(err, os.RemoveAll(dir+finished))
	}
	if err := os.Rename(dir+finished, dir); err != nil {
		return replaced, err
	}
	return replaced, syncDir(filepath.Dir(dir))
}

// inBackup is what the names in a backup look like.
var inBackup = regexp.MustCompile(`^(manifest\.json|devices\.json|changes/\d{6}\.json|pictures/[0-9a-f]{64})$`)

// backupFiles are the files in a zip, by name. One with a name that no backup
// has is no backup.
func backupFiles(backup io.ReaderAt, size int64) (map[string]*zip.File, error) {
	z, err := zip.NewReader(backup, size)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotBackup, err)
	}
	files := make(map[string]*zip.File, len(z.File))
	for _, f := range z.File {
		if !inBackup.MatchString(f.Name) || files[f.Name] != nil {
			return nil, fmt.Errorf("%w: a file in it is called %.80q", ErrNotBackup, f.Name)
		}
		files[f.Name] = f
	}
	return files, nil
}

// readFile reads a whole file of a zip, of at most so many bytes.
func readFile(files map[string]*zip.File, name string, most int64) ([]byte, error) {
	f := files[name]
	if f == nil {
		return nil, fmt.Errorf("%w: %s is not in it", ErrNotBackup, name)
	}
	r, err := f.Open()
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrNotBackup, name, err)
	}
	defer r.Close()
	text, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrNotBackup, name, err)
	}
	if int64(len(text)) > most {
		return nil, fmt.Errorf("%w: %s is more than %d bytes", ErrNotBackup, name, most)
	}
	return text, nil
}

func readManifest(files map[string]*zip.File) (m Manifest, err error) {
	text, err := readFile(files, manifestName, 64<<20)
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(text, &m); err != nil || m.Format != BackupFormat {
		return m, fmt.Errorf("%w: %s is not that of a backup", ErrNotBackup, manifestName)
	}
	if m.Version != BackupVersion {
		return m, fmt.Errorf("%w: the backup is version %d, and this program reads version %d", ErrNewer, m.Version, BackupVersion)
	}
	if here := len(files); here != m.Files+m.Pictures+2 {
		return m, fmt.Errorf("%w: it should hold %d files, and holds %d", ErrNotBackup, m.Files+m.Pictures+2, here)
	}
	return m, nil
}

// build makes the whole store beside the folder.
func build(dir string, files map[string]*zip.File, m Manifest, o Options) (lost []string, err error) {
	if err := errors.Join(os.RemoveAll(dir+unfinished), os.RemoveAll(dir+finished)); err != nil {
		return nil, err
	}
	s, err := Open(dir+unfinished, o)
	if err != nil {
		return nil, err
	}
	err = s.takeChanges(files, m)
	if err == nil {
		err = s.takeDevices(files, m)
	}
	if err == nil {
		lost, err = s.takePictures(files)
	}
	return lost, errors.Join(err, s.Close())
}

func (s *Store) takeChanges(files map[string]*zip.File, m Manifest) error {
	for i := 1; i <= m.Files; i++ {
		name := fmt.Sprintf(changesName, i)
		text, err := readFile(files, name, inOneFile*(change.MaxValue+512))
		if err != nil {
			return err
		}
		file, err := change.DecodeFile(text)
		if err != nil {
			return fmt.Errorf("%w: %s: %w", ErrNotBackup, name, err)
		}
		result, err := s.Append(file.Changes)
		if err != nil {
			return err
		}
		if len(result.Refused) > 0 {
			return fmt.Errorf("%w: %s: %s", ErrNotBackup, name, result.Refused[0].Text)
		}
	}
	if s.Last() != m.Changes {
		return fmt.Errorf("%w: it should hold %d changes, and holds %d", ErrNotBackup, m.Changes, s.Last())
	}
	return nil
}

func (s *Store) takeDevices(files map[string]*zip.File, m Manifest) error {
	text, err := readFile(files, devicesName, 1<<20)
	if err != nil {
		return err
	}
	var list keptDevicesFile
	if err := json.Unmarshal(text, &list); err != nil || len(list.Devices) != m.Devices {
		return fmt.Errorf("%w: %s cannot be read", ErrNotBackup, devicesName)
	}
	for _, d := range list.Devices {
		if !d.isSound() {
			return fmt.Errorf("%w: a device in it is none", ErrNotBackup)
		}
		if err := s.putDevice(d); err != nil {
			return err
		}
	}
	return nil
}

func (s *Store) takePictures(files map[string]*zip.File) (lost []string, err error) {
	for name, f := range files {
		hash, is := strings.CutPrefix(name, picturesFolder)
		if !is {
			continue
		}
		switch err := s.takePicture(hash, f); {
		case errors.Is(err, ErrWrongPicture), errors.Is(err, zip.ErrChecksum):
			lost = append(lost, hash)
			if err := os.Remove(s.partPath(hash)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return nil, err
			}
		case err != nil:
			return nil, err
		}
	}
	slices.Sort(lost)
	return lost, nil
}

func (s *Store) takePicture(hash string, f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return fmt.Errorf("%w: %s: %w", ErrNotBackup, f.Name, err)
	}
	defer r.Close()
	w, err := s.PutPicture(hash)
	if err != nil {
		return err
	}
	defer w.Close()
	if _, err := io.Copy(w, r); err != nil {
		return err
	}
	return w.Commit()
}
