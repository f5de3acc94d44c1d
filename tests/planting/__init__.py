"""Faults planted one at a time in programs that prove right, to see whether proving finds them."""
