package server

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"needlesight/pwa"
)

// connectMore marks the place in policy of home's other addresses.
const connectMore = "\x00"

// policy is the Content-Security-Policy: everything comes from here, nothing
// leaves, no script or style stands in the markup. WebAssembly may be compiled.
var policy = strings.Join([]string{
	"default-src 'none'",
	"script-src 'self' 'wasm-unsafe-eval'",
	"style-src 'self'",
	"img-src 'self' blob: data:",
	"connect-src 'self'" + connectMore,
	"worker-src 'self'",
	"manifest-src 'self'",
	"base-uri 'none'",
	"form-action 'none'",
	"frame-ancestors 'none'",
}, "; ")

// workerPolicy is the policy of the scripts that begin a worker, which then lives by
// the policy it came with: it loads modules, the engine and its own kind. Any other
// file may do nothing at all, if it were ever begun as one.
const workerPolicy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'" + connectMore + "; worker-src 'self'"

// workers are the scripts that begin one.
var workers = []string{"sw.js", "bench/bench.js", "bench/engine-worker.js", "bench/photo-worker.js"}

// headers go with every answer, but for those that only a page obeys.
var headers = map[string]string{
	"X-Content-Type-Options":       "nosniff",
	"Referrer-Policy":              "no-referrer",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Permissions-Policy":           "camera=(), geolocation=(), microphone=(), payment=(), usb=(), screen-wake-lock=(self)",
}

// Handler serves the app that site gives. It asks site at every request, so that a
// build made meanwhile is seen.
func Handler(site func() (*pwa.Site, error), log *slog.Logger) http.Handler {
	return files(site, func() []string { return nil }, log)
}

// files serves the app, whose page may also connect to these sources of home's.
func files(site func() (*pwa.Site, error), sources func() []string, log *slog.Logger) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for name, value := range headers {
			w.Header().Set(name, value)
		}
		w.Header().Set("Content-Security-Policy", connecting(policy, sources()))
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			w.Header().Set("Allow", "GET, HEAD")
			plain(w, http.StatusMethodNotAllowed, "Files can only be read here: GET or HEAD.")
			return
		}
		app, err := site()
		if err != nil {
			notThere(w, err, log)
			return
		}
		file := app.Find(strings.TrimPrefix(r.URL.Path, "/"))
		if file == nil {
			plain(w, http.StatusNotFound, "There is no such page here. The app is at /")
			return
		}
		serve(w, r, app, file, sources(), log)
	})
}

// connecting is a policy that allows connections to more sources.
func connecting(policy string, sources []string) string {
	more := ""
	for _, source := range sources {
		more += " " + source
	}
	return strings.ReplaceAll(policy, connectMore, more)
}

// notThere says why there is no app to serve.
func notThere(w http.ResponseWriter, err error, log *slog.Logger) {
	if errors.Is(err, pwa.ErrNotBuilt) {
		plain(w, http.StatusServiceUnavailable, "The app has not been built yet.\n\nRun this in the project's folder, then start the program again:\n\n    make build")
		return
	}
	log.Error("the app cannot be read", "error", err)
	plain(w, http.StatusInternalServerError, "The app cannot be read. The program's own output says why.")
}

// plain answers with a text that nobody keeps.
func plain(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	fmt.Fprintln(w, text)
}

// serve answers with a file in the best form the browser takes.
func serve(w http.ResponseWriter, r *http.Request, app *pwa.Site, file *pwa.File, sources []string, log *slog.Logger) {
	encoding := choose(r.Header.Values("Accept-Encoding"), file)
	tag := `"` + file.Hash[:20] + encoding + `"`
	h := w.Header()
	lighten(h, file, sources)
	h.Set("ETag", tag)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if file.Immutable {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	if holds(r.Header.Values("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	text, err := app.Read(file, encoding)
	if err != nil {
		h.Del("ETag")
		notThere(w, fmt.Errorf("%s: %w", file.Path, err), log)
		return
	}
	h.Set("Content-Type", file.Type)
	h.Set("Content-Length", strconv.Itoa(len(text)))
	if encoding != "" {
		h.Set("Content-Encoding", encoding)
	}
	if r.Method == http.MethodHead {
		return
	}
	if _, err := w.Write(text); err != nil {
		log.Debug("the browser went away", "path", file.Path, "error", err)
	}
}

// lighten takes away what only a page obeys. A phone fetches some fifty files before
// the first count; the headers of all of them were more than a third of what came.
func lighten(h http.Header, file *pwa.File, sources []string) {
	if strings.HasPrefix(file.Type, "text/html") {
		return
	}
	h.Set("Content-Security-Policy", "default-src 'none'")
	if slices.Contains(workers, file.Source) {
		h.Set("Content-Security-Policy", connecting(workerPolicy, sources))
	}
	h.Del("Cross-Origin-Opener-Policy")
	h.Del("Permissions-Policy")
}

// holds tells whether an If-None-Match lists a tag. A tag that a proxy made weak
// (W/) still means the same bytes here.
func holds(lists []string, tag string) bool {
	for part := range strings.SplitSeq(strings.Join(lists, ","), ",") {
		part = strings.TrimPrefix(strings.TrimSpace(part), "W/")
		if part == tag || part == "*" {
			return true
		}
	}
	return false
}

// choose picks the form of a file by what the browser accepts: the one it wants
// most, brotli before gzip before plain where it does not mind (RFC 9110, 12.5.3).
func choose(accept []string, file *pwa.File) string {
	weights := accepted(strings.Join(accept, ","))
	best, most := "", 0.0
	for _, form := range []struct {
		encoding string
		size     int
	}{{"br", file.Brotli}, {"gzip", file.Gzip}} {
		weight, named := weights[form.encoding]
		if !named {
			weight = weights["*"]
		}
		if form.size > 0 && weight > most {
			best, most = form.encoding, weight
		}
	}
	if plain, named := weights["identity"]; named && plain > most {
		return ""
	}
	return best
}

// accepted reads an Accept-Encoding into the weight of each encoding, 0 to 1. What
// cannot be read is left out.
func accepted(header string) map[string]float64 {
	weights := map[string]float64{}
	for part := range strings.SplitSeq(header, ",") {
		name, parameters, _ := strings.Cut(part, ";")
		name = strings.ToLower(strings.TrimSpace(name))
		if name == "" {
			continue
		}
		weight := 1.0
		if text, is := strings.CutPrefix(strings.ToLower(strings.ReplaceAll(parameters, " ", "")), "q="); is {
			q, err := strconv.ParseFloat(text, 64)
			if err != nil || !(q >= 0 && q <= 1) {
				continue
			}
			weight = q
		}
		weights[name] = weight
	}
	return weights
}
