"""How runs and records are asked for and told at a terminal."""
