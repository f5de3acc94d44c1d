"""What proofs of metal and of teeth tell of the place where they fail, in every language."""

from __future__ import annotations

import re

import pytest
import shapely
from message_templates import left_in_english
from motion_by_hand import Piece, evidence, flat, program, stack

from camgen.part.features import Hole, Recess
from camgen.part.shape import PartShape
from camgen.preview.failure import _figure
from camgen.preview.paper.board import new_board
from camgen.preview.paper.palette import palette
from camgen.proof import Proof
from camgen.proof.common.said import unit_said
from camgen.proof.flat.facing import prove_facing
from camgen.proof.flat.flat_removal import prove_flat_removal
from camgen.proof.flat.floors import prove_floors
from camgen.proof.head.around_head import prove_around_head
from camgen.proof.head.spaces import prove_spaces
from camgen.proof.head.tooth_form import prove_tooth_form
from camgen.proof.head.tooth_passes import prove_tooth_passes
from camgen.shapes.figures import rectangle
from camgen.shapes.offset import Area
from camgen.shapes.path import Point, circle, polygon
from camgen.steps.areas.pocket import PocketStep
from camgen.steps.holes.bore import Bore
from camgen.steps.walls.outline import Outline
from camgen.words import languages, words

OTHERS = [language for language in languages() if language != "en"]


def of_metal() -> list[Proof]:
    """Cut into the part, too wide, not at all, after it was free, too deep and not deep enough."""
    steps = (Outline(cutter="cutter"), Bore(cutter="cutter"), PocketStep(cutter="cutter"))
    square = polygon([(-5, -5), (5, -5), (5, 5), (-5, 5)])
    part = PartShape(
        square, (circle(Point(3, 3), 0.8),), (Hole("bore", Point(-3, 0), 3.0),),
        recesses=(Recess("seat", Area.of(rectangle(4, 4, 0.5)), 0.4),))
    lap: list[Piece] = [("rapid", -5.5, -5.5, 0.5), ("line", None, None, -1.2),
                        ("line", 5.5, -5.5, None), ("line", 5.5, 5.5, None),
                        ("line", -5.5, 5.5, None), ("line", -5.5, -5.5, None),
                        ("rapid", None, None, 5.0)]
    ring: list[Piece] = [("rapid", -2, 0, None), ("line", None, None, -1.2),
                         ("ccw", -2, 0, None, -3, 0), ("rapid", None, None, 5)]
    cross: list[Piece] = [("rapid", 0, 0, None), ("line", None, None, -0.3),
                          ("line", 1, 0, None), ("line", 1, 0, -0.5), ("rapid", None, None, 5)]
    across: list[Piece] = [("rapid", -9, 4, None), ("line", None, None, -1.2), ("line", 9, 4, None)]
    found: list[Proof] = []
    for pieces in (lap, [*lap, *ring], [*ring, *lap, *cross], across, cross):
        for free, over in ((False, 0.0), (True, 0.1)):
            layout = flat(part=part, holds_slugs=free, over=over,
                          places=((0.0, 0.0), (12.0, 0.0)) if free else ((0.0, 0.0),),
                          stock=shapely.box(-20, -20, 40, 20))
            one = evidence(layout, program(pieces), steps=steps)
            found += (*prove_flat_removal(one), *prove_floors(one), *prove_facing(one))
    return found


def of_teeth() -> list[Proof]:
    """One space cut well, twice, beside its angle, not deep enough; and nothing cut at all."""
    depth = stack().tooth.sizes.whole_depth
    found: list[Proof] = []
    for angles, deep in (((0.0,), depth), ((0.0, 0.0), depth), ((4.85,), depth - 0.05), ((), 0.0)):
        pieces: list[Piece] = []
        for angle in angles:
            pieces += [("index", angle + 2), ("index", angle), ("rapid", 4.0, -0.5, 0),
                       ("rapid", None, deep, None), ("line", -3.0, None, None),
                       ("rapid", None, -0.5, None)]
        one = evidence(stack(), program(pieces, start=(4.0, -0.5, 0)))
        found += (*prove_spaces(one), *prove_around_head(one), *prove_tooth_form(one),
                  *prove_tooth_passes(one))
    return found


def test_every_detail_is_said_in_every_language_with_the_same_figures() -> None:
    proofs = [one for one in (*of_metal(), *of_teeth()) if one.where]
    templates = {one.where.template for one in proofs}
    assert len(templates) > 12
    assert {"flat", "head"} == {one.id.wing for one in proofs if not one.holds}
    for language in OTHERS:
        catalogue = words(language)
        for proof in proofs:
            assert left_in_english(catalogue, proof.where) == [], str(proof.id)
            said = catalogue.say(proof.where)
            assert re.findall(r"\d+\.\d+", said) == re.findall(r"\d+\.\d+", proof.where)
            assert not re.search(r"\b(space|of|cut|the|piece|outline|floor)\b", said), said


@pytest.mark.parametrize("language", OTHERS)
def test_what_proofs_count_in_is_said(language: str) -> None:
    for unit in ("moves", "cuts", "of 12", "degrees", "% of limit", "stations", "programs"):
        assert left_in_english(words(language), unit_said(unit)) == []
    assert unit_said("µm") == "µm"


def test_a_picture_says_what_a_proof_counts_in() -> None:
    counted = next(one for one in of_teeth() if one.unit == "moves")
    for language, moves in (("en", "moves"), ("de", "Wege"), ("fr", "mouvements")):
        board = new_board(20.0, 20.0, palette(False), language)
        assert f" {moves}, " in _figure(board, counted)
