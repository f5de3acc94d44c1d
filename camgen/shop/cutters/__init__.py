"""Cutters: as they are described, as they are said in words, what each kind can do, its outline."""

from camgen.shop.cutters.cutter import Cutter, CutterMaterial, MadeFor, usual
from camgen.shop.cutters.profile import (
    CutterProfile,
    PartName,
    ProfilePart,
    bears_under,
    core_of,
    least_round,
    opening_of,
    profile_of,
)
from camgen.shop.cutters.records import (
    RECORDS,
    Ability,
    CutterKind,
    CutterRecord,
    EdgeForm,
    End,
    Way,
    kinds_of,
    kinds_that_can,
    record_of,
)
from camgen.shop.cutters.sense import Misfit, misfits
from camgen.shop.cutters.speed import highest_speed
from camgen.shop.cutters.words import (
    OWN_CUTTERS,
    cutter_text,
    find_cutter,
    own_cutters,
    parse_cutter,
)

__all__ = [
    "OWN_CUTTERS",
    "RECORDS",
    "Ability",
    "Cutter",
    "CutterKind",
    "CutterMaterial",
    "CutterProfile",
    "CutterRecord",
    "EdgeForm",
    "End",
    "MadeFor",
    "Misfit",
    "PartName",
    "ProfilePart",
    "Way",
    "bears_under",
    "core_of",
    "cutter_text",
    "find_cutter",
    "highest_speed",
    "kinds_of",
    "kinds_that_can",
    "least_round",
    "misfits",
    "opening_of",
    "own_cutters",
    "parse_cutter",
    "profile_of",
    "record_of",
    "usual",
]
