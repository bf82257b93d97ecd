package outline

import "math/rand/v2"

// family is a kind of photo: a scene for each seed.
type family struct {
	name string
	make func(rnd *rand.Rand, s *scene)
	// least is the intersection over union that every photo of the kind has to reach.
	least float64
}

func some(rnd *rand.Rand, low, high float64) float64 { return low + rnd.Float64()*(high-low) }

// near is a colour at most so far from another in each channel, its channels moved much alike.
func nearColour(rnd *rand.Rand, c [3]float64, by float64) [3]float64 {
	all := some(rnd, -by, by)
	for i := range c {
		c[i] = min(252, max(3, c[i]+all+some(rnd, -by/4, by/4)))
	}
	return c
}

var names = []string{"bear side", "bear front", "cow side", "elephant side", "elephant front", "pig side", "pig front", "cow front"}
var cards = [][3]float64{{45, 80, 130}, {240, 240, 238}, {30, 30, 32}, {190, 40, 40}, {60, 140, 80}, {225, 200, 70}}

// sceneOf is the plain photo that each family changes.
func sceneOf(f family, seed uint64) scene {
	rnd := rand.New(rand.NewPCG(seed, 99))
	s := scene{width: 720, height: 1000, seed: seed}
	s.animal = names[rnd.IntN(len(names))]
	s.size = some(rnd, 0.5, 0.75)
	s.turn = some(rnd, -0.3, 0.3)
	s.at = [2]float64{some(rnd, 0.44, 0.56), some(rnd, 0.34, 0.44)}
	s.cloth = nearColour(rnd, [3]float64{212, 205, 195}, 12)
	wools := [][3]float64{{150, 110, 80}, {90, 70, 60}, {170, 150, 60}, {60, 90, 120}, {160, 70, 60}, {110, 130, 90}, {45, 42, 44}, {200, 140, 150}}
	s.wool = nearColour(rnd, wools[rnd.IntN(len(wools))], 15)
	s.light, s.shadow, s.soft = some(rnd, 0.05, 0.25), some(rnd, 0.3, 0.6), some(rnd, 12, 28)
	s.noise, s.fur, s.fleece = some(rnd, 1, 3), some(rnd, 5, 14), 1
	if rnd.IntN(4) > 0 {
		c := cards[rnd.IntN(len(cards))]
		s.card = &c
	}
	f.make(rnd, &s)
	return s
}

var families = []family{
	{"plain", func(*rand.Rand, *scene) {}, 0.985},
	{"pale on pale", func(rnd *rand.Rand, s *scene) {
		s.cloth = nearColour(rnd, [3]float64{205, 198, 188}, 10)
		s.wool = nearColour(rnd, [3]float64{236, 229, 215}, 8)
	}, 0.93},
	{"smooth and pale", func(rnd *rand.Rand, s *scene) {
		s.cloth = nearColour(rnd, [3]float64{205, 198, 188}, 10)
		s.wool = nearColour(rnd, [3]float64{236, 229, 215}, 8)
		s.fleece = 0.4
	}, 0.7},
	{"white on cream", func(rnd *rand.Rand, s *scene) {
		s.cloth = nearColour(rnd, [3]float64{218, 206, 180}, 6)
		s.wool = nearColour(rnd, [3]float64{240, 238, 234}, 6)
	}, 0.97},
	{"dark on dark", func(rnd *rand.Rand, s *scene) {
		s.cloth = nearColour(rnd, [3]float64{52, 54, 62}, 10)
		s.wool = nearColour(rnd, [3]float64{74, 58, 46}, 8)
	}, 0.97},
	{"grey on pale", func(rnd *rand.Rand, s *scene) {
		s.cloth = nearColour(rnd, [3]float64{214, 208, 200}, 8)
		g := some(rnd, 85, 150)
		s.wool = nearColour(rnd, [3]float64{g + 3, g, g - 4}, 3)
	}, 0.98},
	{"uneven light", func(rnd *rand.Rand, s *scene) { s.light = some(rnd, 0.4, 0.6) }, 0.985},
	{"strong shadow", func(rnd *rand.Rand, s *scene) { s.shadow, s.soft = some(rnd, 0.65, 0.75), some(rnd, 14, 30) }, 0.985},
	{"stripes", func(rnd *rand.Rand, s *scene) {
		s.pattern = "stripes"
		s.second = nearColour(rnd, [][3]float64{{150, 165, 185}, {190, 120, 110}, {235, 232, 225}}[rnd.IntN(3)], 8)
	}, 0.98},
	{"checks", func(rnd *rand.Rand, s *scene) {
		s.pattern = "checks"
		s.second = nearColour(rnd, [][3]float64{{150, 165, 185}, {190, 90, 90}, {110, 140, 110}}[rnd.IntN(3)], 8)
	}, 0.97},
	{"two colours", func(rnd *rand.Rand, s *scene) {
		c := nearColour(rnd, [][3]float64{{240, 236, 228}, {40, 36, 34}, {235, 210, 170}}[rnd.IntN(3)], 5)
		s.patch = &c
	}, 0.95},
	{"two pieces", func(rnd *rand.Rand, s *scene) {
		s.other = names[rnd.IntN(len(names))]
		s.at = [2]float64{some(rnd, 0.44, 0.56), some(rnd, 0.3, 0.36)}
		s.size = some(rnd, 0.55, 0.68)
		s.card = nil
	}, 0.98},
	{"coloured cloth", func(rnd *rand.Rand, s *scene) {
		s.cloth = nearColour(rnd, [][3]float64{{70, 110, 85}, {120, 60, 70}, {60, 80, 130}, {190, 160, 90}}[rnd.IntN(4)], 10)
		s.wool = nearColour(rnd, [][3]float64{{225, 215, 195}, {150, 110, 75}, {60, 52, 50}}[rnd.IntN(3)], 12)
	}, 0.98},
}
