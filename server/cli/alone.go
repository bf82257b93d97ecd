package cli

import (
	"context"
	"fmt"
	"io"
	"time"

	"needlesight/data/store"
)

type writer = io.Writer

// alone is a home that is not served: its store is opened for one command.
type alone struct{ store *store.Store }

func (a alone) Devices(context.Context) ([]store.Device, error) { return a.store.Devices(), nil }

func (a alone) Rename(_ context.Context, id, name string) error { return a.store.Rename(id, name) }

func (a alone) StrikeOff(_ context.Context, id string) error { return a.store.StrikeOff(id) }

func (a alone) Verify(context.Context) (store.Report, error) { return a.store.Verify() }

func (a alone) Backup(_ context.Context, w writer) error {
	_, err := a.store.Backup(w, time.Now())
	return err
}

func (a alone) Export(_ context.Context, project string, w writer) error {
	return a.store.Export(w, project, time.Now())
}

func (a alone) Import(_ context.Context, path string) (result store.ImportResult, err error) {
	file, size, err := openSized(path)
	if err != nil {
		return result, err
	}
	defer file.Close()
	if result, err = a.store.Import(file, size); err != nil {
		return result, fmt.Errorf("the file could not be taken in: %w", err)
	}
	return result, nil
}
