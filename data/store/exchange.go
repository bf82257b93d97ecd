package store

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"
	"time"

	"needlesight/data"
	"needlesight/sync/change"
)

// A file of projects is one zip, the same that the app makes and takes in:
//
//	changes.json     every change ever made of what is in it, in the form of sync/change.File
//	changes-2.json   more of them, and so on, in a large one
//	pictures/HASH    each picture that they refer to and that was at hand, named by its SHA-256
//	SHA256SUMS       a line for each file before it: its SHA-256, two spaces, its name
//
// See data/FILES.md.
const (
	sumsName    = "SHA256SUMS"
	firstName   = "changes.json"
	maxChanges  = 64 << 20 // bytes of one file of changes
	maxSums     = 16 << 20
	maxExchange = 100_000 // files in one zip
)

// inExchange is what the names in a file of projects look like.
var inExchange = regexp.MustCompile(`^(changes(-[1-9]\d{0,5})?\.json|pictures/[0-9a-f]{64}|SHA256SUMS)$`)

// ErrNotExchange says that a file is none of projects.
var ErrNotExchange = errors.New("this is no file of animals of ours, or it is damaged or cut off")

// ErrNoProject says that there is no such project.
var ErrNoProject = errors.New("there is no such animal")

// Export writes a file of one project, by its id or its name, or of everything if it is "".
// If the error is not nil, what was written is no such file. It may be
// ErrNoProject.
func (s *Store) Export(w io.Writer, project string, now time.Time) error {
	s.pictures.shelves.RLock() // no picture is swept meanwhile
	defer s.pictures.shelves.RUnlock()
	x := exporter{store: s, zip: zip.NewWriter(w), made: now.UTC().Truncate(time.Minute), wanted: map[string]bool{}}
	walk := s.Walk
	if project != "" {
		id, err := s.projectCalled(project)
		if err != nil {
			return err
		}
		project = id
		walk = func(f func([]change.Change) error) error { return s.Project(project, f) }
	}
	err := walk(x.take)
	if err == nil && project != "" && x.records == 0 {
		return fmt.Errorf("%w: %s", ErrNoProject, project)
	}
	for _, step := range []func() error{x.flush, x.pictures, x.end} {
		if err == nil {
			err = step()
		}
	}
	return err
}

// projectCalled gives the id of a project by its name, which no other may have; an id is given as it is.
func (s *Store) projectCalled(name string) (string, error) {
	if data.IsID(name) {
		return name, nil
	}
	var found []string
	err := s.Walk(func(record []change.Change) error {
		var called string
		if record[0].Kind == "project" && !isBinned(record) && json.Unmarshal(state(record, "name").Winner.Value, &called) == nil && called == name {
			found = append(found, record[0].ID)
		}
		return nil
	})
	switch {
	case err != nil:
		return "", err
	case len(found) == 0:
		return "", fmt.Errorf("%w: %q", ErrNoProject, name)
	case len(found) > 1:
		return "", fmt.Errorf("%d animals are called %q; name one by its id: %s", len(found), name, strings.Join(found, ", "))
	}
	return found[0], nil
}

type exporter struct {
	store   *Store
	zip     *zip.Writer
	made    time.Time
	some    []change.Change
	records int
	files   int
	wanted  map[string]bool // pictures
	sums    bytes.Buffer
}

func (x *exporter) take(record []change.Change) error {
	x.records++
	for _, c := range record {
		for _, h := range References(c.Value) {
			x.wanted[h] = true
		}
	}
	x.some = append(x.some, record...)
	if len(x.some) < inOneFile {
		return nil
	}
	err := x.write()
	x.some = nil
	return err
}

// flush writes what is left; a file of nothing says so too.
func (x *exporter) flush() error {
	if len(x.some) == 0 && x.files > 0 {
		return nil
	}
	return x.write()
}

func (x *exporter) write() error {
	x.files++
	name := firstName
	if x.files > 1 {
		name = fmt.Sprintf("changes-%d.json", x.files)
	}
	return x.file(name, zip.Deflate, func(w io.Writer) error {
		return json.NewEncoder(w).Encode(change.NewFile(x.made.Format("2006-01-02T15:04"), x.some))
	})
}

// file writes one file, and notes its sum.
func (x *exporter) file(name string, method uint16, write func(io.Writer) error) error {
	w, err := x.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: x.made})
	if err != nil {
		return err
	}
	sum := sha256.New()
	if err := write(io.MultiWriter(w, sum)); err != nil {
		return err
	}
	fmt.Fprintf(&x.sums, "%x  %s\n", sum.Sum(nil), name)
	return nil
}

func (x *exporter) pictures() error {
	for _, h := range slices.Sorted(maps.Keys(x.wanted)) {
		f, err := x.store.OpenPicture(h)
		if errors.Is(err, ErrNoPicture) {
			continue // a device has it still
		}
		if err != nil {
			return err
		}
		err = x.file(picturesFolder+h, zip.Store, func(w io.Writer) error { _, err := io.Copy(w, f); return err })
		if err := errors.Join(err, f.Close()); err != nil {
			return err
		}
	}
	return nil
}

func (x *exporter) end() error {
	w, err := x.zip.CreateHeader(&zip.FileHeader{Name: sumsName, Method: zip.Deflate, Modified: x.made})
	if err != nil {
		return err
	}
	if _, err := w.Write(x.sums.Bytes()); err != nil {
		return err
	}
	return x.zip.Close()
}

// ImportResult tells what became of a file that was taken in.
type ImportResult struct {
	Changes  int    `json:"changes"`  // in the file
	Fresh    int    `json:"fresh"`    // of them new here
	Refused  int    `json:"refused"`  // of them not taken: what is here says otherwise
	Why      string `json:"why"`      // the first refusal, in a sentence; "" for none
	Pictures int    `json:"pictures"` // that are new here
	Last     uint64 `json:"last"`     // the last number of the log; 0 if nothing was taken
}

// Import takes in a file of projects of so many bytes. All of it is looked at
// before anything is taken; what is here already is harmless, and nothing here is
// overwritten. The error wraps ErrNotExchange, ErrFull, or is that of the disk.
func (s *Store) Import(file io.ReaderAt, size int64) (result ImportResult, err error) {
	files, err := exchangeFiles(file, size)
	if err != nil {
		return result, err
	}
	names, err := checkSums(files)
	if err != nil {
		return result, err
	}
	for _, take := range []bool{false, true} { // first only look
		for _, name := range names {
			if err := s.importChanges(files, name, take, &result); err != nil {
				return result, err
			}
		}
	}
	return result, s.importPictures(files, &result)
}

// exchangeFiles are the files in a zip, by name.
func exchangeFiles(file io.ReaderAt, size int64) (map[string]*zip.File, error) {
	z, err := zip.NewReader(file, size)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotExchange, err)
	}
	if len(z.File) > maxExchange {
		return nil, fmt.Errorf("%w: it holds more than %d files", ErrNotExchange, maxExchange)
	}
	if slices.ContainsFunc(z.File, func(f *zip.File) bool { return f.Name == manifestName }) {
		return nil, fmt.Errorf("%w: it is a backup, which is restored, not taken in", ErrNotExchange)
	}
	files := make(map[string]*zip.File, len(z.File))
	for _, f := range z.File {
		if !inExchange.MatchString(f.Name) || !f.Mode().IsRegular() || files[f.Name] != nil {
			return nil, fmt.Errorf("%w: a file in it is called %.80q", ErrNotExchange, f.Name)
		}
		files[f.Name] = f
	}
	if files[firstName] == nil || files[sumsName] == nil {
		return nil, fmt.Errorf("%w: %s or %s is not in it", ErrNotExchange, firstName, sumsName)
	}
	return files, nil
}

// checkSums compares every file with its sum, and gives the names of those of changes, in their order.
func checkSums(files map[string]*zip.File) (names []string, err error) {
	sums, err := readSums(files)
	if err != nil {
		return nil, err
	}
	for name, f := range files {
		if name == sumsName {
			continue
		}
		most := int64(maxChanges)
		if strings.HasPrefix(name, picturesFolder) {
			most = MaxPicture
		} else {
			names = append(names, name)
		}
		sum, err := sumOf(f, most)
		if err != nil {
			return nil, fmt.Errorf("%w: %s: %w", ErrNotExchange, name, err)
		}
		if hash, is := strings.CutPrefix(name, picturesFolder); sum != sums[name] || is && sum != hash {
			return nil, fmt.Errorf("%w: %s is not as it was written", ErrNotExchange, name)
		}
	}
	if len(sums) != len(files)-1 {
		return nil, fmt.Errorf("%w: a file that %s names is not in it", ErrNotExchange, sumsName)
	}
	slices.SortFunc(names, func(a, b string) int {
		if len(a) != len(b) {
			return len(a) - len(b) // -2 before -10
		}
		return strings.Compare(a, b)
	})
	return names, nil
}

// readSums reads SHA256SUMS.
func readSums(files map[string]*zip.File) (map[string]string, error) {
	text, err := readFile(files, sumsName, maxSums)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotExchange, err)
	}
	sums := map[string]string{}
	for line := range strings.Lines(string(text)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if _, twice := sums[name]; !ok || twice || !IsHash(sum) || files[name] == nil {
			return nil, fmt.Errorf("%w: %s has a line that cannot be: %.80q", ErrNotExchange, sumsName, line)
		}
		sums[name] = sum
	}
	return sums, nil
}

// sumOf is the SHA-256 of a file that may have so many bytes, whatever it says of itself.
func sumOf(f *zip.File, most int64) (string, error) {
	r, err := f.Open()
	if err != nil {
		return "", err
	}
	defer r.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, io.LimitReader(r, most+1))
	if err == nil && n > most {
		err = fmt.Errorf("it is more than %d bytes", most)
	}
	return hex.EncodeToString(sum.Sum(nil)), err
}

// importChanges looks at a file of changes, or takes it.
func (s *Store) importChanges(files map[string]*zip.File, name string, take bool, result *ImportResult) error {
	text, err := readFile(files, name, maxChanges)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrNotExchange, err)
	}
	file, err := change.DecodeFile(text)
	if err != nil {
		return fmt.Errorf("%w: %s: %w", ErrNotExchange, name, err)
	}
	if !take {
		result.Changes += len(file.Changes)
		return nil
	}
	r, err := s.Append(file.Changes)
	result.Fresh += r.Accepted
	result.Refused += len(r.Refused)
	result.Last = r.Last
	if len(r.Refused) > 0 && result.Why == "" {
		result.Why = r.Refused[0].Text
	}
	return err
}

func (s *Store) importPictures(files map[string]*zip.File, result *ImportResult) error {
	for name, f := range files {
		hash, is := strings.CutPrefix(name, picturesFolder)
		if !is {
			continue
		}
		switch err := s.takePicture(hash, f); {
		case errors.Is(err, ErrHavePicture):
		case err != nil:
			return fmt.Errorf("a picture of the file could not be taken in: %w", err)
		default:
			result.Pictures++
		}
	}
	return nil
}
