"""Tables of soils, turf and heads as package data: each number beside its source and how it was read."""
