package sheet

import (
	"fmt"
	"math"
	"unicode/utf8"

	"needlesight/pwa/engine/fault"
)

// aroundMM is what is shown around an outline, tightMM where that saves a page, and
// wordsMM around a mark.
const (
	aroundMM = 10
	tightMM  = 3
	wordsMM  = 6
)

// drawing is a view made ready: all in mm at the finished size, y downwards.
type drawing struct {
	view   *View
	bounds box // of all that is drawn
	inner  box // of the outline alone, or of the photo
	photo  *photo
	matrix [6]float64 // of the photo's px to mm
	words  []word
}

// word is a text on a drawing: its middle, and how it is turned, in degrees against
// the clock.
type word struct {
	text string
	at   [2]float64
	turn float64
}

// draw makes a view ready, with so many mm around its outline.
func draw(v *View, i int, photos map[string]*photo, around float64) (drawing, error) {
	d := drawing{view: v, inner: nowhere()}
	for _, ring := range v.RingsMM {
		d.inner = d.inner.add(ring...)
	}
	d.bounds = d.inner.around(around)
	if v.What != "outline" {
		d.photo = photos[v.Image]
		d.matrix = d.photo.matrix(v.Photo)
		if len(v.RingsMM) == 0 {
			d.inner = d.photo.box(d.matrix)
			d.bounds = d.inner.around(min(1, around-tightMM))
		}
	}
	if size := max(d.inner.width(), d.inner.height()); !(size > 0 && size <= maxMM) {
		at := fmt.Sprintf("views[%d]", i)
		return d, fault.New(fault.OutOfRange, at, "%.60s is %s mm big, which cannot be printed.", v.Name, fault.Number(size))
	}
	for _, m := range v.Marks {
		middle := [2]float64{(m.Ends[0][0] + m.Ends[1][0]) / 2, (m.Ends[0][1] + m.Ends[1][1]) / 2}
		d.bounds = d.bounds.join(nowhere().add(m.Ends[0], m.Ends[1]).around(wordsMM)).join(room(m.words(), middle))
	}
	for _, l := range v.Labels {
		d.bounds = d.bounds.join(level(l.Text, l.At))
	}
	return d, nil
}

// words of a mark: its name and how long it is.
func (m Mark) words() string {
	if m.Text == "" {
		return m.Name
	}
	return m.Name + " " + m.Text
}

// room is about what a short text takes around its middle, however it is turned.
func room(text string, at [2]float64) box {
	half := math.Min(1.1*float64(utf8.RuneCountInString(text)), 40) + 1
	return nowhere().add(at).around(half)
}

// level is about what a text takes that is not turned.
func level(text string, at [2]float64) box {
	half := math.Min(float64(utf8.RuneCountInString(text)), 60) + 1
	return box{at[0] - half, at[1] - 3, at[0] + half, at[1] + 3}
}

// length and angle of a mark, the angle such that a text along it stands upright: in
// degrees against the clock, over -90 to 90.
func (m Mark) along() (length, turn float64) {
	x, y := m.Ends[1][0]-m.Ends[0][0], m.Ends[1][1]-m.Ends[0][1]
	turn = math.Atan2(-y, x) * 180 / math.Pi
	switch {
	case turn > 90:
		turn -= 180
	case turn <= -90:
		turn += 180
	}
	return math.Hypot(x, y), turn
}

// write finds a place for every word of a drawing, off what is taken and the words
// before it where one is free. The widths come from the font.
func (d *drawing) write(taken []box, width func(string) float64) {
	put := func(w word) bool {
		b := w.box(width(w.text))
		for _, t := range taken {
			if b.meets(t) {
				return false
			}
		}
		taken, d.words = append(taken, b), append(d.words, w)
		return true
	}
	for _, l := range d.view.Labels {
		w := word{l.Text, l.At, 0}
		taken, d.words = append(taken, w.box(width(l.Text))), append(d.words, w)
	}
	for _, m := range d.view.Marks {
		places := m.places()
		free := false
		for _, w := range places {
			if free = put(w); free {
				break
			}
		}
		if !free { // better over another word than not at all
			d.words = append(d.words, places[0])
		}
	}
}

// places where a mark's words can stand: above its middle, below it, nearer to an end.
func (m Mark) places() (all []word) {
	_, turn := m.along()
	sin, cos := math.Sincos(turn * math.Pi / 180)
	const off = 3 // mm from the line to the middle of the text
	for _, share := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
		x := m.Ends[0][0] + float64(share*(m.Ends[1][0]-m.Ends[0][0]))
		y := m.Ends[0][1] + float64(share*(m.Ends[1][1]-m.Ends[0][1]))
		for _, side := range []float64{off, -off} {
			all = append(all, word{m.words(), [2]float64{x - float64(side*sin), y - float64(side*cos)}, turn})
		}
	}
	return all
}

// box around a word that is so wide, turned as it is.
func (w word) box(width float64) box {
	const high = 4
	sin, cos := math.Sincos(w.turn * math.Pi / 180)
	x := float64((float64(width*math.Abs(cos)) + float64(high*math.Abs(sin))) / 2)
	y := float64((float64(width*math.Abs(sin)) + float64(high*math.Abs(cos))) / 2)
	return box{w.at[0] - x, w.at[1] - y, w.at[0] + x, w.at[1] + y}
}
