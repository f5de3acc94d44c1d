"""How exactly things are reckoned: each tolerance once, with its reason.

Lengths are mm, areas mm². What only one module means by a figure stays there, under a name that
says for what. From the finest to the coarsest:

- places: `SAME_POINT` of exact geometry, `SAME_PLACE` of what a program or a library gave back,
  `ROUNDING` of figures that were reckoned with, `LEAST_INCREMENT` of what a person has typed;
- ways: `MERGED_WAY` of short blocks merged for a control that reads slowly;
- chords in place of arcs: `MOTION_CHORD` where a proof measures, `GROUND_CHORD` where metal may not
  be taken for gone, `AREA_CHORD` where areas are cut, `CHECK_CHORD` where a job is looked over,
  `STOCK_CHORD` of raw stock, `ROUGH_CHORD` where only the extent is asked for;
- curves: `DRAWN_CURVE` that one drawn or typed as points may be off the arcs it is taken as;
- metal left: `LEFT_IN_CORNER` that a cutter may leave in a corner that is none;
- zeros that a person finds: `ZERO_ALONG`, `ZERO_INFEED`;
- areas: `TOUCHING_AREA`, `CHECK_TOUCHING_AREA`.
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "AREA_CHORD",
    "CHECK_CHORD",
    "CHECK_TOUCHING_AREA",
    "DRAWN_CURVE",
    "GROUND_CHORD",
    "LEAST_INCREMENT",
    "LEFT_IN_CORNER",
    "MERGED_WAY",
    "MOTION_CHORD",
    "ROUGH_CHORD",
    "ROUNDING",
    "SAME_PLACE",
    "SAME_POINT",
    "STOCK_CHORD",
    "TOUCHING_AREA",
    "ZERO_ALONG",
    "ZERO_INFEED",
]

SAME_POINT: Final = 1e-9
"""Points of exact geometry nearer than this are one: a millionth of the finest increment of any
control in use (0.001 mm is common, 0.0001 mm the finest of those described here), and far above
the rounding of doubles at the size of a table."""

SAME_PLACE: Final = 1e-7
"""Places that came back from a program's text or from offsets of outlines are one when nearer than
this, mm and degrees: far below any increment, above what such reckoning loses."""

ROUNDING: Final = 1e-6
"""Figures that differ by less differ by rounding alone: programs are written in steps of 0.0001 mm
or more, and sums of many moves lose less than this."""

LEAST_INCREMENT: Final = 0.001
"""Sizes that were meant to be the same may differ by this: the least increment of most machines,
and what a micrometer shows."""

MERGED_WAY: Final = 0.002
"""Short blocks that a slow control is not asked to read become a way that departs from the planned
one by no more, unless a machine file says otherwise: as far as a chord stands off its arc where a
machine file says nothing of it, a tenth of the least skin that is left on a wall for later."""

DRAWN_CURVE: Final = 0.002
"""Arcs and lines in place of a curve that was drawn, or given as many points, lie no further from
it, to either side: a tenth of the least skin that is left on a wall for later, a sixth of the
limits of a hole of class H7 of 3 to 6 mm (ISO 286-2: 12 µm)."""

MOTION_CHORD: Final = 0.0001
"""Chords in place of arcs of the motion where a proof measures on points: a tenth of a micrometre,
a tenth of what the finest tolerance proved allows to rounding."""

GROUND_CHORD: Final = 0.0005
"""Chords of regions that say where metal stands; regions are drawn in by as much, so that no metal
is taken for gone. Half a micrometre, below what any program says."""

AREA_CHORD: Final = 0.001
"""Chords of areas that are cut, weighed or laid into one another before exact curves are used."""

CHECK_CHORD: Final = 0.002
"""Chords where a job is only looked over: what overlaps by less is left to the proofs. On a picture
it is a tenth of what can be told apart, zoomed in to one part."""

STOCK_CHORD: Final = 0.005
"""Chords of round stock and of round pieces: stock is sawn or turned to hundredths."""

ROUGH_CHORD: Final = 0.01
"""Chords where only the extent of a part is asked for, or a picture shows no more."""

LEFT_IN_CORNER: Final = 0.0005
"""Metal that a cutter may leave in a corner of a wall, mm; where it leaves more the corner is
sharp, whatever its angle. Half a micrometre, less than the increment of most machines; two lines
that turn by 5.7° leave as much before a cutter of 0.8 mm. Common practice, no source."""

ZERO_ALONG: Final = 0.05
"""The zero along an arbor may be off by this, mm: a face touched with a strip of paper or by ear,
the face's own run-out, and end-shake of what holds it. Common practice, no source."""

ZERO_INFEED: Final = 0.03
"""The zero of the infeed may be off by this towards the work, mm: a touch by ear, and blanks that
run out on their arbor. Common practice, no source."""

TOUCHING_AREA: Final = 1e-5
"""Areas that overlap by less than this touch: a hundredth of a micrometre along a millimetre."""

CHECK_TOUCHING_AREA: Final = 1e-3
"""The same between areas of `CHECK_CHORD`, whose chords alone overlap by so much."""
