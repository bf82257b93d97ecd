//go:build browser

package trust

import (
	"bytes"
	"crypto/tls"
	"encoding/json"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// TestChromium has a real browser trust the home the proper way. It needs chromium,
// chromedriver, certutil (libnss3-tools), node and pwa/node_modules, and fails without
// them; so it runs only when asked for, with -tags browser. TRUST_SHOTS names a folder
// for pictures of the pages.
func TestChromium(t *testing.T) {
	h := newHome(t, func(o *Options) {
		o.Now = time.Now
		o.Addresses = func() ([]netip.Addr, error) { return addresses("192.168.1.20"), nil }
	})
	page := http.NewServeMux()
	page.HandleFunc("/", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		_, _ = w.Write([]byte("<!doctype html><title>home</title>"))
	})
	page.Handle(ProbePath, Probe())
	serve := func(name, address string) int {
		return overTLS(t, page, &tls.Config{Certificates: []tls.Certificate{forgedPair(t, h.authority, name, address)}})
	}
	ports := map[string]int{
		"home": overTLS(t, page, h.TLS()), "evil": serve("evil.example.com", "127.0.0.1"), "forged": serve("printer.local", "8.8.8.8"),
	}
	welcome := httptest.NewServer(h.Welcome(ports["home"]))
	defer welcome.Close()
	folder := t.TempDir()
	shots := os.Getenv("TRUST_SHOTS")
	if shots == "" {
		shots = filepath.Join(folder, "shots")
	}
	order, err := json.Marshal(map[string]any{
		"welcome": welcome.URL + "/", "ports": ports, "authority": filepath.Join(h.options.Dir, authorityFile), "folder": folder, "shots": shots, "whole": os.Getenv("TRUST_SHOTS") != "",
	})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "testdata/browser.mjs", string(order))
	var trouble bytes.Buffer
	cmd.Stderr = &trouble
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, &trouble)
	}
	var seen struct {
		Before, WelcomeBefore, First, After, ByAddress, Localhost, Evil, Forged, WelcomeAfter, Next, Tablet, HandedOver string
		Secure, WithoutScript                                                                                           bool
		Wrong                                                                                                           []string
	}
	if err := json.Unmarshal(out, &seen); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, c := range []struct{ what, got, want string }{
		{"home before it is trusted", seen.Before, "ERR_CERT_AUTHORITY_INVALID"},
		{"the welcome page before", seen.WelcomeBefore, "untrusted"},
		{"the first device for an iPhone", seen.First, "iphone true"},
		{"home", seen.After, "home"},
		{"home by its address", seen.ByAddress, "home"},
		{"home on this computer", seen.Localhost, "home"},
		{"a site outside the house", seen.Evil, "ERR_CERT_INVALID"},
		{"a device with an address outside", seen.Forged, "ERR_CERT_INVALID"},
		{"the welcome page after", seen.WelcomeAfter, "trusted"},
		{"what stands first after", seen.Next, "next 0 This device trusts home"},
		{"the first device for a tablet that says it is a Mac", seen.Tablet, "iphone true"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %s, not %s", c.what, c.got, c.want)
		}
	}
	if !seen.Secure || !seen.WithoutScript {
		t.Errorf("a secure context: %v; of use without a script: %v", seen.Secure, seen.WithoutScript)
	}
	if want := h.State().Host; seen.HandedOver == "" || !bytes.Contains([]byte(seen.HandedOver), []byte("https://"+want)) || !bytes.HasSuffix([]byte(seen.HandedOver), []byte("/#/pair")) {
		t.Errorf("handed over to %s", seen.HandedOver)
	}
	for _, wrong := range seen.Wrong {
		t.Error(wrong)
	}
}

// forgedPair is a certificate as a thief of the signer's key would make it.
func forgedPair(t *testing.T, a *authority, name, address string) tls.Certificate {
	t.Helper()
	made, err := a.makeLeaf(t.TempDir(), []string{name}, addresses(address), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{made.certificate.Raw, a.signer.Raw}, PrivateKey: made.key}
}

// overTLS serves on this computer alone and returns the port.
func overTLS(t *testing.T, handler http.Handler, config *tls.Config) int {
	t.Helper()
	listener, err := tls.Listen("tcp", "127.0.0.1:0", config)
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: handler}
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(func() { server.Close() })
	return listener.Addr().(*net.TCPAddr).Port
}
