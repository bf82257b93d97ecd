package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

func init() {
	playing["full"] = onSmallDisk(playFull)
	playing["flooded"] = onSmallDisk(playFlooded)
	playing["readonly"] = onSmallDisk(playReadOnly)
}

// smallDisk is the size of the disk (a tmpfs) that these tests fill.
const smallDisk = "96m"

const noMount = "cannot mount"

// onSmallDisk plays a part on a disk of its own, which is gone with the process.
func onSmallDisk(part func(dir string) error) func(string) error {
	return func(dir string) error {
		if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "mode=0700,size="+smallDisk); err != nil {
			return fmt.Errorf("%s: %w", noMount, err)
		}
		return part(dir)
	}
}

// onItsOwnDisk runs a part in a process that may mount: in a mount namespace
// of its own, and unless we are root, in a user namespace too. Where the
// system does not allow it, the test is skipped, and says so.
func onItsOwnDisk(t *testing.T, part string) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), partVar+"="+part, dirVar+"="+t.TempDir())
	if os.Getuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Unshareflags: syscall.CLONE_NEWNS}
	} else {
		cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
			UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
			GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	}
	out, err := cmd.CombinedOutput()
	said := strings.TrimSpace(string(out))
	switch {
	case err != nil && (strings.Contains(said, noMount) || errors.Is(err, syscall.EPERM)):
		t.Skipf("NOT RUN: this machine allows no disk of our own: %v %s", err, said)
	case err != nil:
		t.Fatalf("%v\n%s", err, said)
	}
	t.Log(said)
}

// A disk that fills up is told as full, before Badger is in danger; what was
// acked is there; what does not need room still works; and when there is room
// again, all goes on without opening anew.
func TestDiskFull(t *testing.T) { onItsOwnDisk(t, "full") }

func playFull(dir string) error {
	const reserve = 40 << 20
	s, err := Open(dir, Options{Reserve: reserve})
	if err != nil {
		return err
	}
	id, token, err := s.AddDevice("phone", time.Now())
	if err != nil {
		return err
	}
	filler := filepath.Join(dir, "filler")
	if err := fill(filler, dir, reserve+14<<20); err != nil {
		return err
	}
	r := noise(5)
	device, counter := someID(r), uint64(0)
	appendSome := func() error {
		_, err := s.Append(parts(r, 200, device, device, counter))
		counter += 200
		return err
	}
	for err = nil; err == nil && counter < 1e6; {
		err = appendSome()
	}
	if !errors.Is(err, ErrFull) {
		return fmt.Errorf("Append on a full disk gives %v", err)
	}
	fmt.Println("told after", s.Last(), "changes:", err)
	if _, err := putPicture(s, make([]byte, 20<<20)); !errors.Is(err, ErrFull) {
		return fmt.Errorf("PutPicture on a full disk gives %v", err)
	}
	if err := s.StrikeOff(id); err != nil {
		return fmt.Errorf("StrikeOff on a full disk gives %w", err)
	}
	if _, err := s.Authenticate(token); !errors.Is(err, ErrStruckOff) {
		return fmt.Errorf("Authenticate after StrikeOff gives %v", err)
	}
	last := s.Last()
	if err := s.Close(); err != nil {
		return err
	}
	again := filepath.Join(dir, "filler, too") // closing made room: Badger's files are in order
	if err := fill(again, dir, reserve+4<<20); err != nil {
		return err
	}
	if s, err = Open(dir, Options{Reserve: reserve}); err != nil {
		return fmt.Errorf("a store on a full disk does not open: %w", err)
	}
	if err := appendSome(); s.Last() != last || !errors.Is(err, ErrFull) {
		return fmt.Errorf("the store opened again has %d changes, not %d; Append gives %v", s.Last(), last, err)
	}
	if err := errors.Join(os.Remove(filler), os.Remove(again)); err != nil {
		return err
	}
	if err := appendSome(); err != nil {
		return fmt.Errorf("Append when there is room again gives %w", err)
	}
	report, err := s.Verify()
	if err != nil || len(report.Faults) > 0 || report.Changes != last+1200 {
		return fmt.Errorf("Verify finds %+v, %w", report, err)
	}
	return s.Close()
}

// fill writes a file that leaves about so many bytes of a disk free; 0 for none.
func fill(filler, dir string, leave int64) error {
	f, err := os.Create(filler)
	if err != nil {
		return err
	}
	defer f.Close()
	if free, err := freeBytes(dir); err == nil && leave == 0 {
		syscall.Fallocate(int(f.Fd()), 0, 0, free-1<<20) // at one stroke
		f.Seek(0, io.SeekEnd)
	}
	for piece := make([]byte, 1<<20); err == nil; {
		free, told := freeBytes(dir)
		if told != nil || leave > 0 && free <= leave {
			return told
		}
		if _, err = f.Write(piece); err != nil && len(piece) > 1 {
			piece, err = piece[:len(piece)/2], nil
		}
	}
	if leave == 0 && errors.Is(err, syscall.ENOSPC) {
		return nil
	}
	return err
}

// Another program floods the disk to its last byte while home writes, and
// gives it back a moment later. Home goes on by itself, or was ended by
// Badger, which writes through mapped memory. All that was acked is there.
func TestDiskFlooded(t *testing.T) { onItsOwnDisk(t, "flooded") }

func playFlooded(dir string) error {
	cmd := exec.Command(os.Args[0])
	home, filler := filepath.Join(dir, "home"), filepath.Join(dir, "filler")
	cmd.Env = append(os.Environ(), partVar+"=load", dirVar+"="+home)
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	w, flood := newWitness(), make(chan error, 1)
	var refusesToOpen error
	opened := false
	w.listen(out, func() {
		opened = true
		go func() {
			time.Sleep(100 * time.Millisecond)
			err := fill(filler, dir, 0)
			time.Sleep(300 * time.Millisecond)
			_, refusesToOpen = Open(filepath.Join(dir, "another"), Options{})
			err = errors.Join(err, os.Remove(filler))
			time.Sleep(300 * time.Millisecond)
			cmd.Process.Kill() // if it has not ended
			flood <- err
		}()
	})
	ended := cmd.Wait()
	if !opened {
		return fmt.Errorf("the child ended with %v %s", ended, w.err)
	}
	if err := <-flood; err != nil {
		return err
	}
	if !errors.Is(refusesToOpen, ErrFull) && !errors.Is(refusesToOpen, syscall.ENOSPC) {
		return fmt.Errorf("Open on a flooded disk gives %w", refusesToOpen)
	}
	// Home itself has filled the small disk by now; it is looked at where there is room to open it.
	roomy, err := os.MkdirTemp("", "flooded-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(roomy)
	if err := os.CopyFS(roomy, os.DirFS(home)); err != nil {
		return err
	}
	s, err := Open(roomy, Options{Reserve: 1 << 20})
	if err != nil {
		return fmt.Errorf("after a flood: %w", err)
	}
	fmt.Printf("the child ended with %v %s; %d batches and %d pictures were kept, %d times it was full\n", ended, w.err, len(w.kept), len(w.pictures), w.full)
	return errors.Join(w.check(s), s.Close())
}

// A disk that cannot be written to is told as such.
func TestReadOnlyDisk(t *testing.T) { onItsOwnDisk(t, "readonly") }

func playReadOnly(dir string) error {
	home := filepath.Join(dir, "home")
	s, err := Open(home, Options{Reserve: 1 << 20})
	if err != nil {
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		return err
	}
	for _, dir := range []string{home, filepath.Join(dir, "new")} {
		if _, err = Open(dir, Options{Reserve: 1 << 20}); !errors.Is(err, syscall.EROFS) || !strings.Contains(err.Error(), dir) {
			return fmt.Errorf("Open on a read-only disk gives %v", err)
		}
	}
	fmt.Println(err)
	return nil
}
