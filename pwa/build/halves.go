package main

import (
	"fmt"
	"path"
	"slices"
	"strings"
)

// secondHalf are the files at which the app's second half begins: what looks at
// pictures, and what plans forms and wool. No count needs it, so the phone fetches it
// once the app is installed. Whatever only they speak of comes with them.
var secondHalf = map[string]bool{
	"pictures.wasm": true, "bench/photo-engine.js": true, "bench/forms.js": true, "bench/fields-forms.js": true,
	"bench/views/photo.js": true, "bench/views/pins.js": true, "bench/views/print.js": true,
	"bench/views/forms.js": true, "bench/views/wool.js": true, "bench/views/order.js": true,
	"screens/pictures.js": true, "screens/photo.js": true, "screens/plane.js": true, "screens/outline.js": true, "screens/overlay.js": true,
	"screens/print.js": true, "screens/glass.js": true,
	"screens/forms.js": true, "screens/form.js": true, "screens/lay.js": true, "screens/order.js": true, "screens/wire.js": true,
	"screens/wool.js": true, "screens/bag.js": true, "screens/weigh.js": true, "screens/hand.js": true, "screens/class.js": true,
}

// begins tells whether the second half begins at a file. The demo's pictures are
// fetched when the demo is added.
func begins(source string) bool {
	return secondHalf[source] || strings.HasPrefix(source, "demo/") && contentTypes[path.Ext(source)] == "image/jpeg"
}

// firstHalf are the files that the page, its list and its service worker lead to
// without the second half. It is an error when the first half cannot do without a file
// of the second.
func firstHalf(all sources) (map[string]bool, error) {
	first := map[string]bool{}
	var open []string
	reach := func(source string) {
		if _, there := all[source]; there && !first[source] {
			first[source] = true
			open = append(open, source)
		}
	}
	for _, source := range slices.Sorted(mapKeys(all)) {
		if fixed[source] {
			reach(source)
		}
	}
	for len(open) > 0 {
		source := open[0]
		open = open[1:]
		spoken, err := references(source, all[source], all)
		if err != nil {
			return nil, err
		}
		for _, r := range spoken {
			if !begins(r.target) {
				reach(r.target)
			} else if !r.later {
				return nil, fmt.Errorf("%s imports %s, which the phone fetches only after the app is installed: import it when it is needed", source, r.target)
			}
		}
	}
	return first, nil
}
