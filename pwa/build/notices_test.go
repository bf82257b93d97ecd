package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The licences are those that the authors state: kardianos/service by the text that is spdx.org/licenses/Zlib, lit-html BSD-3-Clause, idb ISC and
// fflate MIT by the "license" field of each package on npm; Go by go.dev/LICENSE.
func TestNoticesNameEveryLibrary(t *testing.T) {
	root, err := findRoot()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(root, "pwa", "node_modules")); err != nil {
		t.Fatal("the libraries are not there: run 'npm ci' in pwa/, or 'make test'")
	}
	text, err := makeNotices(root, sources{"a.js": []byte("a")})
	if err != nil {
		t.Fatal(err)
	}
	var n notices
	if err := json.Unmarshal(text, &n); err != nil {
		t.Fatal(err)
	}
	if len(n.Version) != 8 || !strings.Contains(n.Own, "MIT License") {
		t.Errorf("version %q, own licence of %d bytes", n.Version, len(n.Own))
	}
	want := map[string]string{"lit-html": "BSD-3-Clause", "idb": "ISC", "fflate": "MIT", "Go": "BSD-3-Clause", "github.com/spf13/cobra": "Apache-2.0", "github.com/spf13/pflag": "BSD-3-Clause", "github.com/kardianos/service": "Zlib"}
	for _, l := range n.Libraries {
		if l.Licence == "" || len(l.Text) < 400 || strings.Contains(l.Text, root) {
			t.Errorf("%s %s: licence %q, text of %d bytes", l.Name, l.Version, l.Licence, len(l.Text))
		}
		if name, asked := want[l.Name]; asked && name != l.Licence {
			t.Errorf("%s is told as %q, but is %q", l.Name, l.Licence, name)
		}
		delete(want, l.Name)
	}
	for name := range want {
		t.Errorf("%s is missing", name)
	}
}

func TestALibraryWithoutALicenceIsRefused(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "README.md"), []byte("free"), 0o600); err != nil {
		t.Fatal(err)
	}
	if text, err := licenceIn(dir); err == nil {
		t.Fatalf("taken without a licence: %q", text)
	}
}

func TestVersionFollowsTheSources(t *testing.T) {
	one, same, other := sources{"a.js": []byte("1"), "b.js": []byte("2")}, sources{"b.js": []byte("2"), "a.js": []byte("1")}, sources{"a.js": []byte("1"), "b.js": []byte("3")}
	if versionOf(one) != versionOf(same) {
		t.Error("the same sources got two versions")
	}
	if versionOf(one) == versionOf(other) {
		t.Error("other sources got the same version")
	}
}
