"""Pieces held until the end: skins cut last, tabs clear of corners, openings before outlines."""

from __future__ import annotations

import math

import pytest
from sampling import sampled
from workshop import BLANKS, DRIVEN, PLATE, WHEEL, blanks, plate, read, strokes

from camgen.faults import Refused
from camgen.layout import FlatLayout
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import Proof, each_proof, gather
from camgen.reader import read_program
from camgen.shapes.offset import Area, offset
from camgen.shapes.path import ArcTo
from camgen.steps.walls.contour import begun_on_longest
from camgen.steps.walls.tabs import TabWords, tab_middles

SKIN = "skin: 0.06, cut-skin: true"
TABS = "tabs: {count: 3, width: 0.4, height: 0.1}"


def proofs(planned: PlannedSetup, text: str) -> dict[str, Proof]:
    job = read(text).job
    programs = [read_program(one.text, DRIVEN, one.file)
                for one in write_programs(planned.moves, DRIVEN, stem="piece")]
    evidence = gather(planned.name, job, DRIVEN, planned.layout, planned.moves, programs,
                      planned_cuts=planned.cuts)
    return {str(proof.id): proof for proof in each_proof(evidence)}


def job_text(*steps: str, slugs: str = "true") -> str:
    return WHEEL + BLANKS % slugs + "".join(f"      - {step}\n" for step in steps)


def laid(planned: PlannedSetup) -> FlatLayout:
    assert isinstance(planned.layout, FlatLayout)
    return planned.layout


@pytest.mark.parametrize("step", ["outline", "cross-out"])
def test_skins_are_cut_once_all_pieces_have_been_gone_round(step: str) -> None:
    planned = blanks(f"{step}: {{cutter: mill, {SKIN}}}")
    layout = laid(planned)
    skin = layout.bottom + 0.06
    made = [one for one in strokes(planned.moves.sections[0].moves)
            if not math.isnan(sum((*one.start, *one.end)))]
    first = next(n for n, one in enumerate(made) if one.end[2] < skin - 1e-9)
    gone_round = [any(math.dist(one.end[:2], place) < 6.5 and one.end[2] == pytest.approx(skin)
                      for one in made[:first]) for place in layout.places]
    assert gone_round == [True] * 4
    lowest = [min(one.end[2] for one in made if math.dist(one.end[:2], place) < 6.5)
              for place in layout.places]
    assert lowest == pytest.approx([min(lowest)] * 4)
    assert min(lowest) < layout.bottom
    assert any("until it is cut last" in remark for remark in planned.remarks)


@pytest.mark.parametrize(("words", "slugs"), sampled(
    [(SKIN, "true"), (f"{SKIN}, {TABS}", "false")], 2))
def test_pieces_whose_skin_is_cut_last_are_proved(words: str, slugs: str) -> None:
    steps = (f"cross-out: {{cutter: mill, {words}}}", f"outline: {{cutter: mill, {words}}}")
    planned = blanks(*steps, holds_slugs=slugs == "true")
    found = proofs(planned, job_text(*steps, slugs=slugs))
    assert [name for name, proof in found.items() if not proof.holds] == []
    if slugs == "false":
        assert found["flat.tabs"].figure > 0


@pytest.mark.parametrize(("words", "fault"), [
    ("cut-skin: true", "no skin to cut last"),
    (SKIN, "nothing holds the piece"),
])
def test_a_skin_that_cannot_be_cut_last_is_refused(words: str, fault: str) -> None:
    with pytest.raises(Refused, match=fault):
        blanks(f"outline: {{cutter: mill, {words}}}", holds_slugs=False)


def test_an_outline_cut_before_its_openings_is_remarked_on() -> None:
    steps = ("outline: {cutter: mill, skin: 0.06, cut-skin: true}", "cross-out: {cutter: mill}")
    planned = blanks(*steps)
    assert any("outline comes before cross out" in remark for remark in planned.remarks)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_tabs_stand_clear_of_the_outlines_corners(count: int) -> None:
    """As far from every corner as evenly spaced tabs can: no other start does better by much."""
    planned = plate("outline: {cutter: mill}", text=PLATE)
    (grown,) = offset(Area(laid(planned).part.outline), 0.4)
    path = begun_on_longest(grown.outer)
    corners, passed = [0.0], 0.0
    for (at, piece), length in zip(path.laid_out(), path.lengths, strict=True):
        if isinstance(piece, ArcTo) and math.dist(at, piece.centre) < 2.0:
            corners.append(passed + length / 2)
        passed += length

    def room(first: float) -> float:
        return min(abs((first + n * path.length / count - corner + path.length / 2) % path.length
                       - path.length / 2) for n in range(count) for corner in corners)

    tabs = tab_middles(path, TabWords(count=count, width=0.4, height=0.1), 2.0)
    best = max(room(path.length / count * share / 500) for share in range(500))
    assert room(path.nearest(tabs[0])) >= best - path.length / count / 48


@pytest.mark.parametrize(("beyond", "pieces"), [
    ((0.06, 3.0), 0), ((0.03, 3.0), 4), ((0.0, 3.0), 4), ((3.0, 0.03), 4), ((3.0, 0.06), 0)])
def test_an_outline_within_a_zeros_error_of_the_stocks_edge_is_noted(
    beyond: tuple[float, float], pieces: int
) -> None:
    """Two by two pieces 13 mm apart, and the stock so much beyond their outlines."""
    step = "outline: {cutter: mill}"
    x0, y0, x1, y1 = laid(blanks(step)).part.outline.region(0.001).bounds
    sheet = f"[{13 + x1 - x0 + 2 * beyond[0]:.4f}, {13 + y1 - y0 + 2 * beyond[1]:.4f}]"
    text = job_text(step).replace("[60, 30]", sheet)
    assert sheet in text
    notes = [note for note in plan_job(read(text), DRIVEN).setups[0].notes if "edge" in note]
    assert notes == ([f"stock: the outline of {pieces} of 4 lies within 0.05 mm of its edge, and a "
                      "zero may be off by that: the piece would be short of metal there"]
                     if pieces else [])


def test_an_outline_at_the_edge_of_stock_that_is_not_cut_out_is_not_noted() -> None:
    text = job_text("bore: {cutter: mill}").replace("[60, 30]", "[23.95, 23.95]")
    assert plan_job(read(text), DRIVEN).setups[0].notes == ()
