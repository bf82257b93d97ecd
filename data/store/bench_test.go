package store

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"needlesight/sync/change"
)

// inBatches appends as a phone brings: 200 records at a time, each batch on
// the disk before the next.
func inBatches(b *testing.B, s *Store, changes []change.Change) {
	for len(changes) > 0 {
		n := min(len(changes), 1200)
		if got, err := s.Append(changes[:n]); err != nil || len(got.Refused) > 0 {
			b.Fatal(got, err)
		}
		changes = changes[n:]
	}
}

// 10 000 records of 6 small fields, durably accepted by an empty store.
func BenchmarkAppend10000Records(b *testing.B) {
	r := noise(61)
	changes := parts(r, 10_000, someID(r), someID(r), 0)
	for b.Loop() {
		b.StopTimer()
		s := open(b, b.TempDir())
		b.StartTimer()
		inBatches(b, s, changes)
		b.StopTimer()
		s.Close()
		b.StartTimer()
	}
}

// The same 10 000 records once more, as after a restore: all are known.
func BenchmarkAppend10000KnownRecords(b *testing.B) {
	r := noise(61)
	changes := parts(r, 10_000, someID(r), someID(r), 0)
	s := open(b, b.TempDir())
	inBatches(b, s, changes)
	for b.Loop() {
		inBatches(b, s, changes)
	}
}

// One field of one record, durably.
func BenchmarkAppendOneChange(b *testing.B) {
	s, r := open(b, b.TempDir()), noise(62)
	id, device, counter := someID(r), someID(r), uint64(0)
	for b.Loop() {
		counter++
		if _, err := s.Append([]change.Change{set("part", id, "order", fmt.Sprint(counter%100), counter, device)}); err != nil {
			b.Fatal(err)
		}
	}
}

// All changes of 10 000 records, from a store that was opened again.
func BenchmarkAfter10000Records(b *testing.B) {
	dir, r := b.TempDir(), noise(61)
	s := open(b, dir)
	inBatches(b, s, parts(r, 10_000, someID(r), someID(r), 0))
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	s = open(b, dir)
	for b.Loop() {
		n := 0
		if err := s.After(0, 0, func(uint64, change.Change) error { n++; return nil }); err != nil || n != 60_000 {
			b.Fatal(n, err)
		}
	}
}

// A store of 1,000,000 records of 6 small fields: how long it takes to open
// and how large it is. Building it takes minutes, so this runs only with
// NEEDLESIGHT_MILLION=1 go test -run '^$' -bench Million -benchtime 5x ./data/store
func BenchmarkOpenMillionRecords(b *testing.B) {
	if os.Getenv("NEEDLESIGHT_MILLION") == "" {
		b.Skip("NOT RUN: NEEDLESIGHT_MILLION=1 builds the store of a million records that this opens")
	}
	dir, r := b.TempDir(), noise(63)
	s := open(b, dir)
	device, plain, asJSON, counter := someID(r), 0, 0, uint64(0)
	began := time.Now()
	var slowest time.Duration
	for range 1000 {
		changes := parts(r, 1000, device, someID(r), counter)
		counter += 1000
		for _, c := range changes {
			plain += len(c.Value)
			text, _ := json.Marshal(c)
			asJSON += len(text) + 1
		}
		plain += 1000 * len(device) // each record's id, once
		one := time.Now()
		inBatches(b, s, changes)
		slowest = max(slowest, time.Since(one))
	}
	b.Logf("built in %v; the slowest 1000 records took %v", time.Since(began).Round(time.Second), slowest)
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	disk := onDisk(b, dir)
	b.Logf("on disk %d bytes; ids and values alone are %d (%.2f times), as a file of changes %d (%.2f times)",
		disk, plain, float64(disk)/float64(plain), asJSON, float64(disk)/float64(asJSON))
	for b.Loop() {
		var err error
		if s, err = Open(dir, Options{}); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		s.Close()
		b.StartTimer()
	}
	b.StopTimer()
	s = open(b, dir)
	for _, step := range []struct {
		what string
		do   func() error
	}{
		{"Append of 1000 new records", func() error { _, err := s.Append(parts(r, 1000, device, device, counter)); return err }},
		{"Append of one new record by a device that was here long ago", func() error { _, err := s.Append(parts(r, 1, device, device, 1)); return err }},
		{"After, the last 1000 changes", func() error { return s.After(s.Last()-1000, 0, func(uint64, change.Change) error { return nil }) }},
		{"After, all", func() error { return s.After(0, 0, func(uint64, change.Change) error { return nil }) }},
		{"Walk", func() error { return s.Walk(func([]change.Change) error { return nil }) }},
	} {
		began := time.Now()
		if err := step.do(); err != nil {
			b.Fatal(step.what, err)
		}
		b.Logf("%s: %v", step.what, time.Since(began).Round(10*time.Microsecond))
	}
	if text, err := os.ReadFile("/proc/self/status"); err == nil {
		for line := range strings.Lines(string(text)) {
			if strings.HasPrefix(line, "VmRSS") || strings.HasPrefix(line, "VmHWM") {
				b.Log(strings.TrimSpace(line), "(of this process, test and all)")
			}
		}
	}
}

// onDisk is how many bytes all files in a folder hold.
func onDisk(tb testing.TB, dir string) (bytes int64) {
	tb.Helper()
	err := filepath.WalkDir(dir, func(_ string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		info, err := e.Info()
		if err == nil {
			bytes += info.Size()
		}
		return err
	})
	if err != nil {
		tb.Fatal(err)
	}
	return bytes
}
