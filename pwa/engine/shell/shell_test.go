package shell

import (
	"strings"
	"testing"
)

func TestEveryMethodIsThereOnceAndDocumented(t *testing.T) {
	last := ""
	for _, m := range Table() {
		if m.Name <= last {
			t.Errorf("%s does not come after %s", m.Name, last)
		}
		if !strings.HasSuffix(m.Doc, ".") || m.Request == nil || m.Response == nil {
			t.Errorf("%s lacks a sentence, a request or a response", m.Name)
		}
		last = m.Name
	}
	for _, name := range []string{"sight"} {
		if Table().Find(name) == nil {
			t.Errorf("%s is missing", name)
		}
	}
}
