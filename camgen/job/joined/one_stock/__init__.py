"""A file that puts parts of several jobs on one stock: its words, its faults, and the pieces."""
