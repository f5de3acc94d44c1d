"""The workshop: materials, cutters and machines, each value with its source."""
