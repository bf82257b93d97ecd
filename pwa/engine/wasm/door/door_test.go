package door

import (
	"errors"
	"testing"

	"needlesight/pwa/engine/fault"
)

func TestTry(t *testing.T) {
	own := errors.New("no wool")
	if err := Try("m", func() error { return own }); err != own {
		t.Errorf("%v", err)
	}
	err := Try("m", func() error { var p *int; *p++; return nil })
	if e, ok := errors.AsType[*fault.Error](err); !ok || e.Code != fault.EngineCrashed {
		t.Errorf("%v", err)
	}
}
