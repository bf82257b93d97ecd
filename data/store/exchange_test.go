package store

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"testing"
)

// filed is a file in a zip that a test makes.
type filed struct {
	name, text string
	mode       fs.FileMode
}

// zipped makes a zip; with sums, SHA256SUMS is as it should be.
func zipped(t *testing.T, sums bool, files ...filed) []byte {
	t.Helper()
	var out, list bytes.Buffer
	z := zip.NewWriter(&out)
	if sums {
		for _, f := range files {
			fmt.Fprintf(&list, "%x  %s\n", sha256.Sum256([]byte(f.text)), f.name)
		}
		files = append(files, filed{sumsName, list.String(), 0})
	}
	for _, f := range files {
		header := &zip.FileHeader{Name: f.name, Method: zip.Deflate}
		header.SetMode(f.mode)
		w, err := z.CreateHeader(header)
		if err == nil {
			_, err = w.Write([]byte(f.text))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const noChanges = `{"format":"needlesight-changes","version":1,"made":"2026-11-25T10:00","changes":[]}`

func TestTricksWithFilesAreRefused(t *testing.T) {
	s := open(t, t.TempDir())
	ours := filed{firstName, noChanges, 0o600}
	picture := func(text, name string) filed { return filed{picturesFolder + name, text, 0o600} }
	sum := fmt.Sprintf("%x", sha256.Sum256([]byte("wool")))
	whole := zipped(t, true, ours, picture("wool", sum))
	for name, file := range map[string][]byte{
		"not a zip":          []byte("wool"),
		"nothing":            {},
		"cut off":            whole[:len(whole)-30],
		"a path upwards":     zipped(t, true, ours, filed{"../changes.json", "x", 0}),
		"an absolute path":   zipped(t, true, ours, filed{"/etc/passwd", "x", 0}),
		"a folder":           zipped(t, true, ours, filed{"pictures/", "", fs.ModeDir}),
		"a link":             zipped(t, true, ours, filed{picturesFolder + sum, "wool", fs.ModeSymlink | 0o777}),
		"a stranger":         zipped(t, true, ours, filed{"readme.txt", "x", 0}),
		"a name twice":       zipped(t, false, ours, ours, filed{sumsName, "", 0}),
		"no changes":         zipped(t, true, picture("wool", sum)),
		"no sums":            zipped(t, false, ours),
		"a wrong sum":        zipped(t, false, ours, filed{sumsName, strings.Repeat("0", 64) + "  " + firstName + "\n", 0}),
		"a sum of nothing":   zipped(t, false, ours, filed{sumsName, fmt.Sprintf("%x  %s\n%x  changes-2.json\n", sha256.Sum256([]byte(noChanges)), firstName, sha256.Sum256(nil)), 0}),
		"a file with no sum": zipped(t, false, ours, picture("wool", sum), filed{sumsName, fmt.Sprintf("%x  %s\n", sha256.Sum256([]byte(noChanges)), firstName), 0}),
		"another picture":    zipped(t, true, ours, picture("silk", sum)),
		"a bomb":             zipped(t, true, filed{firstName, noChanges + strings.Repeat(" ", maxChanges), 0}),
		"a bad change":       zipped(t, true, filed{firstName, strings.Replace(noChanges, "[]", `[{}]`, 1), 0}),
		"one of two is bad":  zipped(t, true, filed{firstName, exampleFile(t), 0}, filed{"changes-2.json", "{", 0}),
		"a backup":           zipped(t, true, ours, filed{manifestName, "{}", 0}),
	} {
		if r, err := s.Import(bytes.NewReader(file), int64(len(file))); !errors.Is(err, ErrNotExchange) {
			t.Errorf("%s: %+v, %v", name, r, err)
		}
	}
	if n, err := s.Pictures(); s.Last() != 0 || n != 0 || err != nil {
		t.Errorf("of what was refused home took %d changes, %d pictures, %v", s.Last(), n, err)
	}
	if r, err := s.Import(bytes.NewReader(whole), int64(len(whole))); err != nil || r.Pictures != 1 {
		t.Errorf("the whole one: %+v, %v", r, err)
	}
}

// exampleFile is a file of one change.
func exampleFile(t *testing.T) string {
	t.Helper()
	return strings.Replace(noChanges, "[]", `[{"kind":"project","id":"otterotterotter2","field":"name","value":"Otter","stamp":[1,"aaaaaaaaaaaaaaaa"],"base":null}]`, 1)
}

func TestAFileOfOneAnimalHoldsNoOther(t *testing.T) {
	from, to := open(t, t.TempDir()), open(t, t.TempDir())
	whole := zipped(t, true, filed{firstName, strings.Replace(noChanges, "[]", `[
		{"kind":"project","id":"otterotterotter2","field":"name","value":"Otter","stamp":[1,"aaaaaaaaaaaaaaaa"],"base":null},
		{"kind":"project","id":"barnowlbarnowl22","field":"name","value":"Barn owl","stamp":[2,"aaaaaaaaaaaaaaaa"],"base":null},
		{"kind":"part","id":"tailtailtailtail","field":"project","value":"otterotterotter2","stamp":[3,"aaaaaaaaaaaaaaaa"],"base":null},
		{"kind":"part","id":"tailtailtailtail","field":"name","value":"tail","stamp":[4,"aaaaaaaaaaaaaaaa"],"base":null},
		{"kind":"part","id":"tailtailtailtail","field":"name","value":"brush","stamp":[5,"aaaaaaaaaaaaaaaa"],"base":[4,"aaaaaaaaaaaaaaaa"]}]`, 1), 0})
	if _, err := from.Import(bytes.NewReader(whole), int64(len(whole))); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Otter", "otterotterotter2"} {
		var file bytes.Buffer
		if err := from.Export(&file, name, noon); err != nil {
			t.Fatal(err)
		}
		r, err := to.Import(bytes.NewReader(file.Bytes()), int64(file.Len()))
		if err != nil || r.Changes != 4 || r.Refused != 0 {
			t.Errorf("%s: %+v, %v", name, r, err)
		}
	}
	if to.Last() != 4 { // the second time nothing was new
		t.Errorf("it holds %d changes", to.Last())
	}
	for _, record := range [][2]string{{"project", "otterotterotter2"}, {"part", "tailtailtailtail"}} {
		a, err := from.History(record[0], record[1])
		b, err2 := to.History(record[0], record[1])
		if err := errors.Join(err, err2); err != nil || fmt.Sprint(a) != fmt.Sprint(b) || len(a) == 0 {
			t.Errorf("%s has %v here and %v there, %v", record, a, b, err)
		}
	}
	for _, name := range []string{"owl", "aaaaaaaaaaaaaaaa"} {
		if err := from.Export(new(bytes.Buffer), name, noon); !errors.Is(err, ErrNoProject) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestALargeFileIsInParts(t *testing.T) {
	from, to := open(t, t.TempDir()), open(t, t.TempDir())
	batch := parts(noise(1), (2*inOneFile)/4, "aaaaaaaaaaaaaaaa", "otterotterotter2", 1)
	if _, err := from.Append(batch); err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if err := from.Export(&file, "", noon); err != nil {
		t.Fatal(err)
	}
	r, err := to.Import(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil || r.Fresh != len(batch) || to.Last() != uint64(len(batch)) {
		t.Errorf("%+v, %v", r, err)
	}
}
