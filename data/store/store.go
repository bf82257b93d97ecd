// Package store is the home computer's durable store. It keeps changes in a
// numbered log, pictures as files named by their SHA-256, and the devices
// that may come in. It is the only importer of Badger.
//
// Home is a dumb log: it checks each change by the rules of data, numbers
// what it accepts 1, 2, 3, ... and never merges to accept. What a record says
// is made of the set of its changes (sync/merge) by whoever shows it.
//
// A store is one folder that nobody else writes to:
//
//	records/          Badger: the log, the devices, the epoch
//	pictures/ab/abcd… pictures, each named by the SHA-256 of its bytes
//	pictures/part/    pictures that have come in part
//	lock              locked while the store is open
//
// Folders are made 0700 and files 0600.
package store

import (
	"crypto/rand"
	"encoding/base32"
	"encoding/binary"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/options"

	"needlesight/sync/stamp"
)

// What can be wrong with a store or a picture. Errors wrap one of these and
// say in a sentence what is wrong and where.
var (
	ErrInUse   = errors.New("the folder is in use by another needlesight")
	ErrFull    = errors.New("the disk is full")
	ErrDamaged = errors.New("the store is damaged")
	ErrNewer   = errors.New("the store was made by a later needlesight")
	ErrAhead   = errors.New("a higher number than the last is asked for")
	ErrFailed  = errors.New("the store could not write, and must be opened again")
)

// Reserve is how many bytes of the disk are left free if Options do not say
// otherwise: what Badger may need to bring its files in order. Badger writes
// through mapped memory, where a full disk is no error but the end of the
// process, so home stops accepting before.
const Reserve = 128 << 20

// format is the version of what is written in the folder.
const format = 1

// Options of a store. The zero value is right for a home computer.
type Options struct {
	// Reserve is how many bytes of the disk are left free; 0 for the constant
	// of that name.
	Reserve int64
	// Log takes what Badger warns of; nil for slog.Default().
	Log *slog.Logger
}

// Store is an open store. Its methods may be called from any goroutine.
type Store struct {
	dir     string
	reserve int64
	lock    *os.File // dir/lock
	db      *badger.DB
	folder  *os.File // records/, to sync the names in it

	last  atomic.Uint64
	epoch atomic.Value // string

	appending sync.Mutex        // one Append at a time; also guards what follows
	highest   map[string]uint64 // by device, the highest counter of its changes in the log
	failed    error             // the first write that failed
	devices   devices           // who may come in
	codes     codes             // for pairing
	pictures  pictures          // being written
}

// Open opens the store in a folder, and makes it if there is none. The error
// wraps ErrInUse, ErrFull, ErrDamaged, ErrNewer or that of the file system
// (fs.ErrPermission, a read-only disk, not a folder). It sets the process's
// umask to 077, since Badger leaves its files' mode to it. Close it.
func Open(dir string, o Options) (*Store, error) {
	private()
	s := &Store{dir: dir, reserve: o.Reserve, highest: map[string]uint64{}}
	s.devices.byID = map[string]keptDevice{}
	s.pictures.busy, s.pictures.wanted = map[string]bool{}, map[string]bool{}
	if s.reserve == 0 {
		s.reserve = Reserve
	}
	for _, step := range []func() error{s.prepare, s.takeLock, s.roomToOpen, func() error { return s.openBadger(o) }, s.load} {
		if err := step(); err != nil {
			return nil, errors.Join(fmt.Errorf("the folder %s cannot be used: %w", dir, err), s.release())
		}
	}
	return s, nil
}

// prepare makes the folders, private, and their names durable.
func (s *Store) prepare() error {
	if err := finishRestore(s.dir); err != nil {
		return err
	}
	for _, dir := range []string{s.dir, s.in("records"), s.in("pictures"), s.in("pictures", "part")} {
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return err
		}
		if err := os.Chmod(dir, 0o700); err != nil {
			return err
		}
	}
	_ = syncDir(filepath.Dir(filepath.Clean(s.dir))) // which may be another's, and not ours to open
	return errors.Join(syncDir(s.dir), syncDir(s.in("pictures")))
}

// takeLock sees to it that nobody else uses the folder.
func (s *Store) takeLock() (err error) {
	s.lock, err = os.OpenFile(s.in("lock"), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return lockFile(s.lock)
}

// in is a path in the store's folder.
func (s *Store) in(names ...string) string {
	return filepath.Join(append([]string{s.dir}, names...)...)
}

// Room tells whether so many bytes more can be written to the disk of the store,
// and what it leaves free is left. The error wraps ErrFull.
func (s *Store) Room(bytes int64) error { return s.room(bytes) }

// room tells whether so many bytes can be written and the reserve is left.
// The error wraps ErrFull.
func (s *Store) room(bytes int64) error { return s.free(bytes + s.reserve) }

// roomToOpen is room enough for what Badger does when it opens: a store on a
// disk that is full but for the reserve can still be read.
func (s *Store) roomToOpen() error { return s.free(s.reserve / 4) }

func (s *Store) free(needed int64) error {
	free, err := freeBytes(s.dir)
	if err != nil {
		return fmt.Errorf("how much room %s has cannot be told: %w", s.dir, err)
	}
	if free < needed {
		return fmt.Errorf("%w: where %s lies, %d MB are left, and %d MB are needed", ErrFull, s.dir, free>>20, needed>>20)
	}
	return nil
}

// memTable is how much Badger holds in memory before it writes a table; a
// transaction may be 15 % of it.
const memTable = 8 << 20

func (s *Store) openBadger(o Options) (err error) {
	records := s.in("records")
	log := o.Log
	if log == nil {
		log = slog.Default()
	}
	settings := badger.DefaultOptions(records).
		WithMemTableSize(memTable).
		WithNumMemtables(2).
		WithValueThreshold(memTable / 10). // all values stand in the tables
		WithValueLogFileSize(4 << 20).     // made at once in full where files cannot have holes
		WithSyncWrites(true).
		WithCompactL0OnClose(true).
		WithNumCompactors(2).
		WithCompression(options.ZSTD).
		WithBlockCacheSize(8 << 20).
		WithChecksumVerificationMode(options.OnBlockRead).
		WithDetectConflicts(false). // there is one writer
		WithMetricsEnabled(false).
		WithLogger(quiet{log})
	if err := removeEmpty(records); err != nil {
		return err
	}
	defer func() { // Badger panics at some files that are not its own
		if r := recover(); r != nil {
			err = fmt.Errorf("%w: the records cannot be read (%.200v); restore a backup", ErrDamaged, r)
		}
	}()
	if err = checkTables(settings); err == nil {
		s.db, err = badger.Open(settings)
	}
	if err != nil {
		s.db = nil
		return fmt.Errorf("%w: the records cannot be read (%w); restore a backup", ErrDamaged, err)
	}
	s.folder, err = os.Open(records)
	return err
}

// removeEmpty takes away the files that Badger had made and not yet begun to
// write when it was killed: it does not open with them (its issue 2207).
func removeEmpty(records string) error {
	files, err := os.ReadDir(records)
	if err != nil {
		return err
	}
	for _, file := range files {
		ending := filepath.Ext(file.Name())
		if ending != ".mem" && ending != ".vlog" {
			continue
		}
		info, err := file.Info()
		if err == nil && info.Mode().IsRegular() && info.Size() == 0 {
			err = os.Remove(filepath.Join(records, file.Name()))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Close ends all use of the store. A store that is not closed loses nothing,
// and takes a moment longer to open.
func (s *Store) Close() error {
	s.appending.Lock() // lets an Append end
	defer s.appending.Unlock()
	s.failed = errors.New("the store is closed")
	return s.release()
}

// release gives back what Open has taken, as far as it came.
func (s *Store) release() (err error) {
	if s.db != nil {
		err = s.db.Close()
	}
	for _, file := range []*os.File{s.folder, s.lock} {
		if file != nil {
			err = errors.Join(err, file.Close())
		}
	}
	return err
}

// Epoch names the numbering: an id made when the store was made, or restored
// from a backup. Who knows another epoch knows nothing by number, and must
// bring and take everything anew.
func (s *Store) Epoch() string { return s.epoch.Load().(string) }

// Last is the number of the last change that was accepted, 0 if there is none.
func (s *Store) Last() uint64 { return s.last.Load() }

// NewEpoch makes a new epoch. It is for when a device knows a number beyond
// Last: then what it was acked has been lost here (an old copy of the folder
// was put back, or a disk had not kept what it said), and every device must
// bring everything again.
func (s *Store) NewEpoch() error {
	s.appending.Lock()
	defer s.appending.Unlock()
	return s.renew()
}

func (s *Store) renew() error {
	epoch := newID()
	if err := s.write(entry{[]byte(keyEpoch), []byte(epoch)}); err != nil {
		return err
	}
	s.epoch.Store(epoch)
	return nil
}

// The keys in Badger. Numbers in keys are 8 bytes, the highest first.
//
//	m/format                  the version of all this, in digits
//	m/epoch                   the epoch
//	m/swept                   when pictures were last swept, Unix seconds in digits
//	l NUMBER                  which records a batch of the log changed, see logEntry; NUMBER is the batch's last
//	r KIND 0 ID NUMBER        what that batch changed of this record, see recordEntry; ID is 10 bytes
//	c DEVICE                  the highest counter of the device's changes, uvarint; DEVICE is 10 bytes
//	d ID                      a device that may come in, JSON
//	p SHA256                  how long a picture has been referred to by nothing, seconds, uvarint; SHA256 in 64 digits and letters
const (
	keyFormat = "m/format"
	keyEpoch  = "m/epoch"
	keySwept  = "m/swept"
)

// load reads what is held in memory, and makes the epoch of a new store.
func (s *Store) load() error {
	known, err := s.read(keyFormat)
	if err != nil {
		return err
	}
	if known == "" {
		return errors.Join(s.write(entry{[]byte(keyFormat), []byte(strconv.Itoa(format))}), s.renew())
	}
	version, err := strconv.Atoi(known)
	if err != nil || version < 1 {
		return fmt.Errorf("%w: %s does not say which version it is", ErrDamaged, s.dir)
	}
	if version > format {
		return fmt.Errorf("%w: %s is version %d, and this program reads version %d", ErrNewer, s.dir, version, format)
	}
	epoch, err := s.read(keyEpoch)
	if err != nil {
		return err
	}
	if epoch == "" {
		return fmt.Errorf("%w: %s has no epoch", ErrDamaged, s.dir)
	}
	s.epoch.Store(epoch)
	return s.db.View(func(txn *badger.Txn) error {
		return errors.Join(s.loadLast(txn), s.loadHighest(txn), s.loadDevices(txn))
	})
}

// loadLast finds the last number, that of the last batch.
func (s *Store) loadLast(txn *badger.Txn) error {
	o := badger.DefaultIteratorOptions
	o.Reverse, o.PrefetchValues = true, false
	it := txn.NewIterator(o)
	defer it.Close()
	if it.Seek([]byte{'l' + 1}); it.ValidForPrefix([]byte{'l'}) {
		key := it.Item().Key()
		if len(key) != 9 {
			return fmt.Errorf("%w: a key of the log is %d bytes", ErrDamaged, len(key))
		}
		s.last.Store(binary.BigEndian.Uint64(key[1:]))
	}
	return nil
}

func (s *Store) loadHighest(txn *badger.Txn) error {
	return each(txn, []byte{'c'}, func(key, value []byte) error {
		counter, n := binary.Uvarint(value)
		if len(key) != 11 || n != len(value) || counter == 0 || counter > stamp.MaxCounter {
			return fmt.Errorf("%w: the counter of a device cannot be read", ErrDamaged)
		}
		s.highest[ids.EncodeToString(key[1:])] = counter
		return nil
	})
}

// each gives what stands under a prefix, by key. Key and value are valid only
// until f returns.
func each(txn *badger.Txn, prefix []byte, f func(key, value []byte) error) error {
	o := badger.DefaultIteratorOptions
	o.Prefix, o.PrefetchValues = prefix, false // values stand beside their keys
	it := txn.NewIterator(o)
	defer it.Close()
	for it.Rewind(); it.Valid(); it.Next() {
		if err := it.Item().Value(func(value []byte) error { return f(it.Item().Key(), value) }); err != nil {
			return err
		}
	}
	return nil
}

// read gives a value as text, "" if there is none.
func (s *Store) read(key string) (text string, err error) {
	err = s.db.View(func(txn *badger.Txn) error {
		item, err := txn.Get([]byte(key))
		if errors.Is(err, badger.ErrKeyNotFound) {
			return nil
		}
		if err != nil {
			return err
		}
		return item.Value(func(value []byte) error {
			text = string(value)
			return nil
		})
	})
	return text, err
}

// entry is a key and its value; no value takes the key away.
type entry struct{ key, value []byte }

// write puts all entries or none, and returns when they are on the disk. The
// caller holds s.appending. After a write has failed, what the disk holds is
// not known, so no other is tried.
func (s *Store) write(entries ...entry) error {
	if s.failed != nil {
		return s.failed
	}
	err := s.db.Update(func(txn *badger.Txn) error {
		for _, e := range entries {
			var err error
			if e.value == nil {
				err = txn.Delete(e.key)
			} else {
				err = txn.Set(e.key, e.value)
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		err = syncFolder(s.folder) // Badger does not sync the name of a new write-ahead log
	}
	if err != nil {
		s.failed = fmt.Errorf("%w: %w", ErrFailed, err)
		return s.failed
	}
	return nil
}

// ids is how the 10 random bytes of an id are written, see data.IsID.
var ids = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

func newID() string {
	var b [10]byte
	rand.Read(b[:]) // never fails
	return ids.EncodeToString(b[:])
}

// quiet passes on what Badger warns of, and not what it tells of its work.
type quiet struct{ log *slog.Logger }

func (q quiet) Errorf(f string, args ...any) {
	q.log.Error("badger: " + fmt.Sprintf(strings.TrimSpace(f), args...))
}
func (q quiet) Warningf(f string, args ...any) {
	q.log.Warn("badger: " + fmt.Sprintf(strings.TrimSpace(f), args...))
}
func (q quiet) Infof(string, ...any)  {}
func (q quiet) Debugf(string, ...any) {}
