"""Steps that cut along a wall right through: openings, crossings, outlines."""
