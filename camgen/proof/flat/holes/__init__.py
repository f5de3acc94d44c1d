"""Round holes, cones and threads as the programs make them."""
