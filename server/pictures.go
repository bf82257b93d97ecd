package server

import (
	"errors"
	"io"
	"net"
	"net/http"
	"strconv"
	"time"

	"needlesight/data/store"
)

// Pictures come in pieces, with the header fields of the IETF's draft of
// resumable uploads (draft-ietf-httpbis-resumable-upload): Upload-Offset is how
// much home has, Upload-Complete whether this piece is the last.

const (
	maxAsked    = 1000             // pictures in one question
	maxPiece    = 1 << 20          // bytes of a picture in one request
	pictureTime = 10 * time.Minute // a large picture over a slow network
)

// getPicture gives a picture, or tells how much of it has come.
func (h *Home) getPicture(w http.ResponseWriter, r *http.Request, _ store.Device) {
	hash := r.PathValue("hash")
	file, err := h.o.Store.OpenPicture(hash)
	if err != nil {
		h.noPicture(w, hash, err)
		return
	}
	defer file.Close()
	// It may take its time; if the deadline cannot be moved, the usual one holds.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(pictureTime))
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("ETag", `"`+hash+`"`)
	http.ServeContent(w, r, "", time.Time{}, file)
}

// noPicture answers why there is no picture to give.
func (h *Home) noPicture(w http.ResponseWriter, hash string, err error) {
	switch {
	case errors.Is(err, store.ErrHash):
		tell(w, http.StatusBadRequest, "picture-name", err.Error())
	case errors.Is(err, store.ErrNoPicture):
		if offset, err := h.o.Store.Begun(hash); err == nil {
			w.Header().Set("Upload-Offset", strconv.FormatInt(offset, 10))
		}
		tell(w, http.StatusNotFound, "no-picture", err.Error())
	default:
		h.storeTrouble(w, err)
	}
}

// patchPicture takes a piece of a picture.
func (h *Home) patchPicture(w http.ResponseWriter, r *http.Request, _ store.Device) {
	at, err := strconv.ParseInt(r.Header.Get("Upload-Offset"), 10, 64)
	last := r.Header.Get("Upload-Complete")
	if err != nil || at < 0 || last != "?0" && last != "?1" {
		tell(w, http.StatusBadRequest, "bad-request", "A piece of a picture comes with Upload-Offset and Upload-Complete.")
		return
	}
	picture, err := h.o.Store.PutPicture(r.PathValue("hash"))
	if err != nil {
		h.notTaken(w, err)
		return
	}
	defer picture.Close()
	w.Header().Set("Upload-Offset", strconv.FormatInt(picture.Offset(), 10))
	if picture.Offset() != at {
		tell(w, http.StatusConflict, "picture-offset", "Home has another part of this picture; go on where Upload-Offset says.")
		return
	}
	_, err = io.Copy(picture, http.MaxBytesReader(w, r.Body, maxPiece))
	w.Header().Set("Upload-Offset", strconv.FormatInt(picture.Offset(), 10))
	if err != nil {
		h.notTaken(w, err)
		return
	}
	if last == "?0" {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	if err := picture.Commit(); err != nil {
		w.Header().Del("Upload-Offset")
		h.notTaken(w, err)
		return
	}
	w.WriteHeader(http.StatusCreated)
}

// notTaken answers why a piece was not taken.
func (h *Home) notTaken(w http.ResponseWriter, err error) {
	_, large := errors.AsType[*http.MaxBytesError](err)
	_, cut := errors.AsType[*net.OpError](err) // it names the device's address, which no log is to hold
	switch {
	case errors.Is(err, store.ErrHavePicture):
		w.WriteHeader(http.StatusCreated)
	case errors.Is(err, store.ErrHash):
		tell(w, http.StatusBadRequest, "picture-name", err.Error())
	case errors.Is(err, store.ErrBusyPicture):
		tell(w, http.StatusConflict, "picture-busy", err.Error())
	case errors.Is(err, store.ErrWrongPicture):
		tell(w, http.StatusUnprocessableEntity, "picture-wrong", err.Error())
	case large, errors.Is(err, store.ErrLargePicture):
		tell(w, http.StatusRequestEntityTooLarge, "picture-too-large", "That is more of a picture than is taken at once.")
	case cut, errors.Is(err, io.ErrUnexpectedEOF):
		tell(w, http.StatusBadRequest, "bad-request", "The piece was cut off; what came of it is kept.")
	default:
		h.storeTrouble(w, err)
	}
}

// missingPictures tells which of some pictures home does not have.
func (h *Home) missingPictures(w http.ResponseWriter, r *http.Request, _ store.Device) {
	var asked struct {
		Hashes []string `json:"hashes"`
	}
	if !readUpTo(w, r, &asked, 128<<10) {
		return
	}
	if len(asked.Hashes) > maxAsked {
		tell(w, http.StatusBadRequest, "bad-request", "Those are more pictures than can be asked for at once.")
		return
	}
	missing := []string{}
	for _, hash := range asked.Hashes {
		if !store.IsHash(hash) {
			tell(w, http.StatusBadRequest, "picture-name", store.ErrHash.Error())
			return
		}
		if !h.o.Store.HasPicture(hash) {
			missing = append(missing, hash)
		}
	}
	answer(w, http.StatusOK, map[string][]string{"missing": missing})
}
