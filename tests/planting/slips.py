"""Faults that leave the path right: states, stops, waits, words, messages, marks and order.

The table holds what the two modules of kinds have put into it.
"""

from planting import at_stops, states
from planting.table import NEEDS, SLIPS

__all__ = ["NEEDS", "SLIPS", "at_stops", "states"]
