package server

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"

	"needlesight/data/store"
)

// maxJSON is the most bytes of a request in JSON.
const maxJSON = 8 << 10

// api is what the app asks for. The paths, bodies and errors are told in server/API.md.
func (h *Home) api() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /api/home", h.getHome)
	mux.HandleFunc("POST /api/pair", h.pair)
	mux.HandleFunc("POST /api/code", h.known(h.postCode))
	mux.HandleFunc("GET /api/devices", h.known(h.getDevices))
	mux.HandleFunc("POST /api/devices/{id}", h.known(h.renameDevice))
	mux.HandleFunc("POST /api/devices/{id}/strike", h.known(h.strikeDevice))
	mux.HandleFunc("GET /api/pictures/{hash}", h.known(h.getPicture)) // HEAD too
	mux.HandleFunc("PATCH /api/pictures/{hash}", h.known(h.patchPicture))
	mux.HandleFunc("POST /api/pictures/missing", h.known(h.missingPictures))
	mux.HandleFunc("GET /api/sync", h.sync)
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		tell(w, http.StatusNotFound, "no-such-route", "There is nothing here.")
	})
	return h.guard(mux)
}

// guard lets in only home's own pages, and programs that are no page.
func (h *Home) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Cache-Control", "no-store")
		head.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "no-referrer")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Add("Vary", "Origin")
		if origin := r.Header.Get("Origin"); origin != "" {
			if !slices.Contains(h.origins(), origin) {
				tell(w, http.StatusForbidden, "wrong-origin", "Only the app of this home may ask here.")
				return
			}
			// The page of home's name may ask at home's addresses, where the name is not found.
			head.Set("Access-Control-Allow-Origin", origin)
			head.Set("Access-Control-Allow-Headers", "Authorization, Content-Type, Upload-Offset, Upload-Complete")
			head.Set("Access-Control-Allow-Methods", "GET, HEAD, POST, PATCH")
			head.Set("Access-Control-Expose-Headers", "Upload-Offset")
			head.Set("Access-Control-Max-Age", "600")
		}
		if r.Method == http.MethodOptions {
			w.WriteHeader(http.StatusNoContent)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// known lets in who has the token of a device that is not struck off.
func (h *Home) known(next func(http.ResponseWriter, *http.Request, store.Device)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		device, err := h.o.Store.Authenticate(bearer(r))
		switch {
		case errors.Is(err, store.ErrStruckOff):
			tell(w, http.StatusForbidden, "wire-struck", "This device was struck off.")
		case err != nil && !h.limits.stranger(r):
			tell(w, http.StatusTooManyRequests, "too-fast", "Too many tries. Wait a minute.")
		case err != nil:
			tell(w, http.StatusUnauthorized, "not-paired", "This device is not paired with this home.")
		default:
			next(w, r, device)
		}
	}
}

// bearer is the token of a request (RFC 6750, 2.1), "" if there is none.
func bearer(r *http.Request) string {
	token, is := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if !is {
		return ""
	}
	return token
}

// tell answers with an error: a code for the app, a sentence for a person.
func tell(w http.ResponseWriter, status int, code, text string) {
	type fault struct {
		Code string `json:"code"`
		Text string `json:"text"`
	}
	answer(w, status, map[string]fault{"error": {code, text}})
}

// answer answers in JSON.
func answer(w http.ResponseWriter, status int, what any) {
	text, err := json.Marshal(what)
	if err != nil {
		panic(err) // what is answered here can always be written
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	w.Write(append(text, '\n'))
}

// read reads a request in JSON strictly. If it cannot, it has answered, and is false.
func read(w http.ResponseWriter, r *http.Request, into any) bool {
	return readUpTo(w, r, into, maxJSON)
}

// readUpTo does as read, with another limit.
func readUpTo(w http.ResponseWriter, r *http.Request, into any, most int64) bool {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, most))
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, err = d.Token(); err == io.EOF {
			return true
		}
	}
	if _, large := errors.AsType[*http.MaxBytesError](err); large {
		tell(w, http.StatusRequestEntityTooLarge, "request-too-large", "That is more than may be asked at once.")
		return false
	}
	tell(w, http.StatusBadRequest, "bad-request", "The request is not as it should be.")
	return false
}

// storeTrouble answers for an error of the store that is not the asker's fault.
func (h *Home) storeTrouble(w http.ResponseWriter, err error) {
	switch {
	case errors.Is(err, store.ErrFull):
		tell(w, http.StatusInsufficientStorage, "wire-full", "The disk of the home computer is full.")
	case errors.Is(err, store.ErrFailed):
		h.fail(err)
		tell(w, http.StatusServiceUnavailable, "wire-stopping", "The home computer cannot write, and starts again.")
	default:
		h.o.Log.Error("the store did not do as asked", "error", err)
		tell(w, http.StatusInternalServerError, "home-trouble", "The home computer cannot do this now. Its own log says why.")
	}
}
