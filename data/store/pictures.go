package store

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
)

// MaxPicture is the most bytes a picture may be.
const MaxPicture = 64 << 20

// What can be wrong with a picture.
var (
	ErrHash         = errors.New("a picture's name is its SHA-256: 64 digits 0 to 9 and letters a to f")
	ErrNoPicture    = errors.New("home does not have this picture")
	ErrHavePicture  = errors.New("home has this picture already")
	ErrBusyPicture  = errors.New("this picture is being brought already")
	ErrWrongPicture = errors.New("what was brought is not the picture of that name; it was dropped, and can be brought again")
	ErrLargePicture = fmt.Errorf("a picture is at most %d MB", MaxPicture>>20)
)

// pictures that are being written, and those asked for since the last sweep.
type pictures struct {
	sync.Mutex
	busy    map[string]bool
	wanted  map[string]bool
	shelves sync.RWMutex // a sweep waits until a backup has read all
}

// IsHash tells whether s can name a picture.
func IsHash(s string) bool {
	return len(s) == 2*sha256.Size && strings.Trim(s, "0123456789abcdef") == ""
}

// picturePath is where a picture lies; the hash must be one.
func (s *Store) picturePath(hash string) string { return s.in("pictures", hash[:2], hash) }

func (s *Store) partPath(hash string) string { return s.in("pictures", "part", hash) }

// HasPicture tells whether home has a picture. Who asks is taken to refer to
// it soon, so the next Sweep keeps it and counts its 30 days anew.
func (s *Store) HasPicture(hash string) bool {
	if !IsHash(hash) {
		return false
	}
	s.pictures.Lock()
	defer s.pictures.Unlock()
	has := s.has(hash)
	if has {
		s.pictures.wanted[hash] = true
	}
	return has
}

func (s *Store) has(hash string) bool {
	_, err := os.Stat(s.picturePath(hash))
	return err == nil
}

// OpenPicture opens a picture for reading. The error is ErrHash, or wraps
// ErrNoPicture.
func (s *Store) OpenPicture(hash string) (*os.File, error) {
	if !IsHash(hash) {
		return nil, ErrHash
	}
	f, err := os.Open(s.picturePath(hash))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w: %s", ErrNoPicture, hash)
	}
	return f, err
}

// PictureWriter takes a picture in pieces. Commit or Close it.
type PictureWriter struct {
	store  *Store
	hash   string
	file   *os.File
	offset int64
}

// PutPicture begins to write a picture, or goes on where the last writer of
// it stopped: at Offset. The error is ErrHash, ErrHavePicture or ErrBusyPicture,
// or wraps ErrFull.
func (s *Store) PutPicture(hash string) (*PictureWriter, error) {
	if !IsHash(hash) {
		return nil, ErrHash
	}
	if s.HasPicture(hash) {
		return nil, ErrHavePicture
	}
	if err := s.room(0); err != nil {
		return nil, err
	}
	if !s.begin(hash) {
		return nil, ErrBusyPicture
	}
	file, err := os.OpenFile(s.partPath(hash), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		s.end(hash)
		return nil, err
	}
	w := &PictureWriter{s, hash, file, 0}
	if w.offset, err = file.Seek(0, io.SeekEnd); err != nil {
		return nil, errors.Join(err, w.Close())
	}
	return w, nil
}

func (s *Store) begin(hash string) bool {
	s.pictures.Lock()
	defer s.pictures.Unlock()
	if s.pictures.busy[hash] {
		return false
	}
	s.pictures.busy[hash] = true
	return true
}

func (s *Store) end(hash string) {
	s.pictures.Lock()
	defer s.pictures.Unlock()
	delete(s.pictures.busy, hash)
}

// Pictures is how many pictures home has.
func (s *Store) Pictures() (n int, err error) {
	return n, s.eachPicture(func(string) error { n++; return nil })
}

// Begun is how many bytes have come of a picture that home does not have yet.
// The error is ErrHash, or that of the file system.
func (s *Store) Begun(hash string) (int64, error) {
	if !IsHash(hash) {
		return 0, ErrHash
	}
	info, err := os.Stat(s.partPath(hash))
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

// Offset is how many bytes home has; the next Write goes on there.
func (w *PictureWriter) Offset() int64 { return w.offset }

// Write adds a piece. The error is ErrLargePicture or wraps ErrFull, or is that of
// the disk; what was written before is kept.
func (w *PictureWriter) Write(piece []byte) (int, error) {
	if w.offset+int64(len(piece)) > MaxPicture {
		return 0, ErrLargePicture
	}
	if err := w.store.room(int64(len(piece))); err != nil {
		return 0, err
	}
	n, err := w.file.Write(piece)
	w.offset += int64(n)
	return n, err
}

// Close stops before the picture is whole. What was brought is kept, and the
// next PutPicture of it goes on from there. After Commit it does nothing.
func (w *PictureWriter) Close() error {
	if w.file == nil {
		return nil
	}
	err := w.file.Close()
	w.file = nil
	w.store.end(w.hash)
	return err
}

// Commit ends a picture that is whole: it is read again and compared with its
// name, and on the disk under it when Commit returns without an error. If it
// is another picture, all of it is dropped and the error is ErrWrongPicture.
func (w *PictureWriter) Commit() error {
	if w.file == nil {
		return fs.ErrClosed
	}
	s, part := w.store, w.file.Name()
	err := w.file.Sync()
	if err == nil {
		err = w.check()
	}
	if errors.Is(err, ErrWrongPicture) {
		err = errors.Join(err, os.Remove(part))
	}
	if err != nil {
		return errors.Join(err, w.Close())
	}
	shut := w.file.Close() // before the rename: Windows wants it so
	w.file = nil
	defer s.end(w.hash)
	if shut != nil {
		return shut
	}
	return s.shelve(part, w.hash)
}

// check reads the whole file again.
func (w *PictureWriter) check() error {
	if _, err := w.file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	hash, err := hashOf(w.file)
	if err == nil && hash != w.hash {
		return ErrWrongPicture
	}
	return err
}

func hashOf(r io.Reader) (string, error) {
	h := sha256.New()
	if _, err := io.Copy(h, r); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// shelve gives a picture that is whole, checked and synced its name.
func (s *Store) shelve(part, hash string) error {
	path := s.picturePath(hash)
	dir := filepath.Dir(path)
	err := os.Mkdir(dir, 0o700)
	switch {
	case err == nil:
		err = syncDir(s.in("pictures"))
	case errors.Is(err, fs.ErrExist):
		err = nil
	}
	if err != nil {
		return err
	}
	if err := os.Rename(part, path); err != nil {
		return err
	}
	return syncDir(dir)
}

func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(syncFolder(f), f.Close())
}

// eachPicture gives the hash of each picture that home has, sorted. Files that
// are none of ours are passed over. An error of f ends it and is returned.
func (s *Store) eachPicture(f func(hash string) error) error {
	shelves, err := os.ReadDir(s.in("pictures"))
	if err != nil {
		return err
	}
	for _, shelf := range shelves {
		if len(shelf.Name()) != 2 || !shelf.IsDir() {
			continue
		}
		files, err := os.ReadDir(s.in("pictures", shelf.Name()))
		if err != nil {
			return err
		}
		for _, file := range files {
			hash := file.Name()
			if !IsHash(hash) || hash[:2] != shelf.Name() || !file.Type().IsRegular() {
				continue
			}
			if err := f(hash); err != nil {
				return err
			}
		}
	}
	return nil
}

// References are the hashes of the pictures that a value refers to: of each
// text in it that is "sha256:" and a hash.
func References(value json.RawMessage) (hashes []string) {
	if !strings.Contains(string(value), referencePrefix) {
		return nil
	}
	var v any
	if json.Unmarshal(value, &v) == nil {
		texts(v, func(text string) {
			if hash, is := strings.CutPrefix(text, referencePrefix); is && IsHash(hash) {
				hashes = append(hashes, hash)
			}
		})
	}
	return hashes
}

const referencePrefix = "sha256:"

// texts gives each text in a value, but for the names in objects.
func texts(v any, f func(text string)) {
	switch v := v.(type) {
	case string:
		f(v)
	case []any:
		for _, v := range v {
			texts(v, f)
		}
	case map[string]any:
		for _, v := range v {
			texts(v, f)
		}
	}
}
