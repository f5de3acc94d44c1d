"""What stands on the table: stock, finished part, holding and dividing head, in the setup's frame.

Made from the job alone. Steps plan against it, proofs and pictures hold the motion read back
against it; so what was planned and what is proved look at the same things. Lengths mm, angles
degrees.
"""

from camgen.layout.flat import Clamp, FlatLayout, Tab, flat_layout, hub_beneath, part_shape
from camgen.layout.head import ToothLayout, tooth_layout
from camgen.layout.place import place_of
from camgen.layout.round import RoundLayout, round_layout
from camgen.layout.strip import Strip
from camgen.layout.work import FlatWork, HeadWork, RoundWork, Work

__all__ = [
    "Clamp",
    "FlatLayout",
    "FlatWork",
    "HeadWork",
    "RoundLayout",
    "RoundWork",
    "Strip",
    "Tab",
    "ToothLayout",
    "Work",
    "flat_layout",
    "hub_beneath",
    "part_shape",
    "place_of",
    "round_layout",
    "tooth_layout",
]
