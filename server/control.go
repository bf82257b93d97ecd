package server

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"needlesight/data/store"
	"needlesight/sync/peer"
)

// A home that is being served is the only one that may write to its folder. The
// commands ask it over its loopback address, with a secret that stands in a file
// which only its owner can read.

// runningFile stands in the data folder while a home is served from it.
const runningFile = "running.json"

// running is what stands in it.
type running struct {
	PID    int    `json:"pid"`
	Port   int    `json:"port"`
	Secret string `json:"secret"`
}

// outcome is the trailer that tells whether what was sent is whole.
const outcome = "Needlesight-Outcome"

// NewSecret makes a secret for Listeners.
func NewSecret() string {
	var secret [32]byte
	rand.Read(secret[:]) // never fails
	return base64.RawURLEncoding.EncodeToString(secret[:])
}

// Announce lets the commands find a home that is served on Here at this port, until
// gone is called.
func Announce(dataDir string, port int, secret string) (gone func() error, err error) {
	text, err := json.Marshal(running{os.Getpid(), port, secret})
	if err != nil {
		return nil, err
	}
	path := filepath.Join(dataDir, runningFile)
	// A new file, so that one who could read an old one cannot read this.
	part, err := os.CreateTemp(dataDir, runningFile+".*") // made 0600
	if err != nil {
		return nil, err
	}
	_, err = part.Write(text)
	err = errors.Join(err, part.Close())
	if err == nil {
		err = os.Rename(part.Name(), path)
	}
	if err != nil {
		return nil, errors.Join(err, os.Remove(part.Name()))
	}
	return func() error { return os.Remove(path) }, nil
}

// controlHandler answers to the commands.
func (h *Home) controlHandler(secret string) http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("POST /control/code", func(w http.ResponseWriter, r *http.Request) { answer(w, http.StatusOK, h.NewCode()) })
	mux.HandleFunc("GET /control/devices", func(w http.ResponseWriter, r *http.Request) { answer(w, http.StatusOK, h.o.Store.Devices()) })
	mux.HandleFunc("POST /control/devices/{id}", func(w http.ResponseWriter, r *http.Request) { h.renameDevice(w, r, store.Device{}) })
	mux.HandleFunc("POST /control/devices/{id}/strike", func(w http.ResponseWriter, r *http.Request) { h.strikeDevice(w, r, store.Device{}) })
	mux.HandleFunc("GET /control/verify", func(w http.ResponseWriter, r *http.Request) {
		unhurried(w)
		report, err := h.o.Store.Verify()
		if err != nil {
			h.storeTrouble(w, err)
			return
		}
		answer(w, http.StatusOK, report)
	})
	mux.HandleFunc("GET /control/backup", func(w http.ResponseWriter, r *http.Request) {
		h.stream(w, func(to io.Writer) error { _, err := h.o.Store.Backup(to, h.o.Now()); return err })
	})
	mux.HandleFunc("GET /control/export", func(w http.ResponseWriter, r *http.Request) {
		h.stream(w, func(to io.Writer) error { return h.o.Store.Export(to, r.URL.Query().Get("project"), h.o.Now()) })
	})
	mux.HandleFunc("POST /control/import", h.controlImport)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Origin") != "" || subtle.ConstantTimeCompare([]byte(bearer(r)), []byte(secret)) != 1 {
			tell(w, http.StatusForbidden, "not-control", "This is for the commands of needlesight alone.")
			return
		}
		mux.ServeHTTP(w, r)
	})
}

// unhurried lets a request take as long as it does.
func unhurried(w http.ResponseWriter) {
	c := http.NewResponseController(w)
	// A connection that has no deadlines needs none taken away.
	_ = errors.Join(c.SetWriteDeadline(time.Time{}), c.SetReadDeadline(time.Time{}))
}

// stream sends what write writes, and at its end whether that is whole.
func (h *Home) stream(w http.ResponseWriter, write func(io.Writer) error) {
	unhurried(w)
	w.Header().Set("Trailer", outcome)
	w.Header().Set("Content-Type", "application/zip")
	w.WriteHeader(http.StatusOK)
	if err := write(w); err != nil {
		w.Header().Set(outcome, strings.ReplaceAll(err.Error(), "\n", " "))
		return
	}
	w.Header().Set(outcome, "whole")
}

// controlImport takes in a file of this computer.
func (h *Home) controlImport(w http.ResponseWriter, r *http.Request) {
	var asked struct {
		Path string `json:"path"`
	}
	if !read(w, r, &asked) {
		return
	}
	unhurried(w)
	file, err := os.Open(asked.Path)
	if err != nil {
		tell(w, http.StatusBadRequest, "no-such-file", err.Error())
		return
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		tell(w, http.StatusBadRequest, "no-such-file", err.Error())
		return
	}
	result, err := h.importFile(file, info.Size())
	if err != nil {
		tell(w, http.StatusBadRequest, "not-imported", err.Error())
		return
	}
	answer(w, http.StatusOK, result)
}

// importFile takes a file in and tells every device of it.
func (h *Home) importFile(file io.ReaderAt, size int64) (store.ImportResult, error) {
	result, err := h.o.Store.Import(file, size)
	if result.Last > 0 {
		h.hub.tell(nil, peer.Grown(result.Last))
	}
	if err != nil {
		return result, fmt.Errorf("the file could not be taken in: %w", err)
	}
	return result, nil
}
