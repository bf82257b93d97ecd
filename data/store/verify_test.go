package store

import (
	"strings"
	"testing"

	"needlesight/sync/change"
)

func TestVerifyFindsNothingWrong(t *testing.T) {
	dir, r := t.TempDir(), noise(51)
	s := open(t, dir)
	project, device := someID(r), someID(r)
	keep(t, s, set("project", project, "name", `"otter"`, 1, device))
	keep(t, s, parts(r, 10, device, project, 1)...)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	report, err := Verify(dir, Options{})
	if err != nil || len(report.Faults) > 0 || len(report.Missing) > 0 || report.Changes != 61 || report.Records != 11 {
		t.Errorf("%+v, %v", report, err)
	}
}

func TestVerifyFindsWhatIsWrong(t *testing.T) {
	r := noise(52)
	device, id, lost := someID(r), someID(r), strings.Repeat("a", 64)
	for what, break_ := range map[string]func(s *Store) entry{
		"cannot be read: a text is cut off": func(s *Store) entry {
			return entry{recordKey(record{"part", id}, 2), []byte("\x01" + rawID(device) + "\x01\x09name")}
		},
		"cannot be found": func(s *Store) entry { return entry{key: recordKey(record{"part", id}, 2)} },
		"the log names": func(s *Store) entry {
			return entry{recordKey(record{"part", device}, 2), encodeRecord(parts(r, 1, device, device, 0))}
		},
		"are missing from the log":      func(s *Store) entry { return entry{key: logKey(3)} },
		"after number 0 comes number 3": func(s *Store) entry { return entry{key: logKey(2)} },
		"the numbers do not add up":     func(s *Store) entry { return entry{logKey(2), []byte("\x01\x09\x04part" + rawID(id))} },
		"breaks a rule":                 func(s *Store) entry { return entry{recordKey(record{"part", id}, 3), badValue(id, device)} },
		"contradicts itself":            func(s *Store) entry { return entry{recordKey(record{"part", id}, 3), otherValue(id, device)} },
	} {
		s := open(t, t.TempDir())
		keep(t, s, set("part", id, "name", `"tail"`, 1, device), set("part", id, "nailed", "true", 2, device))
		keep(t, s, set("part", id, "order", "3", 3, device))
		if err := s.write(break_(s)); err != nil {
			t.Fatal(err)
		}
		report, err := s.Verify()
		if err != nil || !strings.Contains(strings.Join(report.Faults, "; "), what) {
			t.Errorf("%s: %q, %v", what, report.Faults, err)
		}
	}
	s := open(t, t.TempDir())
	keep(t, s, set("part", id, "project", `"`+lost[:16]+`"`, 1, device), set("part", id, "name", `"sha256:`+lost+`"`, 2, device))
	report, err := s.Verify()
	if err != nil || len(report.Faults) > 0 || len(report.Missing) != 2 || !strings.Contains(report.Missing[0], lost) || !strings.Contains(report.Missing[1], lost[:16]) {
		t.Errorf("%+v, %v", report, err)
	}
}

func badValue(id, device string) []byte {
	return encodeRecord([]change.Change{set("part", id, "order", `"three"`, 3, device)})
}

func otherValue(id, device string) []byte {
	return encodeRecord([]change.Change{set("part", id, "name", `"head"`, 1, device)})
}

func TestVerifyNamesNoMoreThanAPersonReads(t *testing.T) {
	s, r := open(t, t.TempDir()), noise(53)
	keep(t, s, parts(r, 2*MaxFaults, someID(r), someID(r), 0)...)
	report, err := s.Verify()
	if err != nil || len(report.Missing) != MaxFaults || report.More != MaxFaults {
		t.Errorf("%d are named, %d more; %v", len(report.Missing), report.More, err)
	}
}
