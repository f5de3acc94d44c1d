"""Clearing of areas with a bounded engagement: where a cutter passes, and in which order."""
