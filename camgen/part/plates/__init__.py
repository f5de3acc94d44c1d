"""Plates and bridges: their words, and the features that follow."""
