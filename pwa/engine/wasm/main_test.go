//go:build !js

package main

import (
	"strings"
	"testing"
)

func TestLines(t *testing.T) {
	var out strings.Builder
	calls := `["merge","{\"changes\":[]}"]` + "\n" + `["nothing",""]` + "\n"
	if err := answerLines(strings.NewReader(calls), &out); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(out.String(), "\n")
	if len(lines) != 3 || lines[0] != `{"fields":[]}` || !strings.HasPrefix(lines[1], `{"error":{"code":"unknown-method"`) {
		t.Errorf("answered %q", lines)
	}
	if err := answerLines(strings.NewReader(`{"method":1}`), &out); err == nil {
		t.Error("a call of another shape was taken")
	}
}
