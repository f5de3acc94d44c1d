"""Proofs of what is cut round turned work in the dividing head."""
