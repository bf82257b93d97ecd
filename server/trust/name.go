package trust

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
)

// DefaultName is the name a home has when none is chosen.
const DefaultName = "needlesight"

// CheckName tells what keeps a text from being the NAME of NAME.local: it has to be
// one label of a DNS name (RFC 1123, RFC 5891), in small letters. The error is a
// sentence for the person who chose it.
func CheckName(name string) error {
	for _, r := range name {
		if !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-') {
			return fmt.Errorf("the name %q has %q in it: a name may have the letters a to z, digits and hyphens", name, r)
		}
	}
	switch {
	case name == "":
		return errors.New("a name needs one letter at least")
	case len(name) > 63:
		return fmt.Errorf("the name has %d characters; it may have 63", len(name))
	case strings.HasPrefix(name, "-") || strings.HasSuffix(name, "-"):
		return fmt.Errorf("the name %q begins or ends with a hyphen, which a name must not", name)
	case len(name) > 3 && name[2:4] == "--":
		return fmt.Errorf("the name %q has hyphens in third and fourth place, where they mean another alphabet", name)
	case name == "local" || name == "localhost":
		return fmt.Errorf("the name %q means something else already: please choose another", name)
	}
	return nil
}

// tidyName takes a name as people type it.
func tidyName(typed string) string {
	return strings.TrimSuffix(strings.ToLower(strings.TrimSpace(typed)), ".local")
}

// keepName settles the name: the one that was kept, or at the first time the one
// wanted. What phones keep belongs to the name, so another one is only taken on purpose.
func keepName(dir, wanted string, rename bool) (string, error) {
	wanted = tidyName(wanted)
	text, err := readFile(dir, nameFile)
	kept := strings.TrimSpace(string(text))
	switch {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return "", err
	case err == nil && CheckName(kept) == nil && (wanted == "" || wanted == kept):
		return kept, nil
	case err == nil && CheckName(kept) == nil && !rename:
		return "", fmt.Errorf("this home is called %s.local, and what devices keep belongs to that name: as %s.local it would be another home to them. Leave the name out to stay with it", kept, wanted)
	case wanted == "":
		wanted = DefaultName
	}
	if err := CheckName(wanted); err != nil {
		return "", err
	}
	return wanted, writeFile(dir, nameFile, []byte(wanted+"\n"))
}
