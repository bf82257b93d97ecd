package server

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"syscall"

	"needlesight/data/store"
)

// ErrNotRunning says that no home is served from a folder.
var ErrNotRunning = errors.New("no needlesight serves this home now")

// Control asks a home that is being served, by another process of its owner.
type Control struct {
	base, secret string
}

// Dial finds the home that is served from a data folder. The error wraps
// ErrNotRunning if there is none.
func Dial(dataDir string) (*Control, error) {
	text, err := os.ReadFile(filepath.Join(dataDir, runningFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNotRunning
	}
	if err != nil {
		return nil, err
	}
	var r running
	if err := json.Unmarshal(text, &r); err != nil || r.Port == 0 {
		return nil, ErrNotRunning // cut off as the power failed
	}
	c := &Control{fmt.Sprintf("http://%s/control/", address(Loopback, r.Port)), r.Secret}
	// What stands there may be of a home that did not end as it should.
	if _, err := c.Devices(context.Background()); err != nil {
		if errors.Is(err, syscall.ECONNREFUSED) || errors.Is(err, errNotOurs) {
			return nil, ErrNotRunning
		}
		return nil, err
	}
	return c, nil
}

// errNotOurs says that another program has got the port meanwhile.
var errNotOurs = errors.New("another program answers at the port of this home")

// NewCode makes a pairing code.
func (c *Control) NewCode(ctx context.Context) (code Code, err error) {
	return code, c.ask(ctx, http.MethodPost, "code", nil, &code)
}

// Devices lists the devices, the oldest first.
func (c *Control) Devices(ctx context.Context) (list []store.Device, err error) {
	return list, c.ask(ctx, http.MethodGet, "devices", nil, &list)
}

// Rename gives a device another name.
func (c *Control) Rename(ctx context.Context, id, name string) error {
	return c.ask(ctx, http.MethodPost, "devices/"+url.PathEscape(id), map[string]string{"name": name}, nil)
}

// StrikeOff lets a device in no more, and ends its connections.
func (c *Control) StrikeOff(ctx context.Context, id string) error {
	return c.ask(ctx, http.MethodPost, "devices/"+url.PathEscape(id)+"/strike", nil, nil)
}

// Verify looks through everything, which may take long.
func (c *Control) Verify(ctx context.Context) (report store.Report, err error) {
	return report, c.ask(ctx, http.MethodGet, "verify", nil, &report)
}

// Backup writes a backup. If the error is not nil, what was written is none.
func (c *Control) Backup(ctx context.Context, w io.Writer) error { return c.stream(ctx, "backup", w) }

// Export writes a file of one project, by its id, or of all if it is "".
func (c *Control) Export(ctx context.Context, project string, w io.Writer) error {
	return c.stream(ctx, "export?project="+url.QueryEscape(project), w)
}

// Import takes in a file of this computer, by its absolute path.
func (c *Control) Import(ctx context.Context, path string) (result store.ImportResult, err error) {
	return result, c.ask(ctx, http.MethodPost, "import", map[string]string{"path": path}, &result)
}

func (c *Control) ask(ctx context.Context, method, path string, what, into any) error {
	var text []byte
	if what != nil {
		var err error
		if text, err = json.Marshal(what); err != nil {
			return err
		}
	}
	response, err := c.do(ctx, method, path, bytes.NewReader(text))
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if into == nil {
		return nil
	}
	if err := json.NewDecoder(response.Body).Decode(into); err != nil {
		return fmt.Errorf("%w: %w", errNotOurs, err)
	}
	return nil
}

// do asks, and makes an error of an answer that is one.
func (c *Control) do(ctx context.Context, method, path string, body io.Reader) (*http.Response, error) {
	request, err := http.NewRequestWithContext(ctx, method, c.base+path, body)
	if err != nil {
		return nil, err
	}
	request.Header.Set("Authorization", "Bearer "+c.secret)
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, err
	}
	if response.StatusCode == http.StatusOK {
		return response, nil
	}
	defer response.Body.Close()
	var told struct {
		Error struct{ Code, Text string }
	}
	if err := json.NewDecoder(io.LimitReader(response.Body, maxJSON)).Decode(&told); err != nil || told.Error.Code == "" || told.Error.Code == "not-control" {
		return nil, errNotOurs
	}
	return nil, errors.New(told.Error.Text)
}

func (c *Control) stream(ctx context.Context, path string, w io.Writer) error {
	response, err := c.do(ctx, http.MethodGet, path, nil)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if _, err := io.Copy(w, response.Body); err != nil {
		return err
	}
	switch said := response.Trailer.Get(outcome); said {
	case "whole":
		return nil
	case "":
		return errors.New("what came is not whole: the home stopped meanwhile")
	default:
		return errors.New(said)
	}
}
