package trust

import (
	"fmt"
	"html/template"
)

// The pictures of the welcome page: a phone or a window in outline, and on it the one
// thing to touch, with the thumb's dot on it. They are no system's screens; the words
// beside them say what it is called there. Colours come from welcome.css.

// device is the outline, and where on it there is room: left edge, top, width.
type device struct {
	outline         string
	left, top, wide int
}

var devices = map[string]device{
	"phone":  {`<path class="p-edge p-face" d="M24 134V44a30 30 0 0130-30h192a30 30 0 0130 30v90"/><path class="p-edge" d="M132 27h36"/>`, 44, 40, 212},
	"window": {`<path class="p-edge p-face" d="M14 134V26a12 12 0 0112-12h248a12 12 0 0112 12v108"/><path class="p-line" d="M15 37h270"/><path class="p-edge" d="M28 26h26"/>`, 30, 44, 240},
}

// picture draws one step. What it shows: get, a button that brings a file; row, a line of
// a list; switch, a line with a switch that is on; ask, a question with its answer;
// code, what is typed letter for letter; right, that it worked.
func picture(on, what, label string) (template.HTML, error) {
	d, ok := devices[on]
	draw, known := drawings[what]
	if !ok || !known {
		return "", fmt.Errorf("there is no picture of %s on a %s", what, on)
	}
	return template.HTML(`<svg class="picture" viewBox="0 0 300 132" aria-hidden="true">` + d.outline + draw(d, template.HTMLEscapeString(label)) + `</svg>`), nil
}

var drawings = map[string]func(d device, label string) string{
	"get": func(d device, label string) string {
		return grey(d, 0, 120) + grey(d, 16, 180) +
			fmt.Sprintf(`<rect class="p-ink" x="%d" y="%d" width="%d" height="36" rx="10"/>`, d.left, d.top+34, d.wide) +
			fmt.Sprintf(`<path class="p-arrow" d="M%d %dv14m-6-6l6 6 6-6"/>`, d.left+22, d.top+45) +
			fmt.Sprintf(`<text class="p-light" x="%d" y="%d">%s</text>`, d.left+42, d.top+57, label) + dot(d.left+d.wide-20, d.top+52)
	},
	"row": func(d device, label string) string {
		return row(d, 0) + hit(d, 24, label) + row(d, 68) + dot(d.left+d.wide-20, d.top+42)
	},
	"switch": func(d device, label string) string {
		x, y := d.left+d.wide-52, d.top+32
		return row(d, 0) + hit(d, 24, label) + row(d, 68) +
			fmt.Sprintf(`<rect class="p-woad" x="%d" y="%d" width="40" height="22" rx="11"/><circle class="p-knob" cx="%d" cy="%d" r="8"/>`, x, y, x+29, y+11)
	},
	"ask": func(d device, label string) string {
		return grey(d, 2, 170) + grey(d, 18, d.wide-20) + grey(d, 34, 110) +
			fmt.Sprintf(`<rect class="p-edge" x="%d" y="%d" width="44" height="32" rx="9"/>`, d.left, d.top+50) +
			fmt.Sprintf(`<rect class="p-edge p-hit" x="%d" y="%d" width="%d" height="32" rx="9"/>`, d.left+54, d.top+50, d.wide-54) +
			fmt.Sprintf(`<text x="%d" y="%d">%s</text>`, d.left+65, d.top+71, label) + dot(d.left+d.wide, d.top+70)
	},
	"code": func(d device, label string) string {
		return grey(d, 0, 150) + fmt.Sprintf(`<rect class="p-edge p-hit" x="%d" y="%d" width="%d" height="40" rx="10"/>`, d.left-8, d.top+22, d.wide+16) +
			fmt.Sprintf(`<text class="p-typed" x="%d" y="%d">%s</text>`, d.left+d.wide/2, d.top+48, label)
	},
	"right": func(d device, label string) string {
		x := d.left + d.wide/2
		return fmt.Sprintf(`<circle class="p-woad" cx="%d" cy="%d" r="24"/><path class="p-tick" d="M%d %dl8 8 14-15"/>`, x, d.top+26, x-11, d.top+27) +
			fmt.Sprintf(`<text class="p-middle" x="%d" y="%d">%s</text>`, x, d.top+76, label)
	},
}

// grey is a line of writing that need not be read.
func grey(d device, down, long int) string {
	return fmt.Sprintf(`<rect class="p-grey" x="%d" y="%d" width="%d" height="8" rx="4"/>`, d.left, d.top+down, long)
}

// row is a line of a list that is not meant.
func row(d device, down int) string {
	return fmt.Sprintf(`<circle class="p-grey" cx="%d" cy="%d" r="6"/>`, d.left+8, d.top+down+8) +
		fmt.Sprintf(`<rect class="p-grey" x="%d" y="%d" width="%d" height="8" rx="4"/>`, d.left+26, d.top+down+4, d.wide/2)
}

// hit is the line of a list that is meant.
func hit(d device, down int, label string) string {
	return fmt.Sprintf(`<rect class="p-edge p-hit" x="%d" y="%d" width="%d" height="36" rx="10"/>`, d.left-8, d.top+down, d.wide+16) +
		fmt.Sprintf(`<text x="%d" y="%d">%s</text>`, d.left+4, d.top+down+23, label)
}

// dot is where the thumb goes.
func dot(x, y int) string {
	return fmt.Sprintf(`<circle class="p-edge p-dot" cx="%d" cy="%d" r="10"/>`, x, y)
}
