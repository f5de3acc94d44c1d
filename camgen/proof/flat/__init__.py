"""Flat work as the programs cut it against the part as meant."""
