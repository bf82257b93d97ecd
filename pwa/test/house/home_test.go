package house

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// servedHome starts the program on a data folder, for this computer alone.
func servedHome(t *testing.T, data string) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 60*time.Second)
	cmd := program(ctx, "", "serve", "--here", "--data", data, "--port", "0")
	var trouble bytes.Buffer
	cmd.Stderr = &trouble
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(data, "running.json")); err == nil {
			break
		}
		if ctx.Err() != nil {
			t.Fatalf("it never served: %s", &trouble)
		}
		time.Sleep(10 * time.Millisecond)
	}
	return func() {
		defer cancel()
		if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
			t.Fatal(err)
		}
		if err := cmd.Wait(); err != nil {
			t.Errorf("it ended with %v: %s", err, &trouble)
		}
	}
}

// otterFile is a file of one animal, as the app writes it.
func otterFile(t *testing.T, path string) {
	t.Helper()
	changes := `{"format":"needlesight-changes","version":1,"made":"2026-11-25T10:00","changes":[
		{"kind":"project","id":"otterotterotter2","field":"name","value":"Otter","stamp":[1,"aaaaaaaaaaaaaaaa"],"base":null}]}`
	if err := os.WriteFile(path, zipOf(t, changes), 0o600); err != nil {
		t.Fatal(err)
	}
}

// The commands of the home, one after the other, while it is served and while it is not.
func TestTheCommandsOfTheHome(t *testing.T) {
	data, dir := t.TempDir(), t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	otterFile(t, in("otter.zip"))
	expect := func(status int, says string, args ...string) string {
		t.Helper()
		got, out, trouble := ran(t, "", append(args, "--data", data)...)
		if got != status || !strings.Contains(out+trouble, says) {
			t.Errorf("%v: %d, %s%s", args, got, out, trouble)
		}
		return out
	}
	expect(1, "needlesight serve", "pair")
	expect(1, "no home", "devices")
	stop := servedHome(t, data)
	expect(1, "already", "serve", "--here", "--port", "0")
	code := regexp.MustCompile(`Code: (\d{3} \d{3} \d{3})`).FindStringSubmatch(expect(0, "Code: ", "pair"))
	if code == nil {
		t.Fatal("pair shows no code")
	}
	id := pairBy(t, data, code[1])
	expect(0, id, "devices")
	expect(0, "", "devices", "rename", id, "kitchen tablet")
	expect(0, "kitchen tablet", "devices")
	expect(1, "no such device", "devices", "strike", "aaaaaaaaaaaaaaaa")
	expect(0, "1 of them new", "import", in("otter.zip"))
	expect(0, "0 of them new", "import", in("otter.zip"))
	expect(0, "holds 1 change, 1 device", "backup", in("b.zip"))
	expect(1, "--force", "backup", in("b.zip"))
	expect(0, "", "backup", in("b.zip"), "--force")
	expect(0, "All is well", "verify")
	expect(1, "a backup", "import", in("b.zip"))
	expect(1, "no such animal", "export", in("x.zip"), "--project", "Hare")
	expect(0, "", "export", in("x.zip"), "--project", "Otter")
	expect(1, "stop it first", "restore", in("b.zip"))
	expect(0, "", "devices", "strike", id)
	stop()
	expect(0, "struck off", "devices")
	expect(0, "All is well", "verify")
	expect(0, "0 of them new", "import", in("x.zip"))
	expect(1, "--overwrite", "restore", in("b.zip"))
	expect(1, "no backup", "restore", in("x.zip"), "--overwrite")
	expect(0, "Each device brings", "restore", in("b.zip"), "--overwrite")
	if out := expect(0, "kitchen tablet", "devices"); strings.Contains(out, "struck") {
		t.Errorf("after the restore: %s", out)
	}
	expectPrivate(t, data)
	for _, name := range []string{"b.zip", "x.zip"} {
		if info, err := os.Stat(in(name)); err != nil || info.Mode().Perm() != 0o600 && runtime.GOOS != "windows" {
			t.Errorf("%s: %v, %v", name, info, err)
		}
	}
	if left, err := filepath.Glob(in("*.part*")); err != nil || len(left) > 0 {
		t.Errorf("left over: %v, %v", left, err)
	}
}

// pairBy pairs a device by a code, and gives its id.
func pairBy(t *testing.T, data, code string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(data, "running.json"))
	if err != nil {
		t.Fatal(err)
	}
	port := regexp.MustCompile(`"port":(\d+)`).FindSubmatch(text)
	answer, err := http.Post("http://127.0.0.1:"+string(port[1])+"/api/pair", "application/json", strings.NewReader(`{"code":"`+code+`","name":"tablet"}`))
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var told struct{ Device string }
	if err := json.NewDecoder(answer.Body).Decode(&told); err != nil || told.Device == "" {
		t.Fatal(answer.Status, err)
	}
	return told.Device
}

// expectPrivate expects that nobody else can read what is below a folder.
func expectPrivate(t *testing.T, dir string) {
	t.Helper()
	if runtime.GOOS == "windows" {
		return
	}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || path == dir { // the folder itself was there before
			return err
		}
		info, err := e.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s is %v", path, info.Mode())
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

func TestServeRefusesWhatCannotBe(t *testing.T) {
	for _, c := range []struct {
		says string
		args []string
	}{
		{"--house-port", []string{"--house-port", "70000"}}, {"--keep", []string{"--keep", "-1"}}, {"--listen", []string{"--listen", "home"}},
		{"two files", []string{"--cert", "wool.pem", "--listen", "127.0.0.1"}}, {"a name may have", []string{"--name", "My Home", "--listen", "127.0.0.1"}},
	} {
		status, out, trouble := ran(t, "", append([]string{"serve", "--data", t.TempDir(), "--port", "0"}, c.args...)...)
		if status != 1 || !strings.Contains(out+trouble, c.says) {
			t.Errorf("%v: %d, %s%s", c.args, status, out, trouble)
		}
	}
}

// zipOf packs changes as a file of animals is packed.
func zipOf(t *testing.T, changes string) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, file := range [][2]string{{"changes.json", changes}, {"SHA256SUMS", fmt.Sprintf("%x  changes.json\n", sha256.Sum256([]byte(changes)))}} {
		w, err := z.Create(file[0])
		if err == nil {
			_, err = w.Write([]byte(file[1]))
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
