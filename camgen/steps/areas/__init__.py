"""Steps that clear an area to a depth: facing and pockets."""
