"""Steps on the dividing head: teeth, and what stands on the arbor."""
