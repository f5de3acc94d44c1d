"""Input of every kind, damaged by its grammar, and the workers that try very many of it."""
