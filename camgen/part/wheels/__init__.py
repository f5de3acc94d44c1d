"""Wheels and pinions: their words, and the features that follow."""
