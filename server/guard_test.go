package server

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"needlesight/data/store"
	"needlesight/sync/wire"
)

// ask asks with any headers and any body.
func (s *served) ask(t testing.TB, method, path string, body []byte, header ...string) (int, http.Header, string) {
	t.Helper()
	r, err := http.NewRequest(method, s.base+path, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(header); i += 2 {
		if header[i] == "Host" {
			r.Host = header[i+1]
		}
		r.Header.Set(header[i], header[i+1])
	}
	response, err := (&http.Client{Transport: &http.Transport{TLSClientConfig: s.tls, DisableKeepAlives: true}}).Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	text, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, response.Header, string(text)
}

// routes is every route that wants a token.
var routes = [][2]string{
	{"POST", "/api/code"}, {"GET", "/api/devices"}, {"POST", "/api/devices/aaaaaaaaaaaaaaaa"}, {"POST", "/api/devices/aaaaaaaaaaaaaaaa/strike"},
	{"GET", "/api/pictures/" + wool}, {"HEAD", "/api/pictures/" + wool}, {"PATCH", "/api/pictures/" + wool}, {"POST", "/api/pictures/missing"},
}

// wool is the name of a picture.
var wool = hashOf([]byte("wool"))

func hashOf(picture []byte) string {
	sum := sha256.Sum256(picture)
	return hex.EncodeToString(sum[:])
}

func TestNothingWithoutAToken(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	for _, bad := range []string{"", "Bearer ", "Bearer x", "Bearer " + token[:len(token)-1], "Basic " + token, token} {
		for _, route := range routes {
			status, _, text := s.ask(t, route[0], route[1], nil, "Authorization", bad)
			if status != http.StatusUnauthorized && status != http.StatusTooManyRequests {
				t.Errorf("%s %s with %.12q answers %d %s", route[0], route[1], bad, status, text)
			}
		}
	}
	if status, _, text := s.ask(t, "GET", "/api/home", nil); status != 200 || text != "{\"needlesight\":1}\n" {
		t.Errorf("a stranger is told %d %s", status, text)
	}
	if status, _, text := s.ask(t, "GET", "/api/home", nil, "Authorization", "Bearer "+token); status != 200 || !strings.Contains(text, "epoch") {
		t.Errorf("a device is told %d %s", status, text)
	}
}

func TestOnlyHomesOwnPagesMayAsk(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	port := s.base[strings.LastIndex(s.base, ":"):]
	for origin, want := range map[string]int{
		"": 200, "http://localhost" + port: 200, "http://127.0.0.1" + port: 200, "http://[::1]" + port: 200,
		"null": 403, "http://localhost": 403, "https://localhost" + port: 403, "http://evil.example" + port: 403, "http://localhost" + port + ".evil.example": 403, "http://LOCALHOST" + port: 403,
	} {
		header := []string{"Authorization", "Bearer " + token}
		if origin != "" {
			header = append(header, "Origin", origin)
		}
		status, head, _ := s.ask(t, "GET", "/api/devices", nil, header...)
		if status != want {
			t.Errorf("from %q: %d", origin, status)
		}
		if allowed := head.Get("Access-Control-Allow-Origin"); allowed != "" && (want != 200 || allowed != origin) {
			t.Errorf("from %q: pages of %q may read the answer", origin, allowed)
		}
		if origin == "" {
			continue
		}
		h := headerOf(token)
		h.Set("Origin", origin)
		ws, answer, err := websocket.DefaultDialer.Dial(s.wsURL, h)
		if ws != nil {
			ws.Close()
		}
		if (err == nil) != (want == 200) {
			t.Errorf("the websocket from %q: %v %v", origin, answer, err)
		}
	}
}

func headerOf(token string) http.Header { return header(token) }

// A page whose owner has its name lead to this computer (DNS rebinding) gets nothing.
func TestAnotherNameForThisComputerGetsNothing(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	port := s.base[strings.LastIndex(s.base, ":"):]
	for _, path := range []string{"/", "/api/home", "/api/pair", "/control/devices"} {
		for _, host := range []string{"evil.example" + port, "evil.example", "localhost", "localhost:1", "127.0.0.1.evil.example" + port, "0.0.0.0" + port} {
			if status, _, text := s.ask(t, "GET", path, nil, "Host", host); status != http.StatusMisdirectedRequest {
				t.Errorf("%s as %s: %d %s", path, host, status, text)
			}
		}
	}
}

func TestEveryAnswerOfTheAPIIsGuarded(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	for _, path := range []string{"/api/home", "/api/devices", "/api/nothing"} {
		_, head, _ := s.ask(t, "GET", path, nil)
		for name, want := range map[string]string{
			"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
			"Cross-Origin-Resource-Policy": "same-origin", "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
		} {
			if head.Get(name) != want {
				t.Errorf("%s has %s: %q", path, name, head.Get(name))
			}
		}
	}
}

func TestPairingIsHardToGuess(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	right := s.home.NewCode().Code
	try := func(code string) (int, string) {
		status, told := s.request(t, "POST", "/api/pair", "", map[string]string{"code": code, "name": "thief"})
		return status, text(told)
	}
	swapped := []byte(right)
	swapped[0] = '0' + (swapped[0]-'0'+1)%10
	if status, told := try(string(swapped)); status != 400 || !strings.Contains(told, "code-mistyped") {
		t.Errorf("mistyped: %d %s", status, told)
	}
	wrong := 0
	for n := 0; wrong < store.CodeTries; n++ {
		code := s.home.o.Store.NewCode(time.Now().Add(-time.Hour)) // well formed, and over long ago
		switch status, told := try(code); status {
		case 403:
			wrong++
		case 429:
			if wrong == 0 {
				t.Fatalf("nobody may try at all: %s", told)
			}
			wrong = store.CodeTries // it may not go on at this pace
		default:
			t.Fatalf("%d %s", status, told)
		}
	}
	for range 40 {
		if status, _ := try(right); status == 200 {
			t.Fatal("after many wrong tries the right one still lets in")
		} else if status == 429 {
			return
		}
	}
	t.Error("one may try for ever")
}

func TestACodeLetsInOnce(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	code := s.home.NewCode().Code
	typed := code[:3] + "-" + code[3:6] + " " + code[6:]
	for i, want := range []int{400, 200, 403} { // a bad name uses nothing up
		name := []string{" ", "phone", "phone"}[i]
		if status, told := s.request(t, "POST", "/api/pair", "", map[string]string{"code": typed, "name": name}); status != want {
			t.Errorf("try %d: %d %v", i, status, told)
		}
	}
}

func TestBadRequestsAreRefused(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	for name, test := range map[string]struct {
		body string
		want int
	}{
		"nothing": {"", 400}, "not JSON": {"wool", 400}, "a stranger's field": {`{"code":"1","name":"a","more":1}`, 400}, "another type": {`{"code":1}`, 400},
		"two": {`{"code":"1","name":"a"}{}`, 400}, "huge": {`{"code":"` + strings.Repeat("1", maxJSON) + `"}`, 413},
	} {
		if status, _, text := s.ask(t, "POST", "/api/pair", []byte(test.body)); status != test.want || !strings.Contains(text, `"code":"`) {
			t.Errorf("%s: %d %s", name, status, text)
		}
	}
}

func TestPicturesComeInPiecesThatResume(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	picture := make([]byte, 600_000)
	for i := range picture {
		picture[i] = byte(i * i >> 7)
	}
	hash := hashOf(picture)
	bearer := "Bearer " + token
	if status, head, _ := s.ask(t, "HEAD", "/api/pictures/"+hash, nil, "Authorization", bearer); status != 404 || head.Get("Upload-Offset") != "0" {
		t.Errorf("before: %d %v", status, head)
	}
	put := func(from, to int, last string) (int, string) {
		status, head, _ := s.ask(t, "PATCH", "/api/pictures/"+hash, picture[from:to], "Authorization", bearer, "Upload-Offset", strconv.Itoa(from), "Upload-Complete", last)
		return status, head.Get("Upload-Offset")
	}
	for i, step := range []struct {
		from, to int
		last     string
		status   int
		offset   string
	}{
		{0, 256 << 10, "?0", 204, "262144"}, {0, 10, "?0", 409, "262144"}, {300_000, 400_000, "?0", 409, "262144"},
		{256 << 10, 500_000, "?0", 204, "500000"}, {500_000, 600_000, "?1", 201, "600000"}, {0, 10, "?0", 201, ""},
	} {
		if status, offset := put(step.from, step.to, step.last); status != step.status || offset != step.offset {
			t.Errorf("piece %d: %d, offset %s", i, status, offset)
		}
	}
	if status, head, text := s.ask(t, "GET", "/api/pictures/"+hash, nil, "Authorization", bearer); status != 200 || text != string(picture) || head.Get("Content-Type") != "application/octet-stream" {
		t.Errorf("got %d, %d bytes, %v", status, len(text), head)
	}
	if status, _, text := s.ask(t, "GET", "/api/pictures/"+hash, nil, "Authorization", bearer, "Range", "bytes=500000-"); status != 206 || text != string(picture[500_000:]) {
		t.Errorf("a part: %d, %d bytes", status, len(text))
	}
	if _, told := s.request(t, "POST", "/api/pictures/missing", token, map[string][]string{"hashes": {hash, wool}}); fmt.Sprint(told["missing"]) != "["+wool+"]" {
		t.Errorf("missing is %v", told)
	}
}

func TestBadPicturesAreRefused(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	bearer := "Bearer " + token
	for name, test := range map[string]struct {
		method, hash, offset, last string
		body                       []byte
		want                       int
	}{
		"a path":            {"GET", "..%2f..%2frunning.json", "", "", nil, 400},
		"capitals":          {"GET", strings.ToUpper(wool), "", "", nil, 400},
		"no offset":         {"PATCH", wool, "", "?1", []byte("wool"), 400},
		"a negative one":    {"PATCH", wool, "-1", "?1", []byte("wool"), 400},
		"no word of an end": {"PATCH", wool, "0", "", []byte("wool"), 400},
		"another picture":   {"PATCH", wool, "0", "?1", []byte("silk"), 422},
		"a large piece":     {"PATCH", hashOf([]byte("large")), "0", "?0", make([]byte, maxPiece+1), 413},
	} {
		if status, _, text := s.ask(t, test.method, "/api/pictures/"+test.hash, test.body, "Authorization", bearer, "Upload-Offset", test.offset, "Upload-Complete", test.last); status != test.want {
			t.Errorf("%s: %d %s", name, status, text)
		}
	}
	if status, head, _ := s.ask(t, "HEAD", "/api/pictures/"+wool, nil, "Authorization", bearer); status != 404 || head.Get("Upload-Offset") != "0" {
		t.Errorf("what was wrong is still there: %d %v", status, head)
	}
}

// bye speaks with home as a device would not, and gives the code home ends it with;
// "" if it just hung up.
func bye(t testing.TB, s *served, token string, frames ...[]byte) string {
	t.Helper()
	ws, _, err := websocket.DefaultDialer.Dial(s.wsURL, header(token))
	if err != nil {
		t.Fatal(err)
	}
	defer ws.Close()
	for _, f := range frames {
		if ws.WriteMessage(websocket.BinaryMessage, f) != nil {
			break
		}
	}
	if err := ws.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	for {
		_, frame, err := ws.ReadMessage()
		if e, slow := err.(net.Error); slow && e.Timeout() {
			t.Fatal("home says nothing and does not hang up")
		}
		if err != nil {
			return ""
		}
		if m, err := wire.Decode(frame); err == nil {
			if b, is := m.(*wire.Bye); is {
				return b.Code
			}
		}
	}
}

func encode(t testing.TB, m wire.Message) []byte {
	t.Helper()
	frame, err := wire.Encode(m)
	if err != nil {
		t.Fatal(err)
	}
	return frame
}

func TestWhoSpeaksOtherwiseIsToldAndCutOff(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	hello := encode(t, &wire.Hello{Low: 1, High: 1, Device: "aaaaaaaaaaaaaaaa"})
	for name, test := range map[string]struct {
		frames [][]byte
		want   string
	}{
		"garbage":        {[][]byte{[]byte("wool")}, wire.ByeMessage},
		"nothing":        {[][]byte{{}}, wire.ByeMessage},
		"no hello":       {[][]byte{encode(t, &wire.Ping{Mark: 1})}, wire.ByeMessage},
		"two hellos":     {[][]byte{hello, hello}, wire.ByeMessage},
		"from tomorrow":  {[][]byte{encode(t, &wire.Hello{Low: 99, High: 99})}, wire.ByeTooNew},
		"home's own":     {[][]byte{hello, encode(t, &wire.Ack{Batch: 1})}, wire.ByeMessage},
		"a wrong batch":  {[][]byte{hello, {3, 9, 0}}, wire.ByeMessage},
		"a huge frame":   {[][]byte{make([]byte, wire.MaxFrame+1)}, ""},
		"seen too much":  {[][]byte{hello, encode(t, &wire.Seen{To: 9})}, wire.ByeMessage},
		"a broken frame": {[][]byte{hello[:len(hello)-2]}, wire.ByeMessage},
	} {
		if code := bye(t, s, token, test.frames...); code != test.want {
			t.Errorf("%s: %q", name, code)
		}
	}
	if code := bye(t, s, "nobody's"); code != wire.ByeStruck {
		t.Errorf("without a token: %q", code)
	}
}

// What is small on the way may be huge once it is unpacked: home hangs up before.
func TestAFrameThatUnpacksHugeIsCutOff(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	dialer := websocket.Dialer{EnableCompression: true}
	ws, _, err := dialer.Dial(s.wsURL, header(token))
	if err != nil {
		t.Fatal(err)
	}
	defer ws.Close()
	if ws.WriteMessage(websocket.BinaryMessage, make([]byte, 16<<20)) != nil { // 16 kB on the way
		return // it has hung up already
	}
	if err := ws.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	_, frame, err := ws.ReadMessage()
	if e, slow := err.(net.Error); err == nil || slow && e.Timeout() {
		t.Errorf("home read it all: %x, %v", frame, err) // and found that it is no message
	}
}

// Whatever comes, home goes on, and keeps nothing that is no change.
func FuzzFrames(f *testing.F) {
	f.Add([]byte("wool"), []byte{3, 1, 0})
	f.Add([]byte{1, 1, 1}, []byte{6, 200})
	s := serveStore(f, storeIn(f, f.TempDir()), nil)
	_, token, err := s.home.o.Store.AddDevice("phone", time.Now())
	if err != nil {
		f.Fatal(err)
	}
	hello := encode(f, &wire.Hello{Low: 1, High: 1, Device: "aaaaaaaaaaaaaaaa"})
	f.Fuzz(func(t *testing.T, a, b []byte) {
		bye(t, s, token, a, b, []byte("the end"))
		bye(t, s, token, hello, a, b, []byte("the end"))
	})
}

func TestRandomFramesHarmNobody(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	r := rand.New(rand.NewPCG(7, 7))
	hello := encode(t, &wire.Hello{Low: 1, High: 1, Device: "aaaaaaaaaaaaaaaa"})
	for range 300 {
		frame := make([]byte, r.IntN(60))
		for i := range frame {
			frame[i] = byte(r.IntN(256))
		}
		if len(frame) > 0 {
			frame[0] = byte(r.IntN(12))
		}
		bye(t, s, token, hello, frame, []byte("the end"))
	}
	p := newPhone(t, s, token, 1)
	p.make(1)
	p.start()
	defer p.quit()
	p.home()
}

func TestThereAreOnlySoManyConnections(t *testing.T) {
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	_, token := s.pair(t, "phone")
	for range maxDeviceLinks {
		ws, _, err := websocket.DefaultDialer.Dial(s.wsURL, header(token))
		if err != nil {
			t.Fatal(err)
		}
		defer ws.Close()
	}
	for deadline := time.Now().Add(20 * time.Second); len(s.home.hub.connected()) == 0 || sum(s.home.hub.connected()) < maxDeviceLinks; time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("they do not all come in")
		}
	}
	if code := bye(t, s, token); code != wire.ByeBusy {
		t.Errorf("one more is told %q", code)
	}
}

func sum(of map[string]int) (n int) {
	for _, v := range of {
		n += v
	}
	return n
}

// The log of a home says nothing of tokens, codes, names or values, however much it says.
func TestTheLogTellsNoSecrets(t *testing.T) {
	var log bytes.Buffer
	kept := storeIn(t, t.TempDir())
	listener, err := Listen(Loopback, 0)
	if err != nil {
		t.Fatal(err)
	}
	home := New(Options{Store: kept, Site: site(t), Log: slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	l := Listeners{Here: listener, Secret: "SECRETSECRET"}
	home.Place(l)
	go func() { ended <- home.Serve(ctx, l) }()
	s := &served{home: home, base: "http://" + listener.Addr().String(), wsURL: "ws://" + listener.Addr().String() + "/api/sync"}
	code := home.NewCode().Code
	_, told := s.request(t, "POST", "/api/pair", "", map[string]string{"code": code, "name": "Otterphone"})
	token := told["token"].(string)
	p := newPhone(t, s, token, 1)
	p.make(2)
	p.start()
	p.home()
	p.quit()
	s.ask(t, "GET", "/api/devices?token="+token, nil, "Authorization", "Bearer "+token)
	s.ask(t, "GET", "/control/devices", nil, "Authorization", "Bearer SECRETSECRET")
	cancel()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	for _, secret := range []string{token, code, "Otterphone", "SECRETSECRET", "tail", "127.0.0.1"} {
		if strings.Contains(log.String(), secret) {
			t.Errorf("the log tells %q:\n%s", secret, &log)
		}
	}
	if !strings.Contains(log.String(), "paired") {
		t.Errorf("the log says nothing at all: %s", &log)
	}
}

func TestTheCommandsReachAServedHomeAndNobodyElseDoes(t *testing.T) {
	dir := t.TempDir()
	if _, err := Dial(dir); err != ErrNotRunning {
		t.Errorf("where none is served: %v", err)
	}
	s := serveStore(t, storeIn(t, t.TempDir()), nil)
	port, err := strconv.Atoi(s.base[strings.LastIndex(s.base, ":")+1:])
	if err != nil {
		t.Fatal(err)
	}
	gone, err := Announce(dir, port, "secret")
	if err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(filepath.Join(dir, runningFile)); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the file with the secret: %v, %v", info, err)
	}
	c, err := Dial(dir)
	if err != nil {
		t.Fatal(err)
	}
	code, err := c.NewCode(t.Context())
	if err != nil || len(code.Code) != 9 || !strings.HasSuffix(code.Here, "#/pair/"+code.Code) {
		t.Errorf("code %+v, %v", code, err)
	}
	var backup bytes.Buffer
	if err := c.Backup(t.Context(), &backup); err != nil {
		t.Error(err)
	}
	if _, err := store.Inspect(bytes.NewReader(backup.Bytes()), int64(backup.Len())); err != nil {
		t.Error(err)
	}
	if err := c.Export(t.Context(), "an owl that is not there", new(bytes.Buffer)); err == nil || !strings.Contains(err.Error(), "owl") {
		t.Errorf("an export of nothing: %v", err)
	}
	for _, header := range [][]string{{}, {"Authorization", "Bearer wrong"}, {"Authorization", "Bearer secret", "Origin", s.base}} {
		if status, _, text := s.ask(t, "POST", "/control/code", nil, header...); status != 403 {
			t.Errorf("with %v: %d %s", header, status, text)
		}
	}
	// A home that was killed leaves the file; another program may have the port by now.
	other, err := Listen(Loopback, 0)
	if err != nil {
		t.Fatal(err)
	}
	go http.Serve(other, http.NotFoundHandler()) // it ends with the test
	if _, err := Announce(dir, Port(other), "secret"); err != nil {
		t.Fatal(err)
	}
	if _, err := Dial(dir); err != ErrNotRunning {
		t.Errorf("where another program answers: %v", err)
	}
	other.Close()
	if _, err := Dial(dir); err != ErrNotRunning {
		t.Errorf("where nobody answers: %v", err)
	}
	if err := gone(); err != nil {
		t.Error(err)
	}
}
