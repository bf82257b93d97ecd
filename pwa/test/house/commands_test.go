package house

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"needlesight/pwa/engine"
	"needlesight/pwa/engine/shell"
)

// built is the program under test.
var built string

// TestMain builds the program, and runs every test at the top of the repository.
func TestMain(m *testing.M) {
	os.Exit(run(m))
}

func run(m *testing.M) int {
	dir, err := os.MkdirTemp("", "needlesight-house-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	if err := os.Chdir("../../.."); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	built = filepath.Join(dir, "needlesight.exe")
	if out, err := exec.Command("go", "build", "-o", built, ".").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "%s%v\n", out, err)
		return 1
	}
	return m.Run()
}

func program(ctx context.Context, input string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, built, args...)
	cmd.Stdin = strings.NewReader(input)
	return cmd
}

// described is what engine --describe says of a method.
func described(t *testing.T, method string) string {
	t.Helper()
	status, out, trouble := ran(t, "", "engine", "--describe", method)
	if status != 0 || trouble != "" {
		t.Fatalf("%s: %d, %s", method, status, trouble)
	}
	return out
}

// ran runs the program to its end.
func ran(t *testing.T, input string, args ...string) (status int, out, trouble string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	cmd := program(ctx, input, args...)
	var o, e bytes.Buffer
	cmd.Stdout, cmd.Stderr = &o, &e
	err := cmd.Run()
	if exit := (*exec.ExitError)(nil); err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return cmd.ProcessState.ExitCode(), o.String(), e.String()
}

func TestTheEngineAnswers(t *testing.T) {
	status, out, trouble := ran(t, `{"text":"1 3/16","unit":"in"}`, "engine", "parse-length")
	if status != 0 || out != `{"mm":30.1625,"unit":"in","typed":"1 3/16"}`+"\n" || trouble != "" { // 1 3/16 in = 19 x 25.4/16 mm
		t.Errorf("%d, %q, %q", status, out, trouble)
	}
}

func TestTheEngineRefuses(t *testing.T) {
	for _, c := range []struct {
		method, input, code, at string
	}{
		{"parse-length", `{"text":"1","unit":"in","colour":"red"}`, "unknown-field", "colour"},
		{"parse-length", `{`, "not-json", ""},
		{"parse-length", `{}{}`, "trailing-data", ""},
		{"parse-length", "", "not-json", ""},
		{"no-such-method", `{}`, "unknown-method", ""},
		{"parse-length", `{"text":"` + strings.Repeat("1", engine.MaxRequest) + `"}`, "request-too-big", ""},
	} {
		status, out, trouble := ran(t, c.input, "engine", c.method)
		var told struct {
			Error struct{ Code, Text, At string }
		}
		if err := json.Unmarshal([]byte(trouble), &told); err != nil {
			t.Errorf("%s: standard error is not JSON: %q", c.code, trouble)
		}
		if status != 1 || out != "" || told.Error.Code != c.code || told.Error.Text == "" || c.at != "" && told.Error.At != c.at {
			t.Errorf("%s: %d, %q, %+v", c.code, status, out, told)
		}
	}
}

func TestWrongCommandLines(t *testing.T) {
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"engine"}, "--list"},
		{[]string{"engine", "a", "b"}, "at most 1"},
		{[]string{"engine", "--list", "--describe", "sight"}, "list"},
		{[]string{"engine", "--describe", "no-such-method"}, "no-such-method"},
		{[]string{"knit"}, "knit"},
		{[]string{"serve", "now"}, "now"},
		{[]string{"--port", "70000"}, "65535"},
		{[]string{"serve", "--port", "many"}, "many"},
	} {
		status, out, trouble := ran(t, "", c.args...)
		if status != 1 || out != "" || !strings.Contains(trouble, c.says) {
			t.Errorf("%v: %d, %q, %q", c.args, status, out, trouble)
		}
	}
}

func TestEveryMethodIsListedAndDescribed(t *testing.T) {
	_, list, _ := ran(t, "", "engine", "--list")
	for _, m := range shell.Table() {
		if !strings.Contains("\n"+list, "\n"+m.Name+" ") || !strings.Contains(list, m.Doc) {
			t.Errorf("%s is not listed", m.Name)
		}
		out := described(t, m.Name)
		var told struct {
			Request, Response struct {
				Type                 string
				Properties           map[string]any
				AdditionalProperties *bool
			}
		}
		if err := json.Unmarshal([]byte(out), &told); err != nil {
			t.Fatal(err)
		}
		r := told.Request
		if r.Type != "object" || len(r.Properties) == 0 || len(told.Response.Properties) == 0 || r.AdditionalProperties == nil || *r.AdditionalProperties {
			t.Errorf("%s is described as %s", m.Name, out)
		}
	}
}

// A picture is named by its path; a file that comes with the answer goes where it is
// asked to, or into the answer.
func TestTheShellNamesPicturesByTheirPaths(t *testing.T) {
	status, out, trouble := ran(t, `{"image":"pwa/engine/testdata/photos/cow.png","scale":"id-1"}`, "engine", "outline-photo")
	var told struct {
		RingsPX    [][][2]float64 `json:"rings_px"`
		CornersPX  [][2]float64   `json:"corners_px"`
		Confidence float64        `json:"confidence"`
	}
	if err := json.Unmarshal([]byte(out), &told); err != nil || status != 0 || len(told.RingsPX) == 0 || len(told.CornersPX) != 4 || told.Confidence <= 0 || told.Confidence > 1 {
		t.Errorf("%d, %.200s, %s", status, out, trouble)
	}
	const ring = `{"image":"pwa/engine/pictures/testdata/ring.png","matrix":[1,0,0,0,1,0,0,0,1],"left_mm":0,"top_mm":0,"width_mm":10,"height_mm":5,"px_per_mm":1}`
	_, inside, _ := ran(t, ring, "engine", "rectify")
	var given struct{ Bytes []byte }
	if err := json.Unmarshal([]byte(inside), &given); err != nil || len(given.Bytes) != 4*10*5 {
		t.Errorf("%d bytes in %s", len(given.Bytes), inside)
	}
	file := filepath.Join(t.TempDir(), "out.rgba")
	status, beside, _ := ran(t, ring, "engine", "rectify", "--out", file)
	if text, err := os.ReadFile(file); err != nil || status != 0 || !bytes.Equal(text, given.Bytes) || strings.Contains(beside, "bytes") {
		t.Errorf("%d, %v, %s", status, err, beside)
	}
	for path, code := range map[string]string{"no/such.png": "picture-missing", "go.mod": "picture-not-read", "pwa": "picture-not-read"} {
		status, out, trouble := ran(t, `{"image":"`+path+`"}`, "engine", "find-rectangle")
		if status != 1 || out != "" || !strings.Contains(trouble, `"code":"`+code+`"`) || !strings.Contains(trouble, path) {
			t.Errorf("%s: %d, %s%s", path, status, out, trouble)
		}
	}
	if status, out, trouble := ran(t, `{"gap_px":10,"px_per_mm":5}`, "engine", "marks", "--out", file); status != 1 || out != "" {
		t.Errorf("--out of what has no file: %d, %s%s", status, out, trouble)
	}
}

func TestPointersMayBeNull(t *testing.T) {
	text := strings.Join(strings.Fields(described(t, "sight")), "")
	if !strings.Contains(text, `"slide":{"oneOf":[{"type":"number"},{"type":"null"}]}`) || !strings.Contains(text, `"whole":{"type":"integer"}`) {
		t.Error(text)
	}
}

func TestHelpVersionAndCompletion(t *testing.T) {
	for _, c := range []struct {
		args []string
		says []string
	}{
		{[]string{"--help"}, []string{"serve", "pair", "devices", "backup", "restore", "verify", "export", "import", "service", "engine", "completion", "version", "--port"}},
		{[]string{"serve", "--help"}, []string{"8787", "Ctrl-C", "--from"}},
		{[]string{"engine", "--help"}, []string{"exit status is 1", "standard error", "--describe METHOD"}},
		{[]string{"version"}, []string{"needlesight ", "go1."}},
		{[]string{"--version"}, []string{"needlesight ", "go1."}},
		{[]string{"completion", "bash"}, []string{"needlesight"}},
		{[]string{"__complete", "engine", ""}, []string{"sight\t", ":4"}},
		{[]string{"__complete", "engine", "--describe", ""}, []string{"sight\t"}},
	} {
		status, out, trouble := ran(t, "", c.args...)
		for _, says := range c.says {
			if status != 0 || !strings.Contains(out, says) {
				t.Errorf("%v lacks %q: %d, %s%s", c.args, says, status, out, trouble)
			}
		}
	}
}

// freePort is a port that nobody listened on a moment ago.
func freePort(t *testing.T) int {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	return listener.Addr().(*net.TCPAddr).Port
}

// Without a command the program serves: here a build that is made, looked at, and
// made anew while it runs. A signal ends it well.
func TestServesUntilItIsToldToStop(t *testing.T) {
	dir, data, port := t.TempDir(), t.TempDir(), strconv.Itoa(freePort(t))
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	cmd := program(ctx, "", "--here", "--data", data, "--port", port, "--from", dir)
	var out, trouble bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &trouble
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	page := func() (int, string) {
		for ctx.Err() == nil {
			answer, err := http.Get("http://127.0.0.1:" + port + "/")
			if err != nil {
				time.Sleep(20 * time.Millisecond)
				continue
			}
			defer answer.Body.Close()
			text, err := io.ReadAll(answer.Body)
			if err != nil {
				t.Fatal(err)
			}
			return answer.StatusCode, string(text)
		}
		t.Fatalf("it never answered: %s%s", &out, &trouble)
		return 0, ""
	}
	if status, text := page(); status != 503 || !strings.Contains(text, "make build") {
		t.Errorf("not built: %d, %s", status, text)
	}
	for name, text := range map[string]string{"index.html": "<p>wool", "files.json": `{"files":[{"path":"index.html","hash":"0123456789012345678901234567890123456789","type":"text/html","size":7}]}`} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if status, text := page(); status != 200 || text != "<p>wool" {
		t.Errorf("built: %d, %s", status, text)
	}
	if status, _, trouble := ran(t, "", "--here", "--data", t.TempDir(), "--port", port); status != 1 || !strings.Contains(trouble, "port is in use") {
		t.Errorf("a second one on that port: %d, %s", status, trouble)
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("it ended with %v: %s", err, &trouble)
	}
	if !strings.Contains(out.String(), "http://localhost:"+port+"/") || !strings.Contains(trouble.String(), "make build") {
		t.Errorf("it said %q and %q", &out, &trouble)
	}
}
