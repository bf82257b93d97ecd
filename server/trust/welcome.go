package trust

import (
	"bytes"
	"embed"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
)

// AuthorityFile is the name under which devices get the authority's certificate.
const AuthorityFile = "needlesight-home.crt"

// ProbePath is where the HTTPS server has to serve Probe, so that the welcome page can
// tell whether a device trusts home.
const ProbePath = "/trusted.svg"

//go:embed welcome
var welcomeFiles embed.FS

var welcomePage = template.Must(template.New("welcome.html").Funcs(template.FuncMap{"picture": picture}).ParseFS(welcomeFiles, "welcome/welcome.html"))

// platform is one kind of device on the welcome page.
type platform struct {
	ID, Title string
	Open      bool // shown at once, the others when asked for
}

var platforms = []platform{
	{ID: "iphone", Title: "iPhone or iPad"},
	{ID: "android", Title: "Android"},
	{ID: "windows", Title: "Windows"},
	{ID: "mac", Title: "Mac"},
	{ID: "linux", Title: "Linux"},
}

// page is what the welcome page shows.
type page struct {
	Host, Origin, Direct, Probe, File string
	Enter                             string // where the app is opened: at its front, or at pairing
	Own                               bool
	Installs                          bool     // the installed app shares nothing with the browser, so pairing waits until it is installed
	Fingerprint                       []string // in groups of four pairs
	Made, Ends, Listed                string   // when, and under what name devices list it
	Platforms                         []platform
}

// Welcome is all that goes over plain HTTP: the page that leads a device through
// trusting home, its own style, script and icon, and the authority's file. port is
// that of the HTTPS server, 1 to 65535.
func (t *Trust) Welcome(port int) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { t.servePage(w, r, port) })
	for name, kind := range map[string]string{
		"welcome.css": "text/css; charset=utf-8", "welcome.js": "text/javascript; charset=utf-8", "icon.svg": "image/svg+xml",
	} {
		text, err := welcomeFiles.ReadFile("welcome/" + name)
		if err != nil {
			panic(err) // it is inside the program
		}
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, _ *http.Request) { reply(w, kind, text, t.o.Log) })
	}
	if t.authority != nil {
		mux.HandleFunc("GET /"+AuthorityFile, func(w http.ResponseWriter, _ *http.Request) {
			// Only with this type do iPhones offer to install it.
			reply(w, "application/x-x509-ca-cert", t.authority.root.Raw, t.o.Log)
		})
	}
	return withHeaders(mux)
}

// withHeaders gives every answer, also that there is nothing, what keeps it tame.
func withHeaders(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

func reply(w http.ResponseWriter, kind string, text []byte, log *slog.Logger) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(text)))
	if _, err := w.Write(text); err != nil {
		log.Debug("the browser went away", "error", err)
	}
}

func (t *Trust) servePage(w http.ResponseWriter, r *http.Request, port int) {
	state := t.State()
	p := page{
		Host: state.Host, Origin: "https://" + net.JoinHostPort(state.Host, strconv.Itoa(port)), Direct: direct(r.Host, state.Addresses, port),
		Probe: ProbePath, File: AuthorityFile, Own: t.authority == nil, Platforms: platformsFor(r.UserAgent()),
		Made: longDay(state.Made), Ends: longDay(state.Ends),
	}
	p.Enter = p.Origin + "/#/pair"
	if own := platformOf(r.UserAgent()); own == "iphone" || own == "mac" { // an iPad may call itself a Mac
		p.Enter, p.Installs = p.Origin+"/", own == "iphone"
	}
	for group := range slices.Chunk(strings.Split(state.Fingerprint, ":"), 4) {
		p.Fingerprint = append(p.Fingerprint, strings.Join(group, ":"))
	}
	if t.authority != nil {
		p.Listed = t.authority.root.Subject.CommonName
	}
	var text bytes.Buffer
	if err := welcomePage.Execute(&text, p); err != nil {
		t.o.Log.Error("the welcome page cannot be written", "error", err)
		http.Error(w, "The page cannot be shown; the program's own output says why.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Security-Policy", strings.Join([]string{
		"default-src 'none'", "style-src 'self'", "script-src 'self'", strings.TrimSpace("img-src 'self' " + p.Origin + " " + p.Direct),
		"base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'",
	}, "; "))
	w.Header().Set("Vary", "User-Agent")
	reply(w, "text/html; charset=utf-8", text.Bytes(), t.o.Log)
}

// direct is the HTTPS server by the address that the page was asked at, so that a name
// that is not found can be told from a certificate that is not trusted. What the
// browser says is only believed when it is an address of this computer.
func direct(host string, own []netip.Addr, port int) string {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	at, err := netip.ParseAddr(strings.Trim(host, "[]"))
	if err != nil || !slices.Contains(own, at.Unmap()) && !at.IsLoopback() {
		return ""
	}
	return "https://" + net.JoinHostPort(at.Unmap().WithZone("").String(), strconv.Itoa(port))
}

// platformsFor puts the device that asks first, and opens its steps.
func platformsFor(agent string) []platform {
	own := platformOf(agent)
	list := slices.Clone(platforms)
	at := slices.IndexFunc(list, func(p platform) bool { return p.ID == own })
	first := list[at]
	first.Open = true
	return slices.Insert(slices.Delete(list, at, at+1), 0, first)
}

// platformOf guesses the device by what its browser calls itself; it is only a guess,
// and the page shows all of them.
func platformOf(agent string) string {
	for _, sign := range []struct{ word, id string }{
		{"iPhone", "iphone"}, {"iPad", "iphone"}, {"Android", "android"}, {"Windows", "windows"}, {"Macintosh", "mac"}, {"Linux", "linux"}, {"CrOS", "linux"},
	} {
		if strings.Contains(agent, sign.word) {
			return sign.id
		}
	}
	return platforms[0].ID
}

// Probe answers at ProbePath of the HTTPS server with a picture that the welcome page,
// which is of another origin, may load. It tells nothing but that the line is trusted.
func Probe() http.Handler {
	const picture = `<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>`
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Cross-Origin-Resource-Policy", "cross-origin")
		h.Set("Cache-Control", "no-store")
		reply(w, "image/svg+xml", []byte(picture), slog.New(slog.DiscardHandler))
	})
}
