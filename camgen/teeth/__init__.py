"""Tooth forms, the spaces that form cutters leave, and how a pair runs together."""
