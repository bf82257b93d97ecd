package store

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"needlesight/sync/change"
)

func somePicture(r *rand.Rand, n int) (picture []byte, hash string) {
	picture = make([]byte, n)
	for i := range picture {
		picture[i] = byte(r.Uint32())
	}
	hash, _ = hashOf(bytes.NewReader(picture))
	return picture, hash
}

func TestPictureNames(t *testing.T) {
	// FIPS 180-4's example: the SHA-256 of "abc".
	const abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if hash, err := hashOf(strings.NewReader("abc")); err != nil || hash != abc {
		t.Errorf("the hash of abc is %s, %v", hash, err)
	}
	s := open(t, t.TempDir())
	if _, err := putPicture(s, []byte("abc")); err != nil || !s.HasPicture(abc) {
		t.Error(err)
	}
	for _, bad := range []string{"", "..", "../../lock", abc[:63], abc + "0", strings.ToUpper(abc), "../" + abc[3:], abc[:62] + "/x", abc[:63] + "\x00", strings.Repeat("é", 32), "sha256:" + abc} {
		_, opened := s.OpenPicture(bad)
		_, put := s.PutPicture(bad)
		if s.HasPicture(bad) || opened != ErrHash || put != ErrHash {
			t.Errorf("%q: %v, %v", bad, opened, put)
		}
	}
}

func TestPictureResumesAtAnyByte(t *testing.T) {
	dir, r := t.TempDir(), noise(31)
	s := open(t, dir)
	for range 3 {
		picture, hash := somePicture(r, 1+r.IntN(300_000))
		for sent := int64(0); ; {
			w, err := s.PutPicture(hash)
			if err != nil || w.Offset() != sent {
				t.Fatalf("after %d bytes it goes on at %d, %v", sent, w.Offset(), err)
			}
			if s.HasPicture(hash) {
				t.Fatal("it is there before it is whole")
			}
			if sent == int64(len(picture)) {
				if err := w.Commit(); err != nil {
					t.Fatal(err)
				}
				break
			}
			n := 1 + r.Int64N(int64(len(picture))-sent)
			if _, err := w.Write(picture[sent : sent+n]); err != nil {
				t.Fatal(err)
			}
			sent += n
			if err := w.Close(); err != nil {
				t.Fatal(err)
			}
			if r.IntN(4) == 0 {
				if err := s.Close(); err != nil {
					t.Fatal(err)
				}
				s = open(t, dir)
			}
		}
		f, err := s.OpenPicture(hash)
		if err != nil {
			t.Fatal(err)
		}
		got, err := io.ReadAll(f)
		f.Close()
		if err != nil || !bytes.Equal(got, picture) {
			t.Errorf("%d bytes came back as %d, %v", len(picture), len(got), err)
		}
		if _, err := s.PutPicture(hash); err != ErrHavePicture {
			t.Errorf("brought again: %v", err)
		}
	}
	parts, err := os.ReadDir(filepath.Join(dir, "pictures", "part"))
	if err != nil || len(parts) > 0 {
		t.Errorf("%v is left, %v", parts, err)
	}
}

func TestPictureIsCheckedBeforeItIsUsed(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(32)
	picture, hash := somePicture(r, 50_000)
	bring := func(bytes []byte) error {
		w, err := s.PutPicture(hash)
		if err != nil {
			return err
		}
		if w.Offset() != 0 {
			t.Errorf("it goes on at %d", w.Offset())
		}
		if _, err := w.Write(bytes); err != nil {
			return err
		}
		return errors.Join(w.Commit(), w.Close())
	}
	other := slices.Clone(picture)
	other[49_999] ^= 1
	for _, bad := range [][]byte{other, picture[1:], picture[:49_999], {}} {
		if err := bring(bad); !errors.Is(err, ErrWrongPicture) || s.HasPicture(hash) {
			t.Errorf("another picture of %d bytes: %v", len(bad), err)
		}
	}
	if _, err := s.OpenPicture(hash); !errors.Is(err, ErrNoPicture) {
		t.Errorf("a picture that is not there: %v", err)
	}
	if err := bring(picture); err != nil || !s.HasPicture(hash) {
		t.Errorf("the picture itself: %v", err)
	}
	w, err := s.PutPicture(strings.Repeat("0", 64))
	if err != nil {
		t.Fatal(err)
	}
	w.offset = MaxPicture - 1
	if _, err := w.Write([]byte("ab")); err != ErrLargePicture {
		t.Errorf("too large: %v", err)
	}
	if err := errors.Join(w.Close(), w.Close()); err != nil {
		t.Error(err)
	}
	if err := w.Commit(); err != fs.ErrClosed {
		t.Errorf("Commit after Close gives %v", err)
	}
}

func TestPictureFromSeveralDevicesAtOnce(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(33)
	picture, hash := somePicture(r, 200_000)
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			for {
				_, err := putPicture(s, picture)
				switch err {
				case nil, ErrHavePicture:
					return
				case ErrBusyPicture:
					time.Sleep(time.Millisecond)
				default:
					t.Error(err)
					return
				}
			}
		})
	}
	group.Wait()
	if report := expectSound(t, s); report.Pictures != 1 || !s.HasPicture(hash) {
		t.Errorf("%+v", report)
	}
}

func TestReferences(t *testing.T) {
	a, b := strings.Repeat("a", 64), strings.Repeat("b", 64)
	for value, want := range map[string][]string{
		`"sha256:` + a + `"`: {a},
		`["x","sha256:` + a + `",{"n":"sha256:` + b + `"}]`: {a, b},
		`{"sha256:` + a + `":1}`:                            nil,
		`"see sha256:` + a + `"`:                            nil,
		`"sha256:` + a[1:] + `"`:                            nil,
		`"SHA256:` + a + `"`:                                nil,
		`"` + a + `"`:                                       nil,
		`"sha256:` + a:                                      nil,
		`3`:                                                 nil,
	} {
		if got := References([]byte(value)); !slices.Equal(got, want) {
			t.Errorf("%s refers to %v, want %v", value, got, want)
		}
	}
}

// picturing is a record that refers to a picture. (Its name does: it is any
// text that counts.)
func picturing(id, hash string, counter uint64, device string) change.Change {
	return set("piece", id, "name", `"sha256:`+hash+`"`, counter, device)
}

func TestSweep(t *testing.T) {
	dir, r := t.TempDir(), noise(34)
	s := open(t, dir)
	device, project, binnedProject, piece := someID(r), someID(r), someID(r), someID(r)
	hashes := map[string]string{}
	for _, name := range []string{"referred", "apart", "replaced", "never", "binned", "of a binned project", "asked for", "later"} {
		_, hashes[name] = somePicture(r, 1000)
	}
	r = noise(34)
	for range 4 {
		someID(r)
	}
	for range hashes {
		picture, _ := somePicture(r, 1000)
		if _, err := putPicture(s, picture); err != nil {
			t.Fatal(err)
		}
	}
	half, halfHash := somePicture(r, 1000)
	w, err := s.PutPicture(halfHash)
	if err != nil {
		t.Fatal(err)
	}
	w.Write(half[:500])
	w.Close()
	second := picturing(piece, hashes["apart"], 2, "aaaaaaaaaaaaaaaa") // made without sight of the first
	replaced, referred := someID(r), someID(r)
	newer := set("piece", replaced, "name", `"no picture"`, 9, device)
	newer.Base.Counter, newer.Base.Device = 8, device
	inBin, inBinnedProject := someID(r), someID(r)
	keep(t, s,
		set("project", project, "name", `"otter"`, 1, device), set("project", binnedProject, "name", `"owl"`, 1, device), set("project", binnedProject, "binned", `"2026-11-01"`, 2, device),
		picturing(piece, hashes["referred"], 3, device), second, set("piece", piece, "project", `"`+project+`"`, 3, device),
		picturing(replaced, hashes["replaced"], 8, device), newer,
		picturing(inBin, hashes["binned"], 10, device), set("piece", inBin, "binned", `"1970-01-01"`, 11, device), // by a phone with a wrong date
		picturing(inBinnedProject, hashes["of a binned project"], 12, device), set("piece", inBinnedProject, "project", `"`+binnedProject+`"`, 13, device))

	there := func() (names []string) {
		for name, hash := range hashes {
			if s.has(hash) {
				names = append(names, name)
			}
		}
		slices.Sort(names)
		return names
	}
	sweep := func(now time.Time, want int) {
		t.Helper()
		if removed, err := s.Sweep(now); err != nil || removed != want {
			t.Fatalf("Sweep at %v removes %d, want %d; %v; left are %v", now, removed, want, err, there())
		}
	}
	now := noon
	sweep(now, 0)
	sweep(now.AddDate(40, 0, 0), 0) // the clock jumps: that is a day
	sweep(now.AddDate(-40, 0, 0), 0)
	sweep(now, 0) // and another
	for day := 1; day < 28; day++ {
		now = now.Add(24 * time.Hour)
		sweep(now, 0)
		if day == 10 {
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			s = open(t, dir)
		}
	}
	s.HasPicture(hashes["asked for"])
	keep(t, s, picturing(referred, hashes["later"], 20, device))
	now = now.Add(23 * time.Hour)
	sweep(now, 0)
	now = now.Add(2 * time.Hour)
	sweep(now, 5) // replaced, never, binned, of a binned project, and the half
	if got, want := there(), []string{"apart", "asked for", "later", "referred"}; !slices.Equal(got, want) {
		t.Errorf("left are %v, want %v", got, want)
	}
	if parts, err := os.ReadDir(filepath.Join(dir, "pictures", "part")); err != nil || len(parts) > 0 {
		t.Errorf("in part there are %v, %v", parts, err)
	}
	for day := 1; day < 30; day++ {
		now = now.Add(24 * time.Hour)
		sweep(now, 0)
	}
	now = now.Add(24 * time.Hour)
	sweep(now, 1) // what was asked for, 30 days and some hours ago
	if got, want := there(), []string{"apart", "later", "referred"}; !slices.Equal(got, want) {
		t.Errorf("in the end left are %v, want %v", got, want)
	}
	expectSound(t, s)
}

// A damaged log must not make pictures look unreferred to.
func TestSweepOfADamagedLogRemovesNothing(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(35)
	picture, hash := somePicture(r, 1000)
	if _, err := putPicture(s, picture); err != nil {
		t.Fatal(err)
	}
	id, device := someID(r), someID(r)
	keep(t, s, picturing(id, hash, 1, device))
	if err := s.write(entry{key: recordKey(record{"piece", id}, 1)}); err != nil {
		t.Fatal(err)
	}
	for day := range 40 {
		if removed, err := s.Sweep(noon.AddDate(0, 0, day)); removed > 0 || !errors.Is(err, ErrDamaged) {
			t.Fatalf("day %d: %d are removed, %v", day, removed, err)
		}
	}
}
