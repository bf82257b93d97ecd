package store

import (
	"bufio"
	"bytes"
	secret "crypto/rand"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"needlesight/sync/change"
)

func init() {
	playing["load"] = playLoad
	playing["restore"] = playRestore
}

// start runs this program again with a part to play, and gives what it says.
func start(t *testing.T, part, dir string) (*exec.Cmd, io.Reader) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), partVar+"="+part, dirVar+"="+dir)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, out
}

// playLoad appends and brings pictures from several goroutines until it is
// killed or something fails. It says "begin BATCH CHANGES", "kept BATCH" once
// Append has returned, and "picture HASH" once Commit has.
func playLoad(dir string) error {
	s, err := Open(dir, Options{Reserve: 1 << 20})
	if err != nil {
		return err
	}
	fmt.Println("open")
	failed := make(chan error)
	for range 3 {
		go func() { failed <- loadRecords(s) }()
	}
	go func() { failed <- loadPictures(s) }()
	return <-failed
}

func loadRecords(s *Store) error {
	r := rand.New(rand.NewPCG(rand.Uint64(), 1))
	device, counter := newID(), uint64(0)
	for {
		batch, n := newID(), 1+r.IntN(150)
		changes := parts(r, n, device, batch, counter)
		counter += uint64(n)
		fmt.Println("begin", batch, len(changes))
		got, err := s.Append(changes)
		if errors.Is(err, ErrFull) {
			fmt.Println("full")
			time.Sleep(10 * time.Millisecond)
			continue
		}
		if err != nil {
			return err
		}
		if got.Accepted != len(changes) {
			return fmt.Errorf("%d of %d changes were accepted", got.Accepted, len(changes))
		}
		fmt.Println("kept", batch)
	}
}

func loadPictures(s *Store) error {
	for {
		picture := make([]byte, 10_000+rand.IntN(300_000))
		secret.Read(picture) // never fails
		hash, err := putPicture(s, picture)
		if errors.Is(err, ErrFull) || errors.Is(err, syscall.ENOSPC) {
			fmt.Println("full")
			time.Sleep(10 * time.Millisecond)
			continue
		}
		if err != nil {
			return err
		}
		fmt.Println("picture", hash)
	}
}

// witness holds what a child has said.
type witness struct {
	begun    map[string]int
	kept     map[string]bool
	pictures map[string]bool
	full     int // how often the disk was full
	err      string
}

func newWitness() *witness {
	return &witness{begun: map[string]int{}, kept: map[string]bool{}, pictures: map[string]bool{}}
}

// listen takes down what a child says, until it says no more. Opened is called
// when its store is open.
func (w *witness) listen(out io.Reader, opened func()) {
	for lines := bufio.NewScanner(out); lines.Scan(); {
		switch words := strings.Fields(lines.Text()); {
		case len(words) == 1 && words[0] == "open":
			opened()
		case len(words) == 1 && words[0] == "full":
			w.full++
		case len(words) == 3 && words[0] == "begin":
			w.begun[words[1]], _ = strconv.Atoi(words[2])
		case len(words) == 2 && words[0] == "kept":
			w.kept[words[1]] = true
		case len(words) == 2 && words[0] == "picture" && IsHash(words[1]):
			w.pictures[words[1]] = true
		case len(words) > 0 && words[0] == "error":
			w.err = lines.Text()
		}
	}
}

// check compares a store with what a child has said of it.
func (w *witness) check(s *Store) error {
	found := map[string]int{} // changes by batch, which is their project
	batchOf := map[string]string{}
	err := s.After(0, 0, func(_ uint64, c change.Change) error {
		if c.Field == "project" {
			batchOf[c.ID] = strings.Trim(string(c.Value), `"`)
		}
		found[batchOf[c.ID]]++
		return nil
	})
	if err != nil {
		return err
	}
	for batch, n := range w.begun {
		if found[batch] != n && (found[batch] > 0 || w.kept[batch]) {
			return fmt.Errorf("%d changes are there of a batch of %d; kept, it was said: %v", found[batch], n, w.kept[batch])
		}
	}
	for hash := range w.pictures {
		if !s.HasPicture(hash) {
			return fmt.Errorf("the picture %s is gone", hash)
		}
	}
	report, err := s.Verify() // which reads every picture
	if err == nil && len(report.Faults) > 0 {
		err = fmt.Errorf("faults: %q", report.Faults)
	}
	return err
}

// rounds is how often something is done: few times, unless a variable says
// how often.
func rounds(t *testing.T, variable string, few int) int {
	n, err := strconv.Atoi(os.Getenv(variable))
	if err != nil {
		t.Logf("%d rounds; %s=200 (or another number) does more, which is not done by default", few, variable)
		return few
	}
	return n
}

// A process with a store is killed (kill -9) at a random moment while four
// goroutines write to it, and the store is opened again. All that was said to
// be kept must be there, and nothing in part. 3 rounds by default;
// NEEDLESIGHT_KILLS=200 go test -run TestKilled ./data/store does 200.
//
// Killing a process leaves the system's cache of the disk: this does not show
// what a power cut leaves. That rests on Append and Commit syncing to disk
// before they return.
func TestKilledAtAnyMoment(t *testing.T) {
	n := rounds(t, "NEEDLESIGHT_KILLS", 3)
	var dir string
	var w *witness
	slowest := time.Duration(0)
	batches, pictures := 0, 0
	for i := range n {
		if i%20 == 0 { // one store is killed twenty times
			dir, w = t.TempDir(), newWitness()
		}
		batches, pictures = batches-len(w.kept), pictures-len(w.pictures)
		after := time.Duration(rand.IntN(400)) * time.Millisecond
		cmd, out := start(t, "load", dir)
		var kill sync.Once
		time.AfterFunc(20*time.Second, func() { kill.Do(func() { cmd.Process.Kill() }) })
		w.listen(out, func() {
			time.AfterFunc(after, func() { kill.Do(func() { cmd.Process.Kill() }) })
		})
		if err := cmd.Wait(); w.err != "" || err == nil {
			t.Fatalf("round %d: the child ended with %v, %s", i, err, w.err)
		}
		began := time.Now()
		s, err := Open(dir, Options{})
		if err != nil {
			t.Fatalf("round %d, killed after %v: %v", i, after, err)
		}
		slowest = max(slowest, time.Since(began))
		if err := errors.Join(w.check(s), s.Close()); err != nil {
			t.Fatalf("round %d, killed after %v: %v", i, after, err)
		}
		batches, pictures = batches+len(w.kept), pictures+len(w.pictures)
	}
	if batches == 0 || pictures == 0 {
		t.Errorf("%d batches and %d pictures were kept before a kill, so nothing was tried", batches, pictures)
	}
	t.Logf("%d kills: all of %d kept batches and %d kept pictures are there; slowest to open again: %v", n, batches, pictures, slowest)
}

// playRestore restores a backup over a store, again and again.
func playRestore(dir string) error {
	backup, err := os.ReadFile(dir + ".zip")
	if err != nil {
		return err
	}
	for {
		done, err := Restore(dir, bytes.NewReader(backup), int64(len(backup)), true, Options{})
		if err != nil {
			return err
		}
		fmt.Println("open")
		if err := os.RemoveAll(done.Replaced); err != nil {
			return err
		}
	}
}

// A restore over a store is killed at a random moment: there is a whole store
// afterwards, the old or the new. 3 rounds by default;
// NEEDLESIGHT_RESTORE_KILLS=200 go test -run TestRestoreKilled ./data/store
// does 200.
func TestRestoreKilled(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "home")
	s := open(t, dir)
	r := noise(3)
	keep(t, s, parts(r, 300, someID(r), someID(r), 0)...)
	if _, err := putPicture(s, make([]byte, 100_000)); err != nil {
		t.Fatal(err)
	}
	var backup bytes.Buffer
	if _, err := s.Backup(&backup, time.Now()); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.Close(), os.WriteFile(dir+".zip", backup.Bytes(), 0o600)); err != nil {
		t.Fatal(err)
	}
	restored := 0
	for i := range rounds(t, "NEEDLESIGHT_RESTORE_KILLS", 3) {
		after := time.Duration(rand.IntN(300)) * time.Millisecond
		cmd, out := start(t, "restore", dir)
		w := newWitness()
		time.AfterFunc(after+20*time.Millisecond, func() { cmd.Process.Kill() })
		w.listen(out, func() { restored++ })
		if cmd.Wait(); w.err != "" {
			t.Fatalf("round %d: %s", i, w.err)
		}
		s, err := Open(dir, Options{})
		if err != nil {
			t.Fatalf("round %d, killed after %v: %v", i, after, err)
		}
		if report := expectSound(t, s); report.Changes != 1800 || report.Pictures != 1 {
			t.Fatalf("round %d, killed after %v: %+v", i, after, report)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d restores came to their end before a kill", restored)
}
