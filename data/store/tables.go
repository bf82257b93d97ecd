package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/dgraph-io/badger/v4"
	"github.com/dgraph-io/badger/v4/pb"
	"github.com/dgraph-io/badger/v4/table"
	"github.com/dgraph-io/badger/v4/y"
	"google.golang.org/protobuf/proto"
)

// checkTables looks at the end of each table that Badger is about to open.
// Badger ends the process at some that are damaged, and leaves others out
// without an error.
func checkTables(settings badger.Options) error {
	f, err := os.Open(filepath.Join(settings.Dir, badger.ManifestFilename))
	if errors.Is(err, fs.ErrNotExist) {
		return nil // Badger has not been here
	}
	if err != nil {
		return err
	}
	manifest, _, err := badger.ReplayManifestFile(f, settings.ExternalMagicVersion, settings)
	f.Close()
	if err != nil {
		return fmt.Errorf("its manifest: %w", err)
	}
	for id := range manifest.Tables { // others are left from a crash, and Badger removes them
		name := table.NewFilename(id, settings.Dir)
		if err := checkTable(name); err != nil {
			return fmt.Errorf("its table %s: %w", filepath.Base(name), err)
		}
	}
	return nil
}

// checkTable reads a table's index and the sum of it. They stand at its end:
// the index, its length in 4 bytes, its sum, the length of that in 4 bytes.
func checkTable(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	end, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	text, end, err := readBack(f, end)
	if err != nil {
		return err
	}
	index, _, err := readBack(f, end)
	if err != nil {
		return err
	}
	var sum pb.Checksum
	if err := proto.Unmarshal(text, &sum); err != nil {
		return err
	}
	return y.VerifyChecksum(index, &sum)
}

// readBack reads what ends at a place of a file with its length in 4 bytes,
// and tells where it begins.
func readBack(f io.ReaderAt, end int64) (b []byte, begin int64, err error) {
	var length [4]byte
	if end < 4 {
		return nil, 0, errors.New("it is cut off")
	}
	if _, err := f.ReadAt(length[:], end-4); err != nil {
		return nil, 0, err
	}
	begin = end - 4 - int64(binary.BigEndian.Uint32(length[:]))
	if begin < 0 {
		return nil, 0, errors.New("it is cut off")
	}
	b = make([]byte, end-4-begin)
	_, err = f.ReadAt(b, begin)
	return b, begin, err
}
