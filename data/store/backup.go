package store

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"needlesight/sync/change"
)

// A backup is one zip file. In it stand, in this order:
//
//	changes/000001.json  every change up to one number, record by record, in the
//	changes/000002.json  form that sync/change.File gives; at most 20 000 in each
//	devices.json         {"devices":[{"id":..,"name":..,"added":..,"seen":..,"struck":false,"hash":..}]};
//	                     hash is base64 of the SHA-256 of the device's token
//	pictures/HASH        each picture as it is, named by its SHA-256 in 64 digits and letters
//	manifest.json        the Manifest below. It comes last: a file without it is cut off
//
// It can be written in one go, without knowing beforehand how much there is,
// and read by any program that reads zip.
const (
	BackupFormat  = "needlesight-backup"
	BackupVersion = 1
)

const (
	manifestName   = "manifest.json"
	devicesName    = "devices.json"
	changesName    = "changes/%06d.json"
	picturesFolder = "pictures/"
	inOneFile      = 20_000 // changes
)

// Manifest tells what is in a backup.
type Manifest struct {
	Format  string    `json:"format"`  // BackupFormat
	Version int       `json:"version"` // BackupVersion
	Made    time.Time `json:"made"`    // by home's clock, in UTC
	Epoch   string    `json:"epoch"`   // of the store it is of; a restored store has another
	Changes uint64    `json:"changes"` // how many, which is the last number in it
	Files   int       `json:"files"`   // how many files of changes
	Devices int       `json:"devices"` // how many
	// Pictures is how many there are, damaged ones too.
	Pictures int `json:"pictures"`
	// Damaged are the pictures whose bytes do not have the hash that is their
	// name. They are in the backup as they are.
	Damaged []string `json:"damaged"`
}

// Backup writes a backup while the store is in use. It holds the changes up
// to one number, all devices, and every picture that home has then. If the
// error is not nil, what was written is no backup. The caller sees to it that
// it gets to the disk.
func (s *Store) Backup(w io.Writer, now time.Time) (Manifest, error) {
	s.pictures.shelves.RLock() // no picture is swept meanwhile
	defer s.pictures.shelves.RUnlock()
	b := backup{store: s, zip: zip.NewWriter(w), made: now.UTC().Truncate(time.Second)}
	b.manifest = Manifest{Format: BackupFormat, Version: BackupVersion, Made: b.made, Epoch: s.Epoch(), Damaged: []string{}}
	for _, step := range []func() error{b.changes, b.devices, b.pictures, b.end} {
		if err := step(); err != nil {
			return b.manifest, fmt.Errorf("the backup could not be made: %w", err)
		}
	}
	return b.manifest, nil
}

type backup struct {
	store    *Store
	zip      *zip.Writer
	made     time.Time
	manifest Manifest
}

// create begins a file in the zip; pictures are as small as they get already.
func (b *backup) create(name string, method uint16) (io.Writer, error) {
	return b.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: b.made})
}

func (b *backup) json(name string, v any) error {
	w, err := b.create(name, zip.Deflate)
	if err != nil {
		return err
	}
	return json.NewEncoder(w).Encode(v)
}

func (b *backup) changes() error {
	var some []change.Change
	err := b.store.Walk(func(record []change.Change) error {
		for part := range slices.Chunk(record, inOneFile) {
			if len(some)+len(part) > inOneFile {
				if err := b.file(some); err != nil {
					return err
				}
				some = nil
			}
			some = append(some, part...)
		}
		return nil
	})
	if err == nil && len(some) > 0 {
		err = b.file(some)
	}
	return err
}

func (b *backup) file(changes []change.Change) error {
	b.manifest.Files++
	b.manifest.Changes += uint64(len(changes))
	return b.json(fmt.Sprintf(changesName, b.manifest.Files), change.NewFile(b.made.Format(time.RFC3339), changes))
}

// keptDevicesFile is devices.json.
type keptDevicesFile struct {
	Devices []keptDevice `json:"devices"`
}

func (b *backup) devices() error {
	list := b.store.keptDevices()
	b.manifest.Devices = len(list)
	return b.json(devicesName, keptDevicesFile{list})
}

func (b *backup) pictures() error {
	return b.store.eachPicture(func(hash string) error {
		f, err := b.store.OpenPicture(hash)
		if err != nil {
			return err
		}
		defer f.Close()
		w, err := b.create(picturesFolder+hash, zip.Store)
		if err != nil {
			return err
		}
		sum := sha256.New()
		if _, err := io.Copy(io.MultiWriter(w, sum), f); err != nil {
			return err
		}
		b.manifest.Pictures++
		if hex.EncodeToString(sum.Sum(nil)) != hash {
			b.manifest.Damaged = append(b.manifest.Damaged, hash)
		}
		return nil
	})
}

func (b *backup) end() error {
	return errors.Join(b.json(manifestName, b.manifest), b.zip.Close())
}
