package peer

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

var (
	runs = flag.Int("runs", 3000, "stories to be simulated; more for a longer soak")
	seed = flag.Uint64("seed", 1, "seed of the first story")
)

// TestStories simulates stories from seeds: each fails with its own seed.
func TestStories(t *testing.T) {
	total := map[string]int{}
	for i := range *runs {
		s := *seed + uint64(i)
		draw := rand.New(rand.NewPCG(s, 0))
		w := newWorld(1+draw.IntN(8), draw.IntN, func(format string, args ...any) {
			panic(fmt.Sprintf("seed %d: ", s) + fmt.Sprintf(format, args...))
		})
		w.run(100 + draw.IntN(400))
		for what, n := range w.tally {
			total[what] += n
		}
		total["changes"] += len(w.home.log)
	}
	t.Logf("%d stories: %v", *runs, total)
}

// TestAnyStory has rapid draw stories, and shorten those that fail.
func TestAnyStory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pick := func(n int) int {
			if n < 2 {
				return 0
			}
			return rapid.IntRange(0, n-1).Draw(t, "pick")
		}
		w := newWorld(1+pick(8), pick, t.Fatalf)
		w.run(pick(400))
	})
}
