package store

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/dgraph-io/badger/v4"

	"needlesight/data"
)

var noon = time.Date(2026, 11, 25, 12, 0, 30, 0, time.UTC)

func TestDevices(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	id, token, err := s.AddDevice("a phone", noon)
	if err != nil || !data.IsID(id) {
		t.Fatal(id, err)
	}
	tablet, tabletToken, err := s.AddDevice("tablet", noon.Add(time.Hour))
	if err != nil || tablet == id || tabletToken == token {
		t.Fatal(tablet, err)
	}
	minute := noon.Truncate(time.Minute)
	if d, err := s.Authenticate(token); err != nil || !reflect.DeepEqual(d, Device{ID: id, Name: "a phone", Added: minute, Seen: minute}) {
		t.Errorf("Authenticate gives %+v, %v", d, err)
	}
	for _, bad := range []string{"", ".", id, id + ".", token + "A", token[:len(token)-1], strings.ToUpper(token), tablet + token[16:], "aaaaaaaaaaaaaaaa" + token[16:]} {
		if d, err := s.Authenticate(bad); err != ErrToken || !reflect.DeepEqual(d, Device{}) {
			t.Errorf("Authenticate(%q) gives %+v, %v", bad, d, err)
		}
	}
	later := noon.Add(48 * time.Hour)
	if err := errors.Join(s.Touch(id, later), s.Rename(id, "phone"), s.StrikeOff(tablet)); err != nil {
		t.Error(err)
	}
	for i := range maxMakes + 2 { // and one of them twice, and one that is none
		stamps := strings.Repeat(string(rune('a'+i)), 16)
		if err := errors.Join(s.Made(id, stamps), s.Made(id, stamps), s.Made(id, "nobody")); err != nil {
			t.Fatal(err)
		}
	}
	for _, again := range []bool{false, true} {
		if again {
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			s = open(t, dir)
		}
		if d, err := s.Authenticate(token); err != nil || d.Name != "phone" || !d.Seen.Equal(later.Truncate(time.Minute)) {
			t.Errorf("opened again %v: %+v, %v", again, d, err)
		} else if n := len(d.Makes); n != maxMakes || d.Makes[n-1] != strings.Repeat("j", 16) {
			t.Errorf("opened again %v: it makes stamps as %q", again, d.Makes)
		}
		if d, err := s.Authenticate(tabletToken); err != ErrStruckOff || d.ID != tablet || !d.Struck {
			t.Errorf("opened again %v: struck off, %+v, %v", again, d, err)
		}
		if list := s.Devices(); len(list) != 2 || list[0].ID != id || list[1].ID != tablet {
			t.Errorf("opened again %v: the devices are %+v", again, list)
		}
	}
	for _, name := range []string{"", " ", "a\nb", strings.Repeat("n", data.MaxText+1), "\xff"} {
		if err := s.Rename(id, name); err != ErrDeviceName {
			t.Errorf("Rename to %q gives %v", name, err)
		}
		if _, _, err := s.AddDevice(name, noon); err != ErrDeviceName {
			t.Errorf("AddDevice(%q) gives %v", name, err)
		}
	}
	for _, err := range []error{s.Rename("aaaaaaaaaaaaaaaa", "x"), s.StrikeOff(""), s.Touch("x", noon)} {
		if err != ErrNoDevice {
			t.Errorf("without a device: %v", err)
		}
	}
}

func TestTokensAreNotKept(t *testing.T) {
	s := open(t, t.TempDir())
	id, token, err := s.AddDevice("phone", noon)
	if err != nil {
		t.Fatal(err)
	}
	var backup bytes.Buffer
	if _, err := s.Backup(&backup, noon); err != nil {
		t.Fatal(err)
	}
	kept := unzipped(t, backup.Bytes())
	err = s.db.View(func(txn *badger.Txn) error {
		return each(txn, nil, func(key, value []byte) error {
			kept = append(append(kept, key...), value...)
			return nil
		})
	})
	secret := strings.TrimPrefix(token, id+".")
	if err != nil || bytes.Count(kept, []byte(id)) < 3 || len(secret) < 43 || bytes.Contains(kept, []byte(secret)) {
		t.Errorf("the token %s is kept, or the device is not; %v", token, err)
	}
}

func TestTouchWritesOnceAMinute(t *testing.T) {
	s := open(t, t.TempDir())
	id, _, err := s.AddDevice("phone", noon)
	if err != nil {
		t.Fatal(err)
	}
	s.failed = errors.New("it wrote") // from now on each write fails
	if err := s.Touch(id, noon.Add(20*time.Second)); err != nil {
		t.Errorf("within the minute: %v", err)
	}
	if err := s.Touch(id, noon.Add(time.Minute)); err == nil {
		t.Error("a minute later it did not write")
	}
}

func TestTooManyDevices(t *testing.T) {
	s := open(t, t.TempDir())
	for i := range MaxDevices {
		id := fmt.Sprintf("aaaaaaaaaaaaa%c%c%c", 'a'+i/100, 'a'+i/10%10, 'a'+i%10)
		s.devices.byID[id] = keptDevice{Device: Device{ID: id}}
	}
	if _, _, err := s.AddDevice("one more", noon); err != ErrDevices {
		t.Errorf("one more gives %v", err)
	}
}

func TestPairingCodes(t *testing.T) {
	s := open(t, t.TempDir())
	wrong := func(code string) string { // another code that fits together
		digits := "00000000"
		if code[:8] == digits {
			digits = "11111111"
		}
		return digits + string(checkDigit(digits))
	}
	code := s.NewCode(noon)
	if len(code) != 9 {
		t.Fatalf("the code is %q", code)
	}
	if err := s.Redeem(wrong(code), noon); err != ErrCodeWrong {
		t.Errorf("a wrong code gives %v", err)
	}
	if err := s.Redeem(code[:3]+" "+code[3:6]+"-"+code[6:], noon.Add(CodeLife-time.Second)); err != nil {
		t.Errorf("the code gives %v", err)
	}
	if err := s.Redeem(code, noon); err != ErrCodeWrong {
		t.Errorf("the code a second time gives %v", err)
	}

	code = s.NewCode(noon)
	if err := s.Redeem(code, noon.Add(CodeLife)); err != ErrCodeWrong {
		t.Errorf("after five minutes: %v", err)
	}
	code = s.NewCode(noon)
	if err := s.Redeem(code, noon.Add(-time.Hour)); err != ErrCodeWrong {
		t.Errorf("with the clock put back: %v", err)
	}

	code = s.NewCode(noon)
	for range 100 { // mistyped codes are no tries
		for _, typed := range []string{"", "1", code + "0", code[:8], code[:8] + string('0'+(code[8]-'0'+1)%10), "aaaaaaaaa", "１２３４５６７８９"} {
			if err := s.Redeem(typed, noon); err != ErrCodeMistyped {
				t.Fatalf("%q gives %v", typed, err)
			}
		}
	}
	for i := range CodeTries {
		if err := s.Redeem(wrong(code), noon); err != ErrCodeWrong {
			t.Errorf("wrong code %d gives %v", i, err)
		}
	}
	if err := s.Redeem(code, noon); err != ErrCodeWrong {
		t.Errorf("after %d wrong ones the right one gives %v", CodeTries, err)
	}
	a, b := s.NewCode(noon), s.NewCode(noon) // two devices at once
	if err := errors.Join(s.Redeem(b, noon), s.Redeem(a, noon)); a == b || err != nil {
		t.Errorf("two codes: %v", err)
	}
}

// Who guesses gains nothing by waiting for another code to be shown.
func TestWrongCodesCountForAll(t *testing.T) {
	s := open(t, t.TempDir())
	first := s.NewCode(noon)
	shown := map[string]bool{first: true}
	for i, tries := 0, 0; tries < CodeTries; i++ {
		shown[s.NewCode(noon)] = true
		digits := fmt.Sprintf("%08d", i)
		guess := digits + string(checkDigit(digits))
		if shown[guess] {
			continue // by chance
		}
		if err := s.Redeem(guess, noon); err != ErrCodeWrong {
			t.Errorf("%s gives %v", guess, err)
		}
		tries++
	}
	if err := s.Redeem(first, noon); err != ErrCodeWrong {
		t.Errorf("the first code gives %v", err)
	}
}

// Damm's own example and what he proves: H. M. Damm, Total anti-symmetrische
// Quasigruppen, Marburg 2004. That 572 gets the check digit 4 is told of it in
// many places; all errors are tried here.
func TestCheckDigit(t *testing.T) {
	if got := checkDigit("572"); got != '4' {
		t.Errorf("the check digit of 572 is %c, want 4", got)
	}
	fits := func(d []byte) bool { return checkDigit(string(d[:len(d)-1])) == d[len(d)-1] }
	for n := range 10_000 { // each pair of neighbours in each state stands in one of these
		code := fmt.Appendf(nil, "%04d", n)
		code = append(code, checkDigit(string(code)))
		if !fits(code) {
			t.Fatalf("%s does not fit", code)
		}
		for i := range code {
			right := code[i]
			for d := byte('0'); d <= '9'; d++ {
				if code[i] = d; d != right && fits(code) {
					t.Fatalf("one wrong digit makes %s, which fits", code)
				}
			}
			code[i] = right
			if i > 0 && code[i] != code[i-1] {
				code[i], code[i-1] = code[i-1], code[i]
				if fits(code) {
					t.Fatalf("a swap makes %s, which fits", code)
				}
				code[i], code[i-1] = code[i-1], code[i]
			}
		}
	}
}
