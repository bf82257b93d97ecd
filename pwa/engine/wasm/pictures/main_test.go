//go:build !js

package main

import (
	"strings"
	"testing"
)

func TestLines(t *testing.T) {
	var out strings.Builder
	if err := answerLines(strings.NewReader(`["nothing","",{"a":{"file":"AAEC"}}]`+"\n"+`["nothing","",null]`), &out); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(out.String(), "\n")
	if len(lines) != 3 || !strings.HasPrefix(lines[0], `["{\"error\":{\"code\":\"unknown-method\"`) || !strings.HasSuffix(lines[0], `,null]`) {
		t.Errorf("answered %q", lines)
	}
	if err := answerLines(strings.NewReader(`{"method":1}`), &out); err == nil {
		t.Error("a call of another shape was taken")
	}
}
