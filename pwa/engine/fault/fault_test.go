package fault

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// constants reads the names and values of the code constants from the source.
func constants(t *testing.T) map[string]string {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), "fault.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok || len(spec.Values) != 1 {
			return true
		}
		if lit, ok := spec.Values[0].(*ast.BasicLit); ok && lit.Kind == token.STRING {
			found[spec.Names[0].Name], _ = strconv.Unquote(lit.Value)
		}
		return true
	})
	return found
}

func TestCodesListsEveryConstantOnce(t *testing.T) {
	want := []string{}
	for name, code := range constants(t) {
		want = append(want, code)
		if !regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`).MatchString(code) {
			t.Errorf("%s is %q, which is not kebab-case", name, code)
		}
	}
	got := Codes()
	slices.Sort(want)
	slices.Sort(got)
	if len(want) < 10 || !slices.Equal(got, want) {
		t.Errorf("Codes lists %v, and the constants are %v", got, want)
	}
}

func TestEveryCodeIsUsed(t *testing.T) {
	var source strings.Builder
	err := filepath.WalkDir("..", func(path string, _ os.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			text, readErr := os.ReadFile(path)
			source.Write(text)
			return readErr
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range constants(t) {
		used := regexp.MustCompile(`(fault\.|New\()` + name + `\b`)
		if !used.MatchString(source.String()) {
			t.Errorf("no code of the engine refuses anything with %s", name)
		}
	}
}

func TestJSON(t *testing.T) {
	if got, want := string(JSON(New(TooMany, "mm", "mm holds %d.", 3))), `{"error":{"code":"too-many","text":"mm holds 3.","at":"mm"}}`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got := string(JSON(errors.New("x"))); !strings.HasPrefix(got, `{"error":{"code":"engine-crashed",`) {
		t.Errorf("another error is told as %s", got)
	}
}

func TestLimits(t *testing.T) {
	for _, name := range []string{"head", "tête", strings.Repeat("x", MaxName)} {
		if err := Name("part", name); err != nil {
			t.Errorf("%q: %v", name, err)
		}
	}
	for _, name := range []string{"", "a\nb", "\x7f", "\u0085", "\xff", strings.Repeat("x", MaxName+1)} {
		if Name("part", name) == nil {
			t.Errorf("%q passed", name)
		}
	}
	for _, value := range []float64{0, -1, 1.01e7, math.NaN(), math.Inf(1)} {
		if Positive("value", value) == nil {
			t.Errorf("%v passed as positive", value)
		}
	}
	if Positive("value", MaxValue) != nil || Between("u", 1, 1, 1) != nil {
		t.Error("a limit itself is refused")
	}
	for _, value := range []float64{-0.1, 1.1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if Between("u", value, 0, 1) == nil {
			t.Errorf("%v passed as between 0 and 1", value)
		}
	}
}
