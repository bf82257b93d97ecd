package trust

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"
)

const iphone = "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Mobile/15E148 Safari/604.1"

// get asks the welcome server, as if at an address of the home.
func get(h http.Handler, method, path, agent string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, nil)
	r.Host = "192.168.1.20:8788"
	r.Header.Set("User-Agent", agent)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestTheWelcomePageShowsTheFingerprint(t *testing.T) {
	h := newHome(t, nil)
	w := get(h.Welcome(8787), "GET", "/", iphone)
	if w.Code != http.StatusOK {
		t.Fatal(w.Code, w.Body)
	}
	inGroups := regexp.MustCompile(`<span>([0-9A-F:]+)</span>`).FindAllStringSubmatch(w.Body.String(), -1)
	var shown []string
	for _, group := range inGroups {
		shown = append(shown, group[1])
	}
	if got := strings.Join(shown, ":"); got != h.State().Fingerprint {
		t.Errorf("the page shows %s, the terminal %s", got, h.State().Fingerprint)
	}
	if text := written(t, Greeting{Fingerprint: h.State().Fingerprint}, false); !strings.Contains(strings.ReplaceAll(text, "\n  ", ":"), h.State().Fingerprint) {
		t.Errorf("the terminal shows\n%s", text)
	}
	for _, want := range []string{`href="https://needlesight.local:8787/"`, `data-direct="https://192.168.1.20:8787"`, "25 November 2026", "25 November 2036"} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("the page lacks %s", want)
		}
	}
}

func TestTheWelcomePageIsStrict(t *testing.T) {
	h := newHome(t, nil)
	w := get(h.Welcome(8787), "GET", "/", iphone)
	want := "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' https://needlesight.local:8787 https://192.168.1.20:8787; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
	if got := w.Header().Get("Content-Security-Policy"); got != want {
		t.Errorf("the policy is %s", got)
	}
	if regexp.MustCompile(`(?i)\sstyle=|\son[a-z]+=|<style|<script>|javascript:`).MatchString(w.Body.String()) {
		t.Error("the page has style or script in its markup")
	}
	for path, code := range map[string]int{"/": 200, "/welcome.js": 200, "/nothing": 404} {
		header := get(h.Welcome(8787), "GET", path, "")
		if header.Code != code || header.Header().Get("X-Content-Type-Options") != "nosniff" || header.Header().Get("Cache-Control") != "no-store" || header.Header().Get("Content-Security-Policy") == "" {
			t.Errorf("%s: %d %v", path, header.Code, header.Header())
		}
	}
}

func TestTheAddressOfThePageIsOnlyBelievedWhenItIsOurs(t *testing.T) {
	own := addresses("192.168.1.20", "fd00::20")
	for host, want := range map[string]string{
		"192.168.1.20:8788": "https://192.168.1.20:8787", "192.168.1.20": "https://192.168.1.20:8787", "[fd00::20]:8788": "https://[fd00::20]:8787", "127.0.0.1:8788": "https://127.0.0.1:8787",
		"192.168.1.21:8788": "", "evil.example.com": "", "8.8.8.8:80": "", "": "", "1.2.3.4; script-src *": "", "[::1%25; script-src *]:80": "https://[::1]:8787", // without what was hung on
	} {
		if got := direct(host, own, 8787); got != want {
			t.Errorf("%q gives %q", host, got)
		}
	}
}

func TestNothingElseGoesOverPlainHTTP(t *testing.T) {
	h := newHome(t, nil)
	welcome := h.Welcome(8787)
	for path, kind := range map[string]string{
		"/": "text/html; charset=utf-8", "/welcome.css": "text/css; charset=utf-8", "/welcome.js": "text/javascript; charset=utf-8",
		"/icon.svg": "image/svg+xml", "/needlesight-home.crt": "application/x-x509-ca-cert",
	} {
		w := get(welcome, "GET", path, "")
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != kind || w.Body.Len() == 0 {
			t.Errorf("%s: %d, %s, %d bytes", path, w.Code, w.Header().Get("Content-Type"), w.Body.Len())
		}
		if w := get(welcome, "POST", path, ""); w.Code != http.StatusMethodNotAllowed {
			t.Errorf("POST %s: %d", path, w.Code)
		}
	}
	if got := get(welcome, "GET", "/"+AuthorityFile, ""); !bytes.Equal(got.Body.Bytes(), h.Authority()) {
		t.Error("the file is not the authority's certificate")
	}
	for _, path := range []string{"/index.html", "/welcome.html", "/welcome/", "/app.js", "/name", "/signer.pem", "/leaf.pem", "/trust/signer.pem", "/..%2fsigner.pem", "/needlesight-home.crt/", "/api", "/.well-known/x"} {
		if w := get(welcome, "GET", path, ""); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
}

func TestTheDeviceIsGuessedAndAllAreThere(t *testing.T) {
	h := newHome(t, nil)
	for agent, want := range map[string]string{
		iphone: "iphone",
		"Mozilla/5.0 (iPad; CPU OS 12_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko)":                                "iphone",
		"Mozilla/5.0 (Linux; Android 14; Pixel 8) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/130.0.0.0 Mobile Safari/537.36": "android",
		"Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/130.0.0.0 Safari/537.36":       "windows",
		"Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Safari/605.1.15": "mac",
		"Mozilla/5.0 (X11; Linux x86_64; rv:130.0) Gecko/20100101 Firefox/130.0":                                                "linux",
		"": "iphone",
	} {
		text := get(h.Welcome(8787), "GET", "/", agent).Body.String()
		found := regexp.MustCompile(`<details class="card platform" id="([a-z]+)"( open)?>`).FindAllStringSubmatch(text, -1)
		if len(found) != len(platforms) || found[0][1] != want {
			t.Errorf("%q: %v", agent, found)
			continue
		}
		for i, f := range found {
			if (f[2] != "") != (i == 0) {
				t.Errorf("%q: %v", agent, found)
			}
		}
	}
}

// What Safari keeps, an app on the home screen does not see: there, pairing waits.
func TestWhereTheAppIsOpened(t *testing.T) {
	h := newHome(t, nil)
	for agent, want := range map[string]string{
		iphone: "https://needlesight.local:8443/", "(Macintosh; Intel Mac OS X 10_15_7)": "https://needlesight.local:8443/",
		"(Linux; Android 14; Pixel 8)": "https://needlesight.local:8443/#/pair", "(Windows NT 10.0)": "https://needlesight.local:8443/#/pair",
	} {
		if text := get(h.Welcome(8443), "GET", "/", agent).Body.String(); !strings.Contains(text, `href="`+want+`">Open needlesight`) {
			t.Errorf("%q does not lead to %s", agent, want)
		}
	}
}

func TestOwnCertificatesNeedNoSteps(t *testing.T) {
	h := newHome(t, func(o *Options) { o.CertFile, o.KeyFile = certificate(t, t.TempDir(), 0, nil) })
	text := get(h.Welcome(8787), "GET", "/", iphone).Body.String()
	if strings.Contains(text, AuthorityFile) || !strings.Contains(text, `href="https://home.example.org:8787/"`) {
		t.Error(text)
	}
	if w := get(h.Welcome(8787), "GET", "/"+AuthorityFile, ""); w.Code != http.StatusNotFound {
		t.Errorf("there is an authority's file: %d", w.Code)
	}
}

func TestTheProbeMayBeLoadedFromTheWelcomePage(t *testing.T) {
	w := get(Probe(), "GET", ProbePath, "")
	if w.Code != http.StatusOK || w.Header().Get("Cross-Origin-Resource-Policy") != "cross-origin" || w.Header().Get("Content-Type") != "image/svg+xml" {
		t.Errorf("%d %v", w.Code, w.Header())
	}
}

func TestTheLookIsTheApps(t *testing.T) {
	app, err := os.ReadFile("../../pwa/app/app.css")
	if err != nil {
		t.Fatal(err)
	}
	page, err := welcomeFiles.ReadFile("welcome/welcome.css")
	if err != nil {
		t.Fatal(err)
	}
	block := regexp.MustCompile(`:root[^{]*\{([^}]*)\}`)
	tokens := func(css []byte) (list []string) {
		for _, found := range block.FindAllSubmatch(css, 2) {
			list = append(list, strings.Join(strings.Fields(string(found[1])), " "))
		}
		return list
	}
	want, got := tokens(app), tokens(page)
	if len(want) != 2 || len(got) != 2 || want[0] != got[0] || want[1] != got[1] {
		t.Errorf("the tokens of welcome.css are not those of app.css:\n%q\n%q", got, want)
	}
}
