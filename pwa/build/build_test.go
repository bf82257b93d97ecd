package main

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"needlesight/pwa"
)

// small is an app with every kind of address in it.
func small() sources {
	return sources{
		"index.html": []byte(`<!doctype html><html lang="en"><head><link rel="stylesheet" href="./app.css"><link rel="icon" href='./icons/a.svg'>
			<link rel="manifest" href="./manifest.webmanifest"><script type="module" src="./app.js"></script></head><body><a href="#top">x</a></body></html>`),
		"manifest.webmanifest": []byte(`{"start_url": "./", "icons": [{"src": "./icons/a.svg"}], "shortcuts": [{"url": "./#/count"}]}`),
		"app.css":              []byte("@import './more.css'; body { background: url(./icons/a.svg#x) } i { background: url( \"./icons/a.svg\" ) } b { background: url(data:image/png;base64,AA==) }"),
		"more.css":             []byte("a { color: red }"),
		"app.js": []byte(`import { a } from './screens/one.js'; // import './not-there.js'
			export * from "./words.js";
			import './side.js';
			/** @type {import('./types/engine.d.ts').Methods} */
			const later = () => import('./screens/two.js');
			new Worker(new URL('./bench/bench.js', import.meta.url), { type: 'module' });
			navigator.serviceWorker.register('./sw.js');
			const r = /from '.\/words.js'/;
			console.log(a, later, r, ` + "`import './elsewhere.js'` + \"it's\");"),
		"screens/one.js":  []byte(`import { html } from '../lib/lit-html.js'; import { word } from '../words.js'; export const a = [html, word];`),
		"screens/two.js":  []byte(`export { word } from '../words.js'; export const next = () => import('./one.js');`),
		"words.js":        []byte(`export const word = 'wool';`),
		"side.js":         []byte(`globalThis.side = true;`),
		"bench/bench.js":  []byte(`fetch(new URL("../engine.wasm", import.meta.url));`),
		"engine.wasm":     []byte("\x00asm\x01\x00\x00\x00"),
		"pictures.wasm":   []byte("\x00asm\x01\x00\x00\x00 and more"),
		"icons/a.svg":     []byte(`<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0L1 1"/></svg>`),
		"lib/lit-html.js": []byte(`export const html = 1;`),
		"lib/unused.js":   []byte(`export const x = 1;`),
		"sw.js":           []byte(`const { version, files } = self.built; console.log(version, files);`),
	}
}

func assembled(t *testing.T, all sources, raw bool) *app {
	t.Helper()
	built, missing, err := assemble(all, raw)
	if err != nil || len(missing) > 0 {
		t.Fatal(err, missing)
	}
	return built
}

// at is the file that a source became.
func at(t *testing.T, built *app, source string) (pwa.File, string) {
	t.Helper()
	for _, f := range built.Files {
		if f.Source == source {
			return f, string(built.bytes[f.Path])
		}
	}
	t.Fatalf("%s was not built", source)
	return pwa.File{}, ""
}

func TestEveryAddressFollowsItsFile(t *testing.T) {
	for _, raw := range []bool{true, false} {
		built := assembled(t, small(), raw)
		path := func(source string) string { f, _ := at(t, built, source); return f.Path }
		for source, want := range map[string][]string{
			"index.html":           {`"./` + path("app.css"), "./" + path("icons/a.svg"), "./" + path("app.js"), "./manifest.webmanifest"},
			"manifest.webmanifest": {`"./` + path("icons/a.svg") + `"`, `"./"`, `"./#/count"`},
			"app.css":              {"./" + path("more.css"), "./" + path("icons/a.svg") + "#x", "data:image/png"},
			"app.js":               {"./" + path("screens/one.js"), "./" + path("screens/two.js"), "./" + path("words.js"), "./" + path("side.js"), "./" + path("bench/bench.js"), "./sw.js", "`import './elsewhere.js'`", `'.\/words.js'/`},
			"screens/one.js":       {"../" + path("lib/lit-html.js"), "../" + path("words.js")},
			"screens/two.js":       {"../" + path("words.js"), "./" + strings.TrimPrefix(path("screens/one.js"), "screens/")},
			"bench/bench.js":       {"../" + path("engine.wasm")},
		} {
			_, text := at(t, built, source)
			for _, address := range want {
				if !strings.Contains(text, address) {
					t.Errorf("raw %v: %s lacks %s:\n%s", raw, source, address, text)
				}
			}
		}
		for _, f := range built.Files {
			if f.Source == "lib/unused.js" {
				t.Error("a library that nothing speaks of was built")
			}
			if hashed := regexp.MustCompile(`\.[0-9a-f]{10}\.\w+$`).MatchString(f.Path); hashed != f.Immutable || hashed == fixed[f.Source] {
				t.Errorf("%s became %s, immutable %v", f.Source, f.Path, f.Immutable)
			}
		}
	}
}

func TestANameTellsItsContent(t *testing.T) {
	before := assembled(t, small(), false)
	changed := small()
	changed["words.js"] = []byte(`export const word = 'felt';`)
	after := assembled(t, changed, false)
	for source, moves := range map[string]bool{"words.js": true, "screens/one.js": true, "screens/two.js": true, "app.js": true, "side.js": false, "app.css": false, "engine.wasm": false} {
		old, _ := at(t, before, source)
		now, _ := at(t, after, source)
		if moves != (old.Path != now.Path) {
			t.Errorf("%s: %s became %s", source, old.Path, now.Path)
		}
	}
	if before.Version == after.Version {
		t.Error("two apps have one version")
	}
	if again := assembled(t, small(), false); again.Version != before.Version {
		t.Error("the same sources have two versions")
	}
}

func TestTheFirstHalfDoesWithoutTheSecond(t *testing.T) {
	all := small()
	all["screens/photo.js"] = []byte("globalThis.photo = true;")
	all["app.js"] = append([]byte("import './screens/photo.js';"), all["app.js"]...)
	if _, _, err := assemble(all, false); err == nil || !strings.Contains(err.Error(), "screens/photo.js") {
		t.Errorf("a count that waits for the photos: %v", err)
	}
}

func TestTheServiceWorkerIsToldWhatToKeep(t *testing.T) {
	all := small()
	all["screenshots/pad.png"] = []byte("png")
	all["demo/otter.jpg"] = []byte("jpg")
	all["demo/demo.js"] = []byte("fetch(new URL('./otter.jpg', import.meta.url));")
	all["screens/photo.js"] = []byte("import '../board.js'; import '../words.js'; fetch(new URL('../pictures.wasm', import.meta.url));")
	all["board.js"] = []byte("globalThis.board = true;")
	all["screens/two.js"] = append(all["screens/two.js"], "import('./photo.js'); import('../demo/demo.js');"...)
	built := assembled(t, all, false)
	_, text := at(t, built, "sw.js")
	first, _, _ := strings.Cut(text, "\n")
	if !strings.HasPrefix(first, `self.built={"version":"`+built.Version+`","files":["./`) {
		t.Errorf("its first line is %s", first)
	}
	now, later, _ := strings.Cut(first, `"later":[`)
	for _, f := range built.Files {
		second := slices.Contains([]string{"pictures.wasm", "demo/otter.jpg", "screens/photo.js", "board.js"}, f.Source)
		if listed := strings.Contains(later, `"./`+f.Path+`"`); listed != second || f.Later != second || f.Precache && second {
			t.Errorf("%s comes later: %v", f.Path, listed)
		}
		listed := strings.Contains(now, `"./`+f.Path+`"`)
		if want := !second && f.Source != "sw.js" && f.Source != "index.html" && f.Source != "screenshots/pad.png"; listed != want {
			t.Errorf("%s listed: %v", f.Path, listed)
		}
	}
	if !strings.Contains(first, `"./"`) {
		t.Error("the page itself is not listed")
	}
	moved := small()
	moved["sw.js"] = []byte("console.log('another');")
	if assembled(t, moved, false).Version == built.Version {
		t.Error("another service worker, the same version")
	}
}

func TestACircleIsNamed(t *testing.T) {
	_, _, err := assemble(sources{
		"a.js":    []byte(`import './b.js';`),
		"b.js":    []byte(`import('./c/d.js');`),
		"c/d.js":  []byte(`new URL('../b.js', import.meta.url);`),
		"free.js": []byte(``),
	}, false)
	if err == nil || !strings.Contains(err.Error(), "b.js -> c/d.js -> b.js") {
		t.Errorf("told %v", err)
	}
}

func TestWhatIsNotThereIsNamed(t *testing.T) {
	_, missing, err := assemble(sources{"a.js": []byte(`import('./gone.js'); export const x = 1;`), "sw.js": []byte("self;")}, false)
	if err != nil || len(missing) != 1 || !strings.Contains(missing[0], "a.js speaks of gone.js") {
		t.Errorf("told %v, %v", missing, err)
	}
}

// What the build cannot follow, and what the minifier breaks or cannot read. The list
// was made by trying them in a browser, plain and minified.
func TestWhatWouldBreakIsRefused(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"a.js", "import(`./${name}.js`)", "in quotes"},
		{"a.js", "import(name)", "in quotes"},
		{"a.js", "new URL(name, import.meta.url)", "in quotes"},
		{"a.js", "import { html } from 'lit-html';", "./lib/NAME"},
		{"a.js", "import '/b.js';", "./lib/NAME"},
		{"a.js", "fetch('./b.js');", "new URL('./b.js', import.meta.url)"},
		{"c/a.js", "fetch('../b.js');", "new URL('../b.js', import.meta.url)"},
		{"c/a.js", "html`<img src=\"./b.js\">`", "new URL"},
		{"a.js", "class A { accessor x = 1 }", "accessor"},
		{"a.js", "class A { static accessor x = 1 }", "accessor"},
		{"a.js", "import x from './b.json' with { type: 'json' };", "cannot"},
		{"a.js", "@sealed class A {}", "cannot"},
		{"a.js", "{ using x = open(); }", "cannot"},
		{"a.js", "async function f() { await using x = open(); }", "cannot"},
		{"a.js", "const = 3;", "cannot"},
		{"a.css", "p { flex: 1 1 0px }", "flex-basis"},
		{"a.css", "@media print { p { flex: 1 1 0.0em } }", "flex-basis"},
		{"a.css", "p { q { FLEX: 1 1 0rem } }", "flex-basis"},
		{"a.html", "<TEMPLATE> a  b </TEMPLATE>", "folds"},
		{"a.html", "<pre> a  b </pre>", "folds"},
	} {
		_, _, err := assemble(sources{c.name: []byte(c.text), "b.js": []byte("1;"), "b.json": []byte("{}"), "sw.js": []byte("self;")}, false)
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), c.name) {
			t.Errorf("%s: %s\ntold %v", c.name, c.text, err)
		}
	}
	for _, c := range []struct{ name, text string }{
		{"a.css", "p { flex: 1 1 0 } q { flex: 1 1 0% } b { flex: 1 1 10px } i { flex: 0 0 auto }"},
		{"a.js", "class A { accessor = 1; get x() { return 1 } }"},
		{"a.js", "fetch('./no-such-file.js'); history.pushState('./');"},
		{"a.js", "const x = new URL('#/count', location.href);"},
	} {
		if _, _, err := assemble(sources{c.name: []byte(c.text), "b.js": []byte("1;"), "sw.js": []byte("self;")}, false); err != nil {
			t.Errorf("%s: %s\nrefused: %v", c.name, c.text, err)
		}
	}
}

func TestWhatIsNotToBeMinifiedIsLeft(t *testing.T) {
	svg := []byte(`<svg xmlns="http://www.w3.org/2000/svg"><text xml:space="preserve">a  b</text></svg>`)
	if out, err := shrink("a.svg", svg); err != nil || !bytes.Equal(out, svg) {
		t.Errorf("%s, %v", out, err)
	}
	template := "const page = () => html`<p>  two  spaces  </p>`;export{page}"
	if out, err := shrink("a.js", []byte(template)); err != nil || !strings.Contains(string(out), "`<p>  two  spaces  </p>`") {
		t.Errorf("%s, %v", out, err)
	}
}

func TestWrittenOnceAndSwept(t *testing.T) {
	dir := t.TempDir()
	keep := filepath.Join(dir, ".keep")
	if err := os.WriteFile(keep, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	all := small()
	all["words.js"] = []byte("export const word = '" + strings.Repeat("wool ", 200) + "';")
	built := assembled(t, all, false)
	if err := write(dir, lastBuild(dir), built); err != nil {
		t.Fatal(err)
	}
	site := lastBuild(dir)
	if site == nil {
		t.Fatal("it cannot be read back")
	}
	words, text := at(t, built, "words.js")
	if words.Brotli == 0 || words.Brotli >= len(text) || words.Gzip == 0 {
		t.Errorf("%d bytes, brotli %d, gzip %d", len(text), words.Brotli, words.Gzip)
	}
	if wasm, _ := at(t, built, "engine.wasm"); wasm.Brotli != 0 || wasm.Gzip != 0 {
		t.Error("a form that is no smaller was kept")
	}
	for i := range site.Files {
		f := &site.Files[i]
		if plain, err := site.Read(f, ""); err != nil || !bytes.Equal(plain, built.bytes[f.Path]) {
			t.Errorf("%s: %v", f.Path, err)
		}
	}
	before, err := os.Stat(filepath.Join(dir, words.Path))
	if err != nil {
		t.Fatal(err)
	}
	delete(all, "screens/two.js")
	all["app.js"] = []byte("import './words.js';")
	if err := write(dir, lastBuild(dir), assembled(t, all, false)); err != nil {
		t.Fatal(err)
	}
	if after, err := os.Stat(filepath.Join(dir, words.Path)); err != nil || !after.ModTime().Equal(before.ModTime()) {
		t.Errorf("a file that stayed the same was written again: %v", err)
	}
	left := slices.Sorted(maps.Keys(tree(t, dir)))
	for _, name := range left {
		if strings.HasPrefix(name, "screens/two.") || strings.HasSuffix(name, ".part") {
			t.Errorf("%s was left behind", name)
		}
	}
	if _, err := os.Stat(keep); err != nil {
		t.Error(".keep was swept away: a clean checkout would not compile")
	}
}

// tree is every file below a directory.
func tree(t *testing.T, dir string) map[string]bool {
	t.Helper()
	found := map[string]bool{}
	err := filepath.WalkDir(dir, func(name string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			short, _ := filepath.Rel(dir, name)
			found[filepath.ToSlash(short)] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// Two builds of the engine are the same to the byte, wherever they are made.
func TestTheEngineIsReproducible(t *testing.T) {
	root, err := findRoot()
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := t.TempDir()
	if _, err := run(root, nil, "cp", "-r", "go.mod", "go.sum", "data", "sync", elsewhere); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(elsewhere, "pwa"), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := run(root, nil, "cp", "-r", "pwa/engine", filepath.Join(elsewhere, "pwa")); err != nil {
		t.Fatal(err)
	}
	for _, m := range modules {
		one, err := compile(root, m)
		if err != nil {
			t.Fatal(err)
		}
		two, err := compile(elsewhere, m)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(one, two) {
			t.Errorf("%s: %d and %d bytes, not the same: phones would fetch an engine that has not changed", m.file, len(one), len(two))
		}
		if bytes.Contains(one, []byte(root)) {
			t.Errorf("%s holds %s", m.file, root)
		}
	}
}

// What changes one half of the engine alone leaves the other as it is.
func TestEachHalfHasItsOwnKey(t *testing.T) {
	root, err := findRoot()
	if err != nil {
		t.Fatal(err)
	}
	one, err := engineKey(root, modules[0])
	if err != nil {
		t.Fatal(err)
	}
	two, err := engineKey(root, modules[1])
	if err != nil {
		t.Fatal(err)
	}
	if one == two || len(one) != 64 || len(two) != 64 {
		t.Errorf("the keys are %q and %q", one, two)
	}
}

func TestThePageFetchesAheadWhatItsScriptsImport(t *testing.T) {
	built := assembled(t, small(), false)
	_, page := at(t, built, "index.html")
	for source, ahead := range map[string]bool{
		"screens/one.js": true, "words.js": true, "side.js": true, "lib/lit-html.js": true,
		"app.js": false, "screens/two.js": false, "bench/bench.js": false, // the page's own script, a screen for later, a worker
	} {
		file, _ := at(t, built, source)
		if link := `<link rel="modulepreload" href="./` + file.Path + `">`; strings.Contains(page, link) != ahead {
			t.Errorf("%s fetched ahead: %t, want %t\n%s", source, !ahead, ahead, page)
		}
	}
}

func TestWhatTheMinifierPutsInTheWrongOrderIsRefused(t *testing.T) {
	for text, wrong := range map[string]bool{
		"for(const s of t){const[a,b]=g(x),x=h(s);k(a,b,x)}":      true,
		"function f(s){const{a:q}=g(x.y),x=h(s);return q+x}":      true,
		"for(const s of t){let a=[1,x],x=h(s);k(a,x)}":            true,
		"for(const s of t){const[a,b]=g(s),x=h(a);k(a,b,x)}":      false,
		"for(const s of t){const[a,b]=g(()=>x),x=h(s);k(a,b,x)}":  false,
		"const y=1,z={y:2};for(const s of t){const y=s.y;k(y,z)}": false,
		"const a=q.x,x=1;k(a,x)":                                  false,
		"var a=x,x=1;k(a,x)":                                      false,
	} {
		if err := refuseOrder("a.js", []byte(text)); (err != nil) != wrong {
			t.Errorf("%s: %v", text, err)
		}
	}
}
