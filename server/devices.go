package server

import (
	"errors"
	"net/http"

	"needlesight/data/store"
	"needlesight/sync/wire"
)

// seenDevice is a device as another one is told of it.
type seenDevice struct {
	store.Device
	Here bool `json:"here"` // connected now
	You  bool `json:"you"`
}

func (h *Home) getDevices(w http.ResponseWriter, r *http.Request, you store.Device) {
	here := h.hub.connected()
	list := []seenDevice{}
	for _, d := range h.o.Store.Devices() {
		list = append(list, seenDevice{d, here[d.ID] > 0, d.ID == you.ID})
	}
	answer(w, http.StatusOK, map[string]any{"devices": list})
}

func (h *Home) renameDevice(w http.ResponseWriter, r *http.Request, _ store.Device) {
	var asked struct {
		Name string `json:"name"`
	}
	if read(w, r, &asked) {
		h.toldDevice(w, h.o.Store.Rename(r.PathValue("id"), asked.Name))
	}
}

func (h *Home) strikeDevice(w http.ResponseWriter, r *http.Request, _ store.Device) {
	h.toldDevice(w, h.StrikeOff(r.PathValue("id")))
}

// StrikeOff lets a device in no more, and ends its connections. The error is as
// that of the store.
func (h *Home) StrikeOff(id string) error {
	err := h.o.Store.StrikeOff(id)
	if err == nil {
		h.hub.stop(id, wire.ByeStruck)
	}
	return err
}

// toldDevice answers for a change of a device.
func (h *Home) toldDevice(w http.ResponseWriter, err error) {
	switch {
	case err == nil:
		answer(w, http.StatusOK, struct{}{})
	case errors.Is(err, store.ErrNoDevice):
		tell(w, http.StatusNotFound, "no-such-device", err.Error())
	case errors.Is(err, store.ErrDeviceName):
		tell(w, http.StatusBadRequest, "device-name", err.Error())
	default:
		h.storeTrouble(w, err)
	}
}
