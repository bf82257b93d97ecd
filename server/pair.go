package server

import (
	"errors"
	"net/http"
	"time"

	"rsc.io/qr"

	"needlesight/data/store"
)

// homeAnswer is what a paired device knows of home.
type homeAnswer struct {
	Name      string   `json:"name"`
	Origins   []string `json:"origins"`
	Addresses []string `json:"addresses"`
	HousePort int      `json:"house_port"`
	Epoch     string   `json:"epoch"`
	Version   string   `json:"version"`
}

func (h *Home) self() homeAnswer {
	name := "this computer" // there is no other way to it
	if h.o.Trust != nil {
		name = h.o.Trust.State().Name
	}
	return homeAnswer{name, h.origins(), h.addresses(), h.places.Load().house, h.o.Store.Epoch(), h.o.Version}
}

// getHome tells a stranger only that home is there.
func (h *Home) getHome(w http.ResponseWriter, r *http.Request) {
	if r.Header.Get("Authorization") == "" {
		answer(w, http.StatusOK, map[string]int{"needlesight": 1})
		return
	}
	h.known(func(w http.ResponseWriter, r *http.Request, _ store.Device) { answer(w, http.StatusOK, h.self()) })(w, r)
}

// pair lets a device in that has a code.
func (h *Home) pair(w http.ResponseWriter, r *http.Request) {
	if !h.limits.pairing(r) {
		tell(w, http.StatusTooManyRequests, "too-fast", "Too many tries. Wait a minute.")
		return
	}
	var asked struct {
		Code string `json:"code"`
		Name string `json:"name"`
	}
	if !read(w, r, &asked) {
		return
	}
	if !store.IsDeviceName(asked.Name) { // before the code is used up
		tell(w, http.StatusBadRequest, "device-name", store.ErrDeviceName.Error())
		return
	}
	now := h.o.Now()
	switch err := h.o.Store.Redeem(asked.Code, now); {
	case errors.Is(err, store.ErrCodeMistyped):
		tell(w, http.StatusBadRequest, "code-mistyped", err.Error())
		return
	case err != nil:
		tell(w, http.StatusForbidden, "code-wrong", err.Error())
		return
	}
	id, token, err := h.o.Store.AddDevice(asked.Name, now)
	switch {
	case errors.Is(err, store.ErrDevices):
		tell(w, http.StatusConflict, "too-many-devices", err.Error())
	case err != nil:
		h.storeTrouble(w, err)
	default:
		h.o.Log.Info("a device was paired")
		answer(w, http.StatusOK, map[string]any{"device": id, "token": token, "home": h.self()})
	}
}

// Code is a pairing code and the addresses at which it can be used.
type Code struct {
	Code    string    `json:"code"` // 9 digits
	Expires time.Time `json:"expires"`
	App     string    `json:"app"`     // the app of the house with this code; "" if there is none
	Here    string    `json:"here"`    // the same on this computer
	Welcome string    `json:"welcome"` // the page that leads through trusting home; "" if there is none
}

// NewCode makes a pairing code.
func (h *Home) NewCode() Code {
	now := h.o.Now()
	c := Code{Code: h.o.Store.NewCode(now), Expires: now.Add(store.CodeLife)}
	l := h.Links()
	c.Here, c.Welcome = l.Here+"#/pair/"+c.Code, l.Welcome
	if l.App != "" {
		c.App = l.App + "#/pair/" + c.Code
	}
	return c
}

// postCode shows a paired device a code for another.
func (h *Home) postCode(w http.ResponseWriter, r *http.Request, _ store.Device) {
	c := h.NewCode()
	app := c.App
	if app == "" {
		app = c.Here
	}
	answer(w, http.StatusOK, map[string]any{
		"code": c.Code, "expires_s": int(store.CodeLife / time.Second), "app": app, "here": c.Here, "welcome": c.Welcome,
		"qr": squares(app), "welcome_qr": squares(c.Welcome),
	})
}

// squares is a QR code (ISO/IEC 18004) of a text, row by row, 1 for black; none for no text.
func squares(text string) []string {
	code, err := qr.Encode(text, qr.M)
	if text == "" || err != nil {
		return []string{}
	}
	rows := make([]string, code.Size)
	for y := range rows {
		row := make([]byte, code.Size)
		for x := range row {
			row[x] = '0'
			if code.Black(x, y) {
				row[x] = '1'
			}
		}
		rows[y] = string(row)
	}
	return rows
}
