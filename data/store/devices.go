package store

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/dgraph-io/badger/v4"

	"needlesight/data"
)

// MaxDevices is how many devices there may be, struck-off ones too.
const MaxDevices = 500

// What can be wrong with a device.
var (
	ErrToken      = errors.New("no device has this token")
	ErrStruckOff  = errors.New("the device was struck off")
	ErrNoDevice   = errors.New("there is no such device")
	ErrDeviceName = fmt.Errorf("a device's name is a text of 1 to %d bytes without control characters", data.MaxText)
	ErrDevices    = fmt.Errorf("there are %d devices already, which is as many as there may be", MaxDevices)
)

// Device is one that may come in, or was struck off.
type Device struct {
	ID     string    `json:"id"` // see data.IsID
	Name   string    `json:"name"`
	Added  time.Time `json:"added"`  // by home's clock, in UTC
	Seen   time.Time `json:"seen"`   // when it last came in, to the minute
	Struck bool      `json:"struck"` // it may not come in
	// Makes are the ids of the stamps it makes, the latest last. A device that
	// was emptied, or put back to an older state, makes them under a new id.
	Makes []string `json:"makes,omitempty"`
}

// maxMakes is how many ids of stamps are noted for each device.
const maxMakes = 8

// keptDevice is a device as it stands on the disk and in a backup.
type keptDevice struct {
	Device
	Hash []byte `json:"hash"` // SHA-256 of its token
}

func (d keptDevice) isSound() bool {
	return data.IsID(d.ID) && IsDeviceName(d.Name) && len(d.Hash) == sha256.Size
}

// devices are all of them, also in memory, since each request asks.
type devices struct {
	sync.RWMutex
	byID map[string]keptDevice
}

func (s *Store) loadDevices(txn *badger.Txn) error {
	return each(txn, []byte{'d'}, func(key, value []byte) error {
		var d keptDevice
		if err := json.Unmarshal(value, &d); err != nil || !d.isSound() || string(key[1:]) != d.ID {
			return fmt.Errorf("%w: the device %q cannot be read", ErrDamaged, key[1:])
		}
		s.devices.byID[d.ID] = d
		return nil
	})
}

// AddDevice lets a device in under a name. The token is what it shows from
// then on; home keeps only its hash, so it is told this once.
func (s *Store) AddDevice(name string, now time.Time) (id, token string, err error) {
	if !IsDeviceName(name) {
		return "", "", ErrDeviceName
	}
	if len(s.Devices()) >= MaxDevices {
		return "", "", ErrDevices
	}
	if err := s.room(0); err != nil {
		return "", "", err
	}
	var secret [32]byte
	rand.Read(secret[:]) // never fails
	id = newID()
	token = id + "." + base64.RawURLEncoding.EncodeToString(secret[:])
	now = now.UTC().Truncate(time.Minute)
	hash := sha256.Sum256([]byte(token))
	err = s.putDevice(keptDevice{Device{ID: id, Name: name, Added: now, Seen: now}, hash[:]})
	if err != nil {
		return "", "", err
	}
	return id, token, nil
}

// IsDeviceName tells whether a device can be called so: a text of 1 to
// data.MaxText bytes, not of spaces alone, without control characters.
func IsDeviceName(name string) bool {
	return utf8.ValidString(name) && strings.TrimSpace(name) != "" && len(name) <= data.MaxText && strings.IndexFunc(name, unicode.IsControl) < 0
}

// Authenticate gives the device that a token belongs to. The error is
// ErrToken, or ErrStruckOff with the device, so that it can be told. How long
// it takes tells nothing of a token.
func (s *Store) Authenticate(token string) (Device, error) {
	id, _, _ := strings.Cut(token, ".")
	s.devices.RLock()
	d := s.devices.byID[id]
	s.devices.RUnlock()
	hash := sha256.Sum256([]byte(token))
	if subtle.ConstantTimeCompare(hash[:], d.Hash) != 1 {
		return Device{}, ErrToken
	}
	if d.Struck {
		return d.Device, ErrStruckOff
	}
	return d.Device, nil
}

// Devices lists all, the oldest first.
func (s *Store) Devices() []Device {
	s.devices.RLock()
	defer s.devices.RUnlock()
	list := make([]Device, 0, len(s.devices.byID))
	for _, d := range s.devices.byID {
		list = append(list, d.Device)
	}
	slices.SortFunc(list, func(a, b Device) int {
		if c := a.Added.Compare(b.Added); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return list
}

// Rename gives a device another name. The error is ErrNoDevice,
// ErrDeviceName, or that of the disk.
func (s *Store) Rename(id, name string) error {
	if !IsDeviceName(name) {
		return ErrDeviceName
	}
	return s.changeDevice(id, func(d *keptDevice) { d.Name = name })
}

// StrikeOff lets a device in no more. It cannot be taken back: the device
// pairs anew. The error is ErrNoDevice, or that of the disk.
func (s *Store) StrikeOff(id string) error {
	return s.changeDevice(id, func(d *keptDevice) { d.Struck = true })
}

// Touch notes that a device was here. It writes at most once a minute for
// each. The error is ErrNoDevice, or that of the disk.
func (s *Store) Touch(id string, now time.Time) error {
	return s.changeDevice(id, func(d *keptDevice) { d.Seen = now.UTC().Truncate(time.Minute) })
}

// Made notes under which id a device makes its stamps. The error is ErrNoDevice,
// or that of the disk.
func (s *Store) Made(id, stamps string) error {
	return s.changeDevice(id, func(d *keptDevice) {
		if slices.Contains(d.Makes, stamps) || !data.IsID(stamps) {
			return
		}
		makes := append(slices.Clone(d.Makes), stamps)
		d.Makes = makes[max(0, len(makes)-maxMakes):]
	})
}

// changeDevice does so on the disk, unless it changes nothing.
func (s *Store) changeDevice(id string, change func(*keptDevice)) error {
	s.appending.Lock()
	defer s.appending.Unlock()
	d, there := s.devices.byID[id] // only written to under s.appending
	if !there {
		return ErrNoDevice
	}
	before := d.Device
	if change(&d); reflect.DeepEqual(d.Device, before) {
		return nil
	}
	return s.writeDevice(d)
}

func (s *Store) putDevice(d keptDevice) error {
	s.appending.Lock()
	defer s.appending.Unlock()
	return s.writeDevice(d)
}

// writeDevice is for who holds s.appending.
func (s *Store) writeDevice(d keptDevice) error {
	text, err := json.Marshal(d)
	if err != nil {
		return err
	}
	if err := s.write(entry{append([]byte{'d'}, d.ID...), text}); err != nil {
		return err
	}
	s.devices.Lock()
	defer s.devices.Unlock()
	s.devices.byID[d.ID] = d
	return nil
}

// keptDevices are all with their hashes, for a backup.
func (s *Store) keptDevices() []keptDevice {
	s.devices.RLock()
	defer s.devices.RUnlock()
	return slices.SortedFunc(maps.Values(s.devices.byID), func(a, b keptDevice) int { return strings.Compare(a.ID, b.ID) })
}
