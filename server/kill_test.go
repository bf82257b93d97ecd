package server

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"strconv"
	"testing"
	"time"

	"needlesight/sync/stamp"
)

// kills is in how many rounds home is killed; NEEDLESIGHT_KILLS asks for more.
func kills(t *testing.T) int {
	t.Helper()
	text := os.Getenv("NEEDLESIGHT_KILLS")
	if text == "" {
		return 6
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// Home's process is killed (kill -9) at any moment while phones bring it changes and
// pictures; the phones' programs die too. Everything that was acked is there, whole.
func TestKilledUnderLoadItLosesNothing(t *testing.T) {
	dir, chance := t.TempDir(), rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 1))
	acked := map[stamp.Stamp]bool{}
	pictures := map[string][]byte{}
	c := startChild(t, dir, false)
	var phones []*phone
	for i := range uint64(3) {
		phones = append(phones, c.phone(t, c.token(t), i))
	}
	token, midway := c.token(t), 0
	for round := range kills(t) {
		if round > 0 {
			c = startChild(t, dir, false)
		}
		for i, p := range phones {
			p.dialer = c.phone(t, c.tokens[i], 1).dialer
			p.end, p.events, p.ended = nil, make(chan func(), 64), make(chan struct{})
			p.make(50 + chance.IntN(900))
			p.start()
		}
		sent := c.sendPictures(t, token, chance)
		time.Sleep(time.Duration(chance.IntN(120)) * time.Millisecond)
		if err := c.process.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		c.end()
		for _, picture := range <-sent {
			pictures[hashOf(picture)] = picture
		}
		for _, p := range phones {
			p.quit()
			if len(p.outbox) > 0 {
				midway++
			}
			for s := range p.isAcked() {
				acked[s] = true
			}
		}
	}
	c = startChild(t, dir, false)
	q := c.phone(t, token, 99)
	q.start()
	defer q.quit()
	made := 0
	for i, p := range phones {
		p.dialer = c.phone(t, c.tokens[i], 1).dialer
		p.end, p.events, p.ended = nil, make(chan func(), 64), make(chan struct{})
		p.start()
		p.home()
		made += int(p.row)
		defer p.quit()
	}
	q.wait("everything", func() bool { return q.took.Load() == uint64(made) })
	there := map[stamp.Stamp]bool{}
	for _, s := range q.stamps() {
		there[s] = true
	}
	for s := range acked {
		if !there[s] {
			t.Errorf("%v was acked and is not there", s)
		}
	}
	if len(there) != made {
		t.Errorf("%d changes were made, %d are there", made, len(there))
	}
	for hash, picture := range pictures {
		if status, _, text := c.ask(t, "GET", "/api/pictures/"+hash, nil, "Authorization", "Bearer "+token); status != 200 || text != string(picture) {
			t.Errorf("a picture that was taken: %d, %d bytes of %d", status, len(text), len(picture))
		}
	}
	control, err := Dial(dir)
	if err != nil {
		t.Fatal(err)
	}
	if report, err := control.Verify(t.Context()); err != nil || len(report.Faults) > 0 {
		t.Errorf("verify: %+v, %v", report, err)
	}
	t.Logf("%d changes, %d of them acked before the last kill, %d pictures; %d times a phone was midway", made, len(acked), len(pictures), midway)
}

// isAcked is what the phone was told is at home: what it made and no longer has to bring.
func (p *phone) isAcked() map[stamp.Stamp]bool {
	acked := map[stamp.Stamp]bool{}
	for s := range p.known {
		if s.Device == p.id {
			acked[s] = true
		}
	}
	for _, row := range p.outbox {
		delete(acked, row.Change.Stamp)
	}
	return acked
}

// sendPictures sends pictures until home is gone, and gives those that home said it has.
func (c *child) sendPictures(t *testing.T, token string, chance *rand.Rand) <-chan [][]byte {
	sent, r := make(chan [][]byte, 1), rand.New(rand.NewPCG(chance.Uint64(), 2))
	go func() {
		var all [][]byte
		defer func() { sent <- all }()
		for {
			picture := make([]byte, 1000+r.IntN(300_000))
			for i := range picture {
				picture[i] = byte(r.Uint32())
			}
			status, err := c.patch(t.Context(), token, picture)
			if err != nil {
				return
			}
			if status != http.StatusCreated {
				t.Errorf("a picture is answered %d", status)
				return
			}
			all = append(all, picture)
		}
	}()
	return sent
}

func (c *child) patch(ctx context.Context, token string, picture []byte) (int, error) {
	r, err := http.NewRequestWithContext(ctx, "PATCH", c.base+"/api/pictures/"+hashOf(picture), bytes.NewReader(picture))
	if err != nil {
		return 0, err
	}
	r.Header.Set("Authorization", "Bearer "+token)
	r.Header.Set("Upload-Offset", "0")
	r.Header.Set("Upload-Complete", "?1")
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, err
	}
	_, err = io.Copy(io.Discard, response.Body)
	return response.StatusCode, errors.Join(err, response.Body.Close())
}
