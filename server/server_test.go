package server

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/andybalholm/brotli"

	"needlesight/data/store"
	"needlesight/pwa"
)

const script = "console.log('one stitch at a time')"

// site is a small build: a page, a script in three forms, and a picture in one.
func site(t *testing.T) func() (*pwa.Site, error) {
	t.Helper()
	list := `{"version":"v1","quality":9,"files":[
		{"path":"index.html","source":"index.html","hash":"aaaaaaaaaaaaaaaaaaaaaaaa","type":"text/html; charset=utf-8","size":6},
		{"path":"app.0123456789.js","source":"app.js","hash":"0123456789aaaaaaaaaaaaaaaa","type":"text/javascript; charset=utf-8","size":35,"brotli":1,"gzip":1,"immutable":true},
		{"path":"sw.js","source":"sw.js","hash":"bbbbbbbbbbbbbbbbbbbbbbbb","type":"text/javascript; charset=utf-8","size":6},
		{"path":"gone.js","source":"gone.js","hash":"cccccccccccccccccccccccc","type":"text/javascript; charset=utf-8","size":6}]}`
	build := fstest.MapFS{
		"files.json":           {Data: []byte(list)},
		"index.html":           {Data: []byte("<p>hi")},
		"sw.js":                {Data: []byte("self")},
		"app.0123456789.js":    {Data: []byte(script)},
		"app.0123456789.js.br": {Data: packed(t, func(w io.Writer) io.WriteCloser { return brotli.NewWriter(w) })},
		"app.0123456789.js.gz": {Data: packed(t, func(w io.Writer) io.WriteCloser { return gzip.NewWriter(w) })},
	}
	return func() (*pwa.Site, error) { return pwa.Open(build) }
}

func packed(t *testing.T, by func(io.Writer) io.WriteCloser) []byte {
	t.Helper()
	var out bytes.Buffer
	w := by(&out)
	if _, err := io.WriteString(w, script); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

var quiet = slog.New(slog.DiscardHandler)

func get(handler http.Handler, method, path string, header ...string) *http.Response {
	request := httptest.NewRequest(method, path, nil)
	for i := 0; i < len(header); i += 2 {
		request.Header.Add(header[i], header[i+1])
	}
	answer := httptest.NewRecorder()
	handler.ServeHTTP(answer, request)
	return answer.Result()
}

func body(t *testing.T, r io.Reader) string {
	t.Helper()
	text, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestEveryAnswerIsGuarded(t *testing.T) {
	handler := Handler(site(t), quiet)
	unbuilt := Handler(func() (*pwa.Site, error) { return nil, pwa.ErrNotBuilt }, quiet)
	for _, answer := range []*http.Response{
		get(handler, "GET", "/"), get(handler, "GET", "/nowhere"), get(handler, "POST", "/"), get(unbuilt, "GET", "/"),
	} {
		csp := answer.Header.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'none'"} {
			if !strings.Contains(csp, part) {
				t.Errorf("%d: the policy lacks %s: %s", answer.StatusCode, part, csp)
			}
		}
		if strings.Contains(csp, "unsafe-inline") || strings.Contains(csp, "'unsafe-eval'") || strings.Contains(csp, "http") {
			t.Errorf("the policy lets in too much: %s", csp)
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
			if got := answer.Header.Get(name); got != want {
				t.Errorf("%d: %s is %q, want %q", answer.StatusCode, name, got, want)
			}
		}
		if answer.Header.Get("Permissions-Policy") == "" {
			t.Error("no Permissions-Policy")
		}
	}
}

// A file that begins no worker may do nothing, if it were begun as one.
func TestOnlyWorkersMayDoAnything(t *testing.T) {
	h := get(Handler(site(t), quiet), "GET", "/app.0123456789.js").Header
	if h.Get("Content-Security-Policy") != "default-src 'none'" || h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cross-Origin-Resource-Policy") != "same-origin" {
		t.Errorf("%v", h)
	}
}

// A script may begin a worker, which takes its policy from the script's own answer.
func TestFilesAreGuardedToo(t *testing.T) {
	handler := Handler(site(t), quiet)
	for _, at := range []string{"/sw.js"} {
		h := get(handler, "GET", at).Header
		csp := h.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "script-src 'self' 'wasm-unsafe-eval'", "connect-src 'self'", "worker-src 'self'"} {
			if !strings.Contains(csp, part) {
				t.Errorf("%s: the policy lacks %s: %s", at, part, csp)
			}
		}
		if strings.Contains(csp, "unsafe-inline") || strings.Contains(csp, "'unsafe-eval'") || strings.Contains(csp, "http") {
			t.Errorf("%s: the policy lets in too much: %s", at, csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cross-Origin-Resource-Policy") != "same-origin" || h.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s: %v", at, h)
		}
	}
}

func TestFilesAndTheirLifetimes(t *testing.T) {
	handler := Handler(site(t), quiet)
	for _, c := range []struct {
		path        string
		status      int
		cache, kind string
	}{
		{"/", 200, "no-cache", "text/html; charset=utf-8"},
		{"/index.html", 200, "no-cache", "text/html; charset=utf-8"},
		{"/sw.js", 200, "no-cache", "text/javascript; charset=utf-8"},
		{"/app.0123456789.js", 200, "public, max-age=31536000, immutable", "text/javascript; charset=utf-8"},
		{"/app.js", 404, "no-store", "text/plain; charset=utf-8"},
		{"/files.json", 404, "no-store", "text/plain; charset=utf-8"},
		{"/app.0123456789.js.br", 404, "no-store", "text/plain; charset=utf-8"},
		{"/../main.go", 404, "no-store", "text/plain; charset=utf-8"},
		{"//etc/passwd", 404, "no-store", "text/plain; charset=utf-8"},
		{"/gone.js", 500, "no-store", "text/plain; charset=utf-8"},
	} {
		answer := get(handler, "GET", c.path)
		if answer.StatusCode != c.status || answer.Header.Get("Cache-Control") != c.cache || answer.Header.Get("Content-Type") != c.kind {
			t.Errorf("%s: %d, %q, %q", c.path, answer.StatusCode, answer.Header.Get("Cache-Control"), answer.Header.Get("Content-Type"))
		}
	}
}

// The header's grammar and meaning: RFC 9110, section 12.5.3.
func TestTheFormIsWhatTheBrowserAccepts(t *testing.T) {
	handler := Handler(site(t), quiet)
	for _, c := range []struct{ accept, want string }{
		{"", ""},
		{"gzip, deflate, br, zstd", "br"},
		{"gzip, deflate", "gzip"},
		{"GZIP", "gzip"},
		{"br;q=0, gzip", "gzip"},
		{"br;q=0.5, gzip;q=0.8", "gzip"},
		{"br; q=0.5 , gzip ;q=0.2", "br"},
		{"*", "br"},
		{"*;q=0", ""},
		{"br;q=0, *", "gzip"},
		{"identity;q=1, br;q=0.5", ""},
		{"identity", ""},
		{"br;q=2", ""},
		{"br;q=NaN", ""},
		{"br;q=x, gzip", "gzip"},
		{"deflate", ""},
		{";;,,=", ""},
	} {
		answer := get(handler, "GET", "/app.0123456789.js", "Accept-Encoding", c.accept)
		if got := answer.Header.Get("Content-Encoding"); got != c.want {
			t.Errorf("%q: %q, want %q", c.accept, got, c.want)
		}
		if answer.Header.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%q: Vary is %q", c.accept, answer.Header.Get("Vary"))
		}
		unpacked := io.Reader(answer.Body)
		switch c.want {
		case "br":
			unpacked = brotli.NewReader(answer.Body)
		case "gzip":
			var err error
			if unpacked, err = gzip.NewReader(answer.Body); err != nil {
				t.Fatal(err)
			}
		}
		if got := body(t, unpacked); got != script {
			t.Errorf("%q: the script came out as %q", c.accept, got)
		}
	}
	if got := get(handler, "GET", "/", "Accept-Encoding", "br").Header.Get("Content-Encoding"); got != "" {
		t.Errorf("a file that was not compressed is said to be %q", got)
	}
}

func TestWhatTheBrowserHasIsNotSentAgain(t *testing.T) {
	handler := Handler(site(t), quiet)
	plainTag := get(handler, "GET", "/app.0123456789.js").Header.Get("ETag")
	brotliTag := get(handler, "GET", "/app.0123456789.js", "Accept-Encoding", "br").Header.Get("ETag")
	if plainTag == brotliTag || plainTag == "" {
		t.Fatalf("two forms with the tags %s and %s", plainTag, brotliTag)
	}
	for _, c := range []struct {
		tag    string
		status int
	}{{brotliTag, 304}, {"W/" + brotliTag, 304}, {`"x", ` + brotliTag, 304}, {"*", 304}, {plainTag, 200}, {`"x"`, 200}} {
		answer := get(handler, "GET", "/app.0123456789.js", "Accept-Encoding", "br", "If-None-Match", c.tag)
		if answer.StatusCode != c.status {
			t.Errorf("If-None-Match %s: %d, want %d", c.tag, answer.StatusCode, c.status)
		}
		if c.status == 304 && body(t, answer.Body) != "" {
			t.Error("a 304 with a body")
		}
	}
}

func TestHeadAndOtherMethods(t *testing.T) {
	handler := Handler(site(t), quiet)
	head := get(handler, "HEAD", "/app.0123456789.js")
	if head.StatusCode != 200 || head.ContentLength != int64(len(script)) || body(t, head.Body) != "" {
		t.Errorf("HEAD: %d, %d bytes told", head.StatusCode, head.ContentLength)
	}
	post := get(handler, "POST", "/")
	if post.StatusCode != 405 || post.Header.Get("Allow") != "GET, HEAD" {
		t.Errorf("POST: %d, Allow %q", post.StatusCode, post.Header.Get("Allow"))
	}
}

func TestAnAppThatIsNotThereIsSaid(t *testing.T) {
	unbuilt := get(Handler(func() (*pwa.Site, error) { return nil, pwa.ErrNotBuilt }, quiet), "GET", "/")
	if text := body(t, unbuilt.Body); unbuilt.StatusCode != 503 || !strings.Contains(text, "make build") {
		t.Errorf("not built: %d, %s", unbuilt.StatusCode, text)
	}
	broken := get(Handler(func() (*pwa.Site, error) { return nil, errors.New("disk /secret/path") }, quiet), "GET", "/")
	if text := body(t, broken.Body); broken.StatusCode != 500 || strings.Contains(text, "secret") {
		t.Errorf("broken: %d, %s", broken.StatusCode, text)
	}
}

// started runs a home as the program does, for this computer alone, on any free port.
func started(t *testing.T) (address string, stop func() error) {
	t.Helper()
	listener, err := Listen(Loopback, 0)
	if err != nil {
		t.Fatal(err)
	}
	home := New(Options{Store: storeIn(t, t.TempDir()), Site: site(t)})
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- home.Serve(ctx, Listeners{Here: listener}) }()
	return listener.Addr().String(), func() error {
		cancel()
		select {
		case err := <-ended:
			return err
		case <-time.After(10 * time.Second):
			return errors.New("it did not end")
		}
	}
}

// storeIn opens a store, and closes it when the test ends.
func storeIn(t testing.TB, dir string) *store.Store {
	t.Helper()
	s, err := store.Open(dir, store.Options{Log: quiet})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func TestServesAndStops(t *testing.T) {
	address, stop := started(t)
	answer, err := http.Get("http://" + address + "/")
	if err != nil {
		t.Fatal(err)
	}
	if text := body(t, answer.Body); text != "<p>hi" {
		t.Errorf("served %q", text)
	}
	if err := answer.Body.Close(); err != nil {
		t.Error(err)
	}
	if err := stop(); err != nil {
		t.Errorf("stopped with %v", err)
	}
	if _, err := net.Dial("tcp", address); err == nil {
		t.Error("it still listens")
	}
}

func TestOnlyThisComputerIsListenedTo(t *testing.T) {
	listener, err := Listen(Loopback, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	if host, _, _ := net.SplitHostPort(listener.Addr().String()); !net.ParseIP(host).IsLoopback() {
		t.Errorf("listens on %s", host)
	}
}

func TestAPortInUseIsSaid(t *testing.T) {
	listener, err := Listen(Loopback, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	_, err = Listen(Loopback, Port(listener))
	if !errors.Is(err, ErrPortInUse) || !strings.Contains(err.Error(), strconv.Itoa(Port(listener))) {
		t.Errorf("told %v", err)
	}
}

func TestHugeHeadersAreRefused(t *testing.T) {
	address, stop := started(t)
	request, err := http.NewRequest("GET", "http://"+address+"/", nil)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("X-Long", strings.Repeat("a", 64<<10))
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		t.Fatal(err)
	}
	answer.Body.Close()
	if answer.StatusCode != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("answered %d", answer.StatusCode)
	}
	if err := stop(); err != nil {
		t.Error(err)
	}
}

// A client that sends its headers a byte at a time is cut off after headerTime.
func TestADawdlerIsCutOff(t *testing.T) {
	before := headerTime
	headerTime = 200 * time.Millisecond
	defer func() { headerTime = before }()
	address, stop := started(t)
	connection, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer connection.Close()
	if _, err := io.WriteString(connection, "GET / HTTP/1.1\r\nHost: x\r\nX-Slow: "); err != nil {
		t.Fatal(err)
	}
	if err := connection.SetReadDeadline(time.Now().Add(5 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if text, err := io.ReadAll(connection); err != nil {
		t.Errorf("it was not cut off: %q, %v", text, err)
	}
	if err := stop(); err != nil {
		t.Error(err)
	}
}
