"""The machine file: what a mill and its control can do, and how its programs are spelt.

One YAML file describes one machine. The defaults are plain ISO 6983-1. Planner, post-processor,
reader and proofs all look here, and share nothing else. Lengths are in mm, angles in degrees,
feeds in mm/min and degrees/min, accelerations in mm/s² and degrees/s², times in seconds; the
``units`` of the *program* are the post-processor's care.

Two kinds of text in a machine file are filled in before they are written, by plain replacement of
names in braces and nothing else: the ``insert`` blocks (names in :data:`INSERT_NAMES`) and the
messages at a change of cutter (:data:`CHANGE_NAMES`) and at a head turned by hand
(:data:`MESSAGE_NAMES`).
"""

from camgen.shop.machine.agreement import contradictions
from camgen.shop.machine.axes import LinearAxis, SecondRotary, Spindle, SpindleStep, SpindleWords
from camgen.shop.machine.change import (
    CoolantWords,
    CutterChange,
    OffsetWords,
    PlaceToGo,
    RetractWords,
)
from camgen.shop.machine.head import Arrangement, Dividing, DrivenHead, HandHead, RotaryWords
from camgen.shop.machine.program import (
    ArcWords,
    BlockWords,
    Chatter,
    CycleWords,
    DwellWords,
    Insertions,
    NumberWords,
    ProgramWords,
    Subprograms,
)
from camgen.shop.machine.texts import CHANGE_NAMES, INSERT_NAMES, MESSAGE_NAMES, SignedAxis
from camgen.shop.machine.whole import MERGED_CORNER, MERGED_PIECES, Machine
from camgen.shop.machine.zeros.probing import Probing

__all__ = [
    "CHANGE_NAMES",
    "INSERT_NAMES",
    "MERGED_CORNER",
    "MERGED_PIECES",
    "MESSAGE_NAMES",
    "ArcWords",
    "Arrangement",
    "BlockWords",
    "Chatter",
    "CoolantWords",
    "CutterChange",
    "CycleWords",
    "Dividing",
    "DrivenHead",
    "DwellWords",
    "HandHead",
    "Insertions",
    "LinearAxis",
    "Machine",
    "NumberWords",
    "OffsetWords",
    "PlaceToGo",
    "Probing",
    "ProgramWords",
    "RetractWords",
    "RotaryWords",
    "SecondRotary",
    "SignedAxis",
    "Spindle",
    "SpindleStep",
    "SpindleWords",
    "Subprograms",
    "contradictions",
]
