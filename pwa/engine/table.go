package engine

// table is every method, sorted by name. It is never changed.
var table = sorted()
