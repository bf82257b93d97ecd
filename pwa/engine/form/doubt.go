package form

// doubt is between which shares of the estimate the true volume lies for nine animals in ten. From
// 11 meshes of animals whose volume is known, as they stand and turned by 25 degrees: as
// they stand and even from the front, the estimates were 7 % low to 12 % high; turned or
// in a walk up to 55 % high, and up to 30 % with an outline from above.
func doubt(even float64, above bool) (low, high float64) {
	switch {
	case even >= askew:
		return 0.87, 1.08
	case above:
		return 0.75, 1.08
	}
	return 0.67, 1.08
}
