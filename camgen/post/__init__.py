"""Post-processors: planned moves and a machine file become program text."""
