package outline

// cut is a graph whose cheapest cut parts it into a side of the source and one of the
// sink: the maximum flow by two search trees (Boykov and Kolmogorov, IEEE PAMI 26 (2004), 1124).
type cut struct {
	first  []int32 // a node's first arc, -1 for none
	excess []int32 // what may still flow from the source into a node (> 0) or from it to the sink (< 0)
	arcs   []arc
	parent []int32 // the arc to the parent, or root, orphan, none
	sink   []bool  // which tree a node is in
	queue  []int32
	head   int
	active []bool
	dist   []int32
	stamp  []int32
	time   int32
	orphan []int32
}

// arc leads to a node; its sister, which leads back, is arc^1.
type arc struct {
	to, next int32
	free     int32
}

const (
	free   = -1 // in no tree
	root   = -2 // joined to source or sink itself
	orphan = -3
)

func newCut(nodes, edges int) *cut {
	c := &cut{first: make([]int32, nodes), excess: make([]int32, nodes), arcs: make([]arc, 0, 2*edges)}
	for i := range c.first {
		c.first[i] = -1
	}
	return c
}

// tie joins two nodes by an edge that costs so much to cut.
func (c *cut) tie(a, b int, cost int32) {
	if cost <= 0 {
		return
	}
	n := int32(len(c.arcs))
	c.arcs = append(c.arcs, arc{int32(b), c.first[a], cost}, arc{int32(a), c.first[b], cost})
	c.first[a], c.first[b] = n, n+1
}

// lean adds what it costs to have a node on the sink's side (above 0), or on the source's.
func (c *cut) lean(a int, cost int32) { c.excess[a] += cost }

func (c *cut) wake(i int32) {
	if !c.active[i] {
		c.active[i] = true
		c.queue = append(c.queue, i)
	}
}

// solve finds the cut; onSource tells a node's side after it.
func (c *cut) solve() {
	n := len(c.first)
	c.parent, c.sink = make([]int32, n), make([]bool, n)
	c.active, c.dist, c.stamp = make([]bool, n), make([]int32, n), make([]int32, n)
	for i := range c.parent {
		c.parent[i] = free
		if c.excess[i] != 0 {
			c.parent[i], c.sink[i], c.dist[i] = root, c.excess[i] < 0, 1
			c.wake(int32(i))
		}
	}
	for c.head < len(c.queue) {
		i := c.queue[c.head]
		if c.parent[i] == free {
			c.head++
			c.active[i] = false
			continue
		}
		if bridge := c.grow(i); bridge >= 0 {
			c.time++
			c.augment(bridge)
			c.adopt()
			continue // the node may have more to give
		}
		c.head++
		c.active[i] = false
		if c.head > 1<<16 && c.head > len(c.queue)/2 {
			c.queue = append(c.queue[:0], c.queue[c.head:]...)
			c.head = 0
		}
	}
}

func (c *cut) onSource(i int) bool { return c.parent[i] != free && !c.sink[i] }

// grow lets a node's tree take free neighbours, until it meets the other tree: then it
// gives the arc from the source's to the sink's.
func (c *cut) grow(i int32) int32 {
	for a := c.first[i]; a >= 0; a = c.arcs[a].next {
		room := c.arcs[a].free
		if c.sink[i] {
			room = c.arcs[a^1].free
		}
		if room == 0 {
			continue
		}
		j := c.arcs[a].to
		switch {
		case c.parent[j] == free:
			c.parent[j], c.sink[j] = a^1, c.sink[i]
			c.stamp[j], c.dist[j] = c.stamp[i], c.dist[i]+1
			c.wake(j)
		case c.sink[j] != c.sink[i]:
			if c.sink[i] {
				return a ^ 1
			}
			return a
		case c.stamp[j] <= c.stamp[i] && c.dist[j] > c.dist[i]:
			c.parent[j], c.stamp[j], c.dist[j] = a^1, c.stamp[i], c.dist[i]+1
		}
	}
	return -1
}

// augment sends what it can from root to root over the bridge.
func (c *cut) augment(bridge int32) {
	from, to := c.arcs[bridge^1].to, c.arcs[bridge].to
	room := c.arcs[bridge].free
	i := from
	for c.parent[i] != root {
		room = min(room, c.arcs[c.parent[i]^1].free)
		i = c.arcs[c.parent[i]].to
	}
	room = min(room, c.excess[i])
	i = to
	for c.parent[i] != root {
		room = min(room, c.arcs[c.parent[i]].free)
		i = c.arcs[c.parent[i]].to
	}
	room = min(room, -c.excess[i])

	c.arcs[bridge].free -= room
	c.arcs[bridge^1].free += room
	i = from
	for c.parent[i] != root {
		a := c.parent[i]
		c.arcs[a].free += room
		c.arcs[a^1].free -= room
		up := c.arcs[a].to
		if c.arcs[a^1].free == 0 {
			c.cast(i)
		}
		i = up
	}
	if c.excess[i] -= room; c.excess[i] == 0 {
		c.cast(i)
	}
	i = to
	for c.parent[i] != root {
		a := c.parent[i]
		c.arcs[a].free -= room
		c.arcs[a^1].free += room
		up := c.arcs[a].to
		if c.arcs[a].free == 0 {
			c.cast(i)
		}
		i = up
	}
	if c.excess[i] += room; c.excess[i] == 0 {
		c.cast(i)
	}
}

func (c *cut) cast(i int32) {
	c.parent[i] = orphan
	c.orphan = append(c.orphan, i)
}

// adopt finds each orphan a parent in its tree, or sets it free.
func (c *cut) adopt() {
	for len(c.orphan) > 0 {
		i := c.orphan[len(c.orphan)-1]
		c.orphan = c.orphan[:len(c.orphan)-1]
		best, nearest := int32(-1), int32(1<<30)
		for a := c.first[i]; a >= 0; a = c.arcs[a].next {
			j := c.arcs[a].to
			if c.room(i, a) == 0 || c.sink[j] != c.sink[i] || c.parent[j] == free {
				continue
			}
			if d := c.toRoot(j); d < nearest {
				best, nearest = a, d
			}
		}
		if best >= 0 {
			c.parent[i], c.stamp[i], c.dist[i] = best, c.time, nearest+1
			continue
		}
		c.parent[i] = free
		for a := c.first[i]; a >= 0; a = c.arcs[a].next {
			j := c.arcs[a].to
			if c.sink[j] != c.sink[i] || c.parent[j] == free {
				continue
			}
			if c.room(i, a) > 0 {
				c.wake(j)
			}
			if p := c.parent[j]; p >= 0 && c.arcs[p].to == i {
				c.cast(j)
			}
		}
	}
}

// room is what may flow between i and the node of its arc a, in the direction of i's tree.
func (c *cut) room(i, a int32) int32 {
	if c.sink[i] {
		return c.arcs[a].free
	}
	return c.arcs[a^1].free
}

// toRoot is how many steps a node is from its root, a great number where an orphan lies
// between. What it learns it marks with the time, so that it need not go there again.
func (c *cut) toRoot(j int32) int32 {
	const never = 1 << 30
	steps := int32(0)
	at := j
	for {
		if c.stamp[at] == c.time {
			steps += c.dist[at]
			break
		}
		p := c.parent[at]
		if p == orphan || p == free {
			return never
		}
		steps++
		if p == root {
			c.stamp[at], c.dist[at] = c.time, 1
			break
		}
		at = c.arcs[p].to
	}
	total := steps
	for at = j; c.stamp[at] != c.time; at = c.arcs[c.parent[at]].to {
		c.stamp[at], c.dist[at] = c.time, steps
		steps--
	}
	return total
}
