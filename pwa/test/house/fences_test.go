// Package house tests the repository as a whole: the fences between its rooms, and the
// program's commands from outside.
package house

import (
	"bytes"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/tdewolff/parse/v2"
	"github.com/tdewolff/parse/v2/js"

	"needlesight/data"
	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/sight"
	"needlesight/sync/wire"
)

// The fences keep the house as it was drawn. Each failure says why the fence stands.

const module = "needlesight"

// goPackage is what go list tells of a package.
type goPackage struct {
	ImportPath, Dir string
	GoFiles         []string
	Imports         []string
	Standard        bool
}

// listPackages asks go list, for the phone (GOOS=js) or for this machine.
func listPackages(t *testing.T, phone bool, args ...string) []goPackage {
	t.Helper()
	cmd := exec.Command("go", append([]string{"list", "-json=ImportPath,Dir,GoFiles,Imports,Standard"}, args...)...)
	cmd.Env = os.Environ()
	if phone {
		cmd.Env = append(cmd.Env, "GOOS=js", "GOARCH=wasm")
	}
	var trouble bytes.Buffer
	cmd.Stderr = &trouble
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", cmd, err, &trouble)
	}
	var found []goPackage
	for d := json.NewDecoder(bytes.NewReader(out)); d.More(); {
		var p goPackage
		if err := d.Decode(&p); err != nil {
			t.Fatal(err)
		}
		found = append(found, p)
	}
	if len(found) == 0 {
		t.Fatalf("%s found no package", cmd)
	}
	return found
}

// below tells whether a package is dir or lies below it.
func below(path, dir string) bool {
	dir = module + "/" + dir
	return path == dir || strings.HasPrefix(path, dir+"/")
}

const enginePath, doorPath = "pwa/engine", "pwa/engine/wasm"

// sheetPath alone may use a library: a well-kept one that writes PDF, with the fonts
// that a sheet embeds. Both are linked only into what is loaded after the first visit.
const sheetPath = "pwa/engine/sheet"

var sheetLibraries = []string{"codeberg.org/go-pdf/fpdf", "golang.org/x/image/font/gofont/gobold", "golang.org/x/image/font/gofont/goregular"}

func TestEngineIsPure(t *testing.T) {
	// What reaches out of a calculation: the clock, files, the network, chance, other programs.
	impure := []string{"os", "net", "time", "log", "math/rand", "crypto/rand", "syscall", "unsafe", "plugin", "embed", "testing", "html/template", "text/template", "runtime/debug"}
	for _, p := range listPackages(t, false, "./"+enginePath+"/...") {
		if below(p.ImportPath, doorPath) {
			continue
		}
		for _, i := range p.Imports {
			if below(i, enginePath) && !below(i, doorPath) {
				continue
			}
			if below(p.ImportPath, sheetPath) && slices.Contains(sheetLibraries, i) {
				continue
			}
			if first, _, _ := strings.Cut(i, "/"); strings.Contains(first, ".") || first == module {
				t.Errorf("%s imports %s: the engine's maths imports only the standard library and itself, so that it is the same, and small, on the phone", p.ImportPath, i)
			}
			for _, bad := range impure {
				if i == bad || strings.HasPrefix(i, bad+"/") {
					t.Errorf("%s imports %s: the engine has no clock, no I/O and no chance, so that the same request always has the same answer", p.ImportPath, i)
				}
			}
		}
	}
}

func TestOnlyTheDoorKnowsJavaScript(t *testing.T) {
	seen := false
	for _, p := range listPackages(t, true, "-e", "./...") {
		if !slices.Contains(p.Imports, "syscall/js") {
			continue
		}
		if seen = true; !below(p.ImportPath, doorPath) { // there are two doors, and what they have in common
			t.Errorf("%s imports syscall/js: only the doors in %s may, so that everything else runs and is tested without a browser", p.ImportPath, doorPath)
		}
	}
	if !seen {
		t.Errorf("no package imports syscall/js: has the door moved? This fence watches %s", doorPath)
	}
}

func TestTheWasmStaysSmall(t *testing.T) {
	heavy := []string{"net", "net/http", "crypto/tls", "testing", "html/template", "github.com/gorilla/websocket", "github.com/dgraph-io/badger/v4"}
	for _, p := range listPackages(t, true, "-deps", "./"+doorPath+"/pictures") {
		if slices.Contains(heavy, p.ImportPath) {
			t.Errorf("the phone's engine of the pictures links %s: it would be hundreds of kilobytes heavier on every phone", p.ImportPath)
		}
	}
	heavy = append(heavy, "image/png", "image/jpeg", module+"/pwa/engine/outline", module+"/"+sheetPath)
	heavy = append(heavy, sheetLibraries...)
	for _, p := range listPackages(t, true, "-deps", "./"+doorPath) {
		if slices.Contains(heavy, p.ImportPath) {
			t.Errorf("the phone's engine links %s: it would be hundreds of kilobytes heavier at every first visit", p.ImportPath)
		}
	}
}

// room is a part of the house: a package, those below it too unless it stands alone,
// and whom of the house it may import.
type room struct {
	who   string
	alone bool
	whom  []string
}

// house is all rooms; the first that a package is in counts.
var house = []room{
	{who: doorPath, whom: []string{doorPath, enginePath, "data", "sync"}},
	{who: enginePath, whom: []string{enginePath}},
	{who: "pwa/build", whom: []string{"pwa", enginePath}},
	{who: "pwa/test/house"}, // only tests, which may look at everything
	{who: "pwa", alone: true},
	{who: "data/store", whom: []string{"data", "sync"}},
	{who: "data", alone: true},
	{who: "sync", whom: []string{"sync", "data"}},
	{who: "server/cli", whom: []string{"server", "server/trust", "data/store", "data", "sync", "pwa"}},
	{who: "server/trust", whom: []string{"server/trust"}}, // what is to be trusted is small and stands by itself
	{who: "server", whom: []string{"server", "server/trust", "data/store", "data", "sync", "pwa"}},
}

// holds tells whether a package is in the room.
func (r room) holds(path string) bool {
	return path == module+"/"+r.who || !r.alone && below(path, r.who)
}

func TestImportsRunOneWay(t *testing.T) {
	for _, p := range listPackages(t, false, "./...") {
		if p.ImportPath == module {
			continue // the commands may import everything
		}
		at := slices.IndexFunc(house, func(r room) bool { return r.holds(p.ImportPath) })
		if at < 0 {
			t.Errorf("%s is in no room of the house: give it a line in house, or another place", p.ImportPath)
			continue
		}
		for _, i := range p.Imports {
			its := slices.IndexFunc(house, func(r room) bool { return r.holds(i) })
			if its >= 0 && !slices.Contains(house[at].whom, house[its].who) {
				t.Errorf("%s imports %s: imports run one way, main -> server/cli -> server -> (server/trust, data/store, pwa); data/store -> sync -> data; the engine imports nothing of the others", p.ImportPath, i)
			}
		}
	}
}

func TestOnlyTheStoreKnowsItsDatabase(t *testing.T) {
	for _, p := range listPackages(t, false, "./...") {
		for _, i := range p.Imports {
			if strings.HasPrefix(i, "github.com/dgraph-io/badger") && !below(p.ImportPath, "data/store") {
				t.Errorf("%s imports %s: only data/store may, so that what is kept has one way in", p.ImportPath, i)
			}
		}
	}
}

func TestOnlyTheServerSpeaksWebsocket(t *testing.T) {
	seen := false
	for _, p := range listPackages(t, false, "./...") {
		if !slices.Contains(p.Imports, "github.com/gorilla/websocket") {
			continue
		}
		if seen = true; p.ImportPath != module+"/server" {
			t.Errorf("%s imports the websocket library: only server does, so that limits, origins and tokens are looked after in one place", p.ImportPath)
		}
	}
	if !seen {
		t.Error("no package speaks websocket: has the sync moved? This fence watches server")
	}
}

func TestSyncHasNoNetwork(t *testing.T) {
	outside := []string{"net", "os", "time", "log", "math/rand", "crypto/rand", "syscall", "context", "sync"}
	for _, p := range listPackages(t, false, "./sync/...") {
		for _, i := range p.Imports {
			for _, bad := range outside {
				if i == bad || strings.HasPrefix(i, bad+"/") {
					t.Errorf("%s imports %s: sync is rules and machines without I/O, clock or chance, so that a thousand days can be played in a second from a seed, and the phone runs the same", p.ImportPath, i)
				}
			}
		}
	}
}

func TestNoPackageAtTheRootOfSync(t *testing.T) {
	files, err := filepath.Glob("sync/*.go")
	if err != nil || len(files) > 0 {
		t.Errorf("%v (%v): sync is the standard library's name, so its packages live in rooms below it", files, err)
	}
}

func TestTopLevelHoldsOnlyTheHouse(t *testing.T) {
	allowed := []string{"main.go", "server", "pwa", "sync", "data", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "Makefile", "LICENSE",
		"needlesight", "needlesight.exe", "release"} // the last three are built here, and ignored by git
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !slices.Contains(allowed, e.Name()) && !strings.HasPrefix(e.Name(), ".") {
			t.Errorf("%s lies at the top level: who opens the repository should see the house at once, so it belongs in one of its rooms", e.Name())
		}
	}
}

func TestTheLockFileNamesNoHost(t *testing.T) {
	text, err := os.ReadFile("pwa/package-lock.json")
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(text, []byte(`"resolved"`)) {
		t.Error("pwa/package-lock.json says where packages were fetched: every machine has its own way to them; pwa/.npmrc leaves it out")
	}
}

func TestEveryExportedNameIsDocumented(t *testing.T) {
	for _, p := range append(listPackages(t, false, "./..."), listPackages(t, true, "./"+doorPath+"/...")...) {
		for _, name := range p.GoFiles {
			set := token.NewFileSet()
			file, err := parser.ParseFile(set, filepath.Join(p.Dir, name), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			for _, bare := range undocumented(file, below(p.ImportPath, enginePath)) {
				at := set.Position(bare.Pos())
				t.Errorf("%s:%d: %s has no comment: an exported name says its units, ranges and errors, for those who call it without reading it", at.Filename, at.Line, bare.Name)
			}
		}
	}
}

// undocumented finds the exported names of a file that no comment speaks of: types
// functions, methods of exported types, constants and variables; and where asked for,
// numbers in structs: in the engine each has a unit.
func undocumented(file *ast.File, numbers bool) (bare []*ast.Ident) {
	check := func(names []*ast.Ident, comments ...*ast.CommentGroup) {
		for _, c := range comments {
			if strings.TrimSpace(c.Text()) != "" {
				return
			}
		}
		for _, n := range names {
			if n.IsExported() {
				bare = append(bare, n)
			}
		}
	}
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil || ast.IsExported(receiver(d.Recv.List[0].Type)) {
				check([]*ast.Ident{d.Name}, d.Doc)
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					check([]*ast.Ident{s.Name}, s.Doc, s.Comment, d.Doc)
					if body, ok := s.Type.(*ast.StructType); ok && numbers && s.Name.IsExported() {
						checkFields(body, check)
					}
				case *ast.ValueSpec:
					check(s.Names, s.Doc, s.Comment, d.Doc)
				}
			}
		}
	}
	return bare
}

// checkFields checks a struct's fields that hold numbers, which have a unit or a
// range; what a name or a list is, its own name tells.
func checkFields(body *ast.StructType, check func([]*ast.Ident, ...*ast.CommentGroup)) {
	for _, f := range body.Fields.List {
		if isNumber(f.Type) {
			check(f.Names, f.Doc, f.Comment)
		}
	}
}

// isNumber knows numbers, lists of numbers and numbers that may be missing.
func isNumber(t ast.Expr) bool {
	switch t := t.(type) {
	case *ast.StarExpr:
		return isNumber(t.X)
	case *ast.ArrayType:
		return isNumber(t.Elt)
	case *ast.Ident:
		return strings.HasPrefix(t.Name, "float") || strings.HasPrefix(t.Name, "int") || strings.HasPrefix(t.Name, "uint")
	}
	return false
}

// receiver is the name of a method's type.
func receiver(t ast.Expr) string {
	switch t := t.(type) {
	case *ast.StarExpr:
		return receiver(t.X)
	case *ast.IndexExpr:
		return receiver(t.X)
	case *ast.Ident:
		return t.Name
	}
	return ""
}

func TestUndocumentedFindsWhatIsBare(t *testing.T) {
	const text = `package p
type Bare struct { Field int }
// Told is told.
type Told struct { Name string; Loose *[]int; Said int // it is
}
func F() {}
func (Told) M() {}
func (hidden) M2() {}
const C = 1
var V int // v
`
	file, err := parser.ParseFile(token.NewFileSet(), "p.go", text, parser.ParseComments)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, id := range undocumented(file, true) {
		names = append(names, id.Name)
	}
	if got, want := fmt.Sprint(names), "[Bare Field Loose F M C]"; got != want {
		t.Errorf("found %s, want %s", got, want)
	}
}

func TestEveryCodeHasASentence(t *testing.T) {
	codes := slices.Concat(fault.Codes(), data.Codes(), wire.Codes(), toldCodes(t, "server"), keys(t, "pwa/app/bench/codes.js", "codes"))
	sentences := keys(t, "pwa/app/words.js", "sentences")
	for _, code := range codes {
		if !slices.Contains(sentences, code) {
			t.Errorf("%q has no sentence in pwa/app/words.js: a person would be shown a text made for machines", code)
		}
	}
	for _, code := range sentences {
		if !slices.Contains(codes, code) {
			t.Errorf("the sentence of %q in pwa/app/words.js is for no code: it would be translated and read for nothing", code)
		}
	}
}

// keys are the keys of the object that a JavaScript file exports by a name.
func keys(t *testing.T, file, name string) []string {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	tree, err := js.Parse(parse.NewInputBytes(text), js.Options{})
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	finder := &objectFinder{name: name}
	js.Walk(finder, tree)
	if len(finder.keys) == 0 {
		t.Fatalf("%s exports no object %q with keys", file, name)
	}
	return finder.keys
}

// objectFinder finds `name = {...}` or `name = anything({...})`.
type objectFinder struct {
	name string
	keys []string
}

// Enter looks at one node of the syntax tree.
func (f *objectFinder) Enter(n js.INode) js.IVisitor {
	binding, ok := n.(*js.BindingElement)
	if !ok {
		return f
	}
	if v, ok := binding.Binding.(*js.Var); !ok || string(v.Data) != f.name {
		return f
	}
	value := binding.Default
	if group, ok := value.(*js.GroupExpr); ok {
		value = group.X
	}
	if call, ok := value.(*js.CallExpr); ok && len(call.Args.List) == 1 {
		value = call.Args.List[0].Value
	}
	if object, ok := value.(*js.ObjectExpr); ok {
		for _, p := range object.List {
			if p.Name != nil {
				f.keys = append(f.keys, strings.Trim(string(p.Name.Literal.Data), `"'`))
			}
		}
	}
	return f
}

// Exit does nothing.
func (f *objectFinder) Exit(js.INode) {}

// Texts that are given on should not tell on whose machine, or how, they were made.
// What the bench says to the engine, or refuses before it would, it must say with the
// engine's own figures: a reading kept by one and refused by the other helps nobody.
func TestTheBenchHasTheEnginesFigures(t *testing.T) {
	for _, figure := range []struct {
		file, before string
		want         float64
	}{
		{"sides.js", "const markU = ", sight.StepShare},
		{"fields.js", "const biggest = ", fault.MaxValue},
		{"fields.js", "if (mm < ", sight.MinArmMM},
		{"fields.js", "|| mm > ", sight.MaxArmMM},
	} {
		text, err := os.ReadFile(filepath.Join("pwa", "app", "bench", figure.file))
		if err != nil {
			t.Fatal(err)
		}
		var got float64
		_, after, found := strings.Cut(string(text), figure.before)
		if _, err := fmt.Sscanf(after, "%g", &got); !found || err != nil || got != figure.want {
			t.Errorf("%s: after %q stands %v (%v), and the engine has %v", figure.file, figure.before, got, err, figure.want)
		}
	}
}

func TestNothingNamesAMachine(t *testing.T) {
	home, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	err = fs.WalkDir(os.DirFS("."), ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() && slices.Contains([]string{".git", "pwa/node_modules", "pwa/dist", "release"}, name) {
			return fs.SkipDir
		}
		if e.IsDir() || name == "needlesight" {
			return nil
		}
		text, err := os.ReadFile(name)
		if err == nil && bytes.Contains(text, []byte(home)) {
			t.Errorf("%s holds %s: that path is this machine's alone", name, home)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// toldCodes are the codes of errors that a package's function tell gives to the app.
func toldCodes(t *testing.T, dir string) (codes []string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") || filepath.Base(name) == "control.go" { // which speaks with our own commands
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) != 4 {
				return true
			}
			if f, ok := call.Fun.(*ast.Ident); !ok || f.Name != "tell" {
				return true
			}
			if code, ok := call.Args[2].(*ast.BasicLit); ok {
				codes = append(codes, strings.Trim(code.Value, `"`))
			} else {
				t.Errorf("%s: a code that tell gives is not written out there: then nobody can see whether it has a sentence", name)
			}
			return true
		})
	}
	if len(codes) < 10 {
		t.Fatalf("%s tells only the codes %v: has tell another name now?", dir, codes)
	}
	return codes
}
