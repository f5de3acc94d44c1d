"""A cutter that may not meet solid metal finds its hole open as the motion made it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from motion_by_hand import Piece, bench_mill, flat, program
from sampling import sampled
from test_steps_taps import CYCLES, PLATE, REVERSING, failing
from workshop import DRIVEN, read

from camgen.cutting.answer import CutPlan
from camgen.faults import Refused
from camgen.job.models import Job, Setup
from camgen.layout import FlatLayout
from camgen.messages import Message
from camgen.moves import Section, SetupMoves
from camgen.plan import plan_job
from camgen.post.writer import write_programs
from camgen.proof import Evidence, Proof, gather, prove
from camgen.proof.table.holes_found import prove_holes_found
from camgen.proof.table.solids import finds
from camgen.reader import read_program
from camgen.shop.cutters import RECORDS, Cutter, Way, kinds_of, record_of
from camgen.shop.machine import Spindle

# Each cutter that may not meet solid metal, with the drill whose hole it needs.
NEED = {
    "tap": (Cutter(kind="tap", diameter=1.0, pitch=0.25), 0.76),
    "reamer": (Cutter(kind="reamer", diameter=1.6), 1.5),
    "boring bar": (Cutter(kind="boring-bar", diameter=1.6, shank=1.0), 1.2),
    "counterbore": (Cutter(kind="counterbore", diameter=1.6), 0.8),
    "thread mill": (Cutter(kind="thread-mill", diameter=0.8, pitch=0.25), 1.0),
    "disc": (Cutter(kind="form-disc", diameter=3.0), 4.0),
    "fly cutter": (Cutter(kind="fly-cutter", diameter=3.0), 4.0),
    "saw": (Cutter(kind="slitting-saw", diameter=3.0), 4.0),
    **{f"{kind} with a dead middle": (Cutter(kind=kind, diameter=1.6, plunges=False), 1.0)
       for kind in kinds_of(Way.MILLING)},
}
DEEP = -0.8
PLANNED = CutPlan(
    speed=1000, surface_speed=5, chip_load=0.01, feed=20, plunge_feed=20, depth=0.8, width=0.1,
    limits=(), governed_by={}, warnings=())


def drilled(x: float = 0.0, y: float = 0.0, to: float = -2.0) -> list[Piece]:
    """A hole by cutter 1 with a flat end: full to its depth."""
    return [("rapid", x, y, 2), ("line", None, None, to), ("rapid", None, None, 2)]


def gone_in(x: float = 0.0, y: float = 0.0, to: float = DEEP, kind: str = "line") -> list[Piece]:
    by: dict[str, object] = {"cutter": 2}
    return [("rapid", x, y, 2, by), (kind, None, None, to, by), ("rapid", None, None, 2, by)]


def evidence(
    pieces: list[Piece], kind: str, drill: float | Cutter, layout: FlatLayout | None = None,
    **more: Any,
) -> Evidence:
    first = drill if isinstance(drill, Cutter) else Cutter(kind="end-mill", diameter=drill)
    job = Job(job="by hand", material="brass", cutters={"first": first, "second": NEED[kind][0]},
              setups=(Setup(name="work"),))
    return gather("work", job, bench_mill(),
                  layout or flat(thickness=2.5), None, [program(pieces, **more)],
                  {1: first, 2: NEED[kind][0]})


def proved(looked_at: Evidence) -> Proof:
    (found,) = prove_holes_found(looked_at)
    return found


def test_every_kind_that_may_not_meet_solid_metal_is_looked_at() -> None:
    looked_at = {cutter.kind for cutter, _ in NEED.values() if not record_of(cutter).meets_solid}
    # A probe cuts nothing, and what it meets is proved apart.
    assert looked_at == {kind for kind, record in RECORDS.items()
                         if not record.meets_solid and not record.touches}


@pytest.mark.parametrize("kind", NEED)
def test_a_hole_wide_and_deep_enough_before_it_holds(kind: str) -> None:
    found = proved(evidence([*drilled(), *gone_in()], kind, NEED[kind][1]))
    assert (found.holds, found.figure) == (True, 0.0)


@pytest.mark.parametrize("way", ["line", "rapid"])
@pytest.mark.parametrize("kind", NEED)
def test_without_a_hole_it_stands_in_metal_as_deep_as_it_goes(kind: str, way: str) -> None:
    found = proved(evidence(gone_in(kind=way), kind, NEED[kind][1]))
    assert (found.holds, found.line, found.at) == (False, 2, (0, 0, DEEP))
    assert found.figure == pytest.approx(-DEEP, abs=0.01)
    assert "not open there" in found.where


@pytest.mark.parametrize("kind", NEED)
def test_a_hole_made_later_is_none(kind: str) -> None:
    assert not proved(evidence([*gone_in(), *drilled()], kind, NEED[kind][1])).holds


@pytest.mark.parametrize("kind", NEED)
def test_a_hole_too_small_is_told_with_its_size(kind: str) -> None:
    cutter = NEED[kind][0]
    need = finds(cutter)
    assert need is not None
    small = 0.8 * need.diameter
    found = proved(evidence([*drilled(), *gone_in()], kind, small))
    assert not found.holds
    assert f"{need.diameter:g} mm open" in found.where
    told = float(found.where.split("is open ")[1].split(" mm")[0])
    assert told == pytest.approx(small, abs=need.diameter / 30)


@pytest.mark.parametrize("kind", NEED)
def test_a_hole_too_shallow_is_told_with_what_it_lacks(kind: str) -> None:
    found = proved(evidence([*drilled(to=DEEP + 0.2), *gone_in()], kind, NEED[kind][1]))
    assert not found.holds
    assert found.figure == pytest.approx(0.2, abs=0.01)


@pytest.mark.parametrize("kind", NEED)
def test_a_hole_beside_it_is_none(kind: str) -> None:
    wide = NEED[kind][1]
    assert not proved(evidence([*drilled(wide, 0.0), *gone_in()], kind, wide)).holds


@pytest.mark.parametrize(("widths", "holds"), [
    ((), True), ((None,), True), ((None, 0.1, 0.3), True), ((None, 0.1), False)])
def test_a_bar_finds_as_much_open_as_its_passes_are_planned_to_leave_it(
    widths: tuple[float | None, ...], holds: bool
) -> None:
    """A bar of 1.0 set to 1.6 mm in a hole of 1.2: it takes 0.2 mm all round.

    The first section is another cutter's, and is planned for less. Nobody's plan may be there too.
    """
    sections = tuple(
        Section(Message("bore"), 0, "cutter", 1 if width is None else 2, Message("BAR"), 1000.0, ())
        for width in widths)
    cuts = tuple(replace(PLANNED, width=width or 0.05) for width in widths)
    looked_at = replace(evidence([*drilled(), *gone_in()], "boring bar", 1.2),
                        moves=SetupMoves("work", sections), planned_cuts=cuts)
    assert proved(looked_at).holds is holds
    assert proved(replace(looked_at, planned_cuts=())).holds


def test_the_cone_that_a_drill_leaves_is_no_hole_for_a_tap() -> None:
    """A drill of 0.76 with a point of 118° has a cone of 0.38 / tan 59° = 0.228 mm."""
    drill = Cutter(kind="drill", diameter=0.76)
    deep = evidence([*drilled(to=DEEP - 0.24), *gone_in()], "tap", drill)
    assert proved(deep).holds
    found = proved(evidence([*drilled(to=DEEP - 0.1), *gone_in()], "tap", drill))
    assert not found.holds
    assert found.figure == pytest.approx(0.3645 / 1.6643 - 0.1, abs=0.01)


@given(x=st.floats(-8, 8), y=st.floats(-8, 8), deep=st.floats(0.05, 2.4),
       lacks=st.floats(0.02, 2.4), kind=st.sampled_from(sorted(NEED)))
def test_anywhere_and_any_depth_what_lacks_is_found(
    x: float, y: float, deep: float, lacks: float, kind: str
) -> None:
    wide = NEED[kind][1]
    fine = [*drilled(x, y, -deep), *gone_in(x, y, -deep)]
    assert proved(evidence(fine, kind, wide)).holds
    found = proved(evidence([*drilled(x, y, min(lacks - deep, 0.0)), *gone_in(x, y, -deep)],
                            kind, wide))
    assert not found.holds
    assert found.figure == pytest.approx(min(lacks, deep), abs=0.01)


def test_a_tap_goes_on_while_its_spindle_is_reversed() -> None:
    """600 rev/min, half a second: 0.3125 mm with a pitch of 0.25 (geometry)."""
    machine = bench_mill(spindle=Spindle(lowest=100, senses=("clockwise", "anticlockwise"),
                                         reversal_seconds=0.5))
    for to, holds in ((DEEP - 0.33, True), (DEEP - 0.3, False)):
        looked_at = evidence([*drilled(to=to), *gone_in()], "tap", 0.76, speed=600.0)
        assert proved(replace(looked_at, machine=machine)).holds is holds


@pytest.mark.parametrize("kind", ["drill", "spot-drill", "reamer", "counterbore", "tap"])
def test_what_cuts_along_its_axis_is_not_fed_across_it_in_metal(kind: str) -> None:
    cutter = Cutter(kind=kind, diameter=1.0, pitch=0.25 if kind == "tap" else None)
    first = Cutter(kind="end-mill", diameter=1.4)
    by: dict[str, object] = {"cutter": 2}
    slot: list[Piece] = [("rapid", 0, 0, 2), ("line", None, None, -1), ("line", 5, 0, None),
                         ("rapid", None, None, 2)]
    across: list[Piece] = [("rapid", 0, 0, 2, by), ("line", None, None, -0.9, by),
                           ("line", 4, 0, None, by)]
    job = Job(job="by hand", material="brass", cutters={"first": first, "second": cutter},
              setups=(Setup(name="work"),))
    for pieces, holds in (([*slot, *across], True), (across, False)):
        looked_at = gather("work", job, bench_mill(), flat(thickness=2.5), None,
                           [program(pieces)], {1: first, 2: cutter})
        (found,) = [one for one in prove_holes_found(looked_at) if one.id.word == "sideways"]
        assert found.holds is holds
        if not holds:
            assert found.figure == pytest.approx(0.9, abs=0.01)
            assert found.line == 3


# Setups one after the other ------------------------------------------------------------------


def after(first: Evidence, second: Evidence) -> Proof:
    return proved(replace(second, earlier=(first,)))


def turned(about: str, **more: object) -> FlatLayout:
    return flat(thickness=2.5, side="under", turned=about, **more)


@pytest.mark.parametrize("kind", NEED)
def test_a_hole_that_an_earlier_setup_made_is_open(kind: str) -> None:
    wide = NEED[kind][1]
    first = evidence(drilled(3, 2, -2.0), kind, wide, flat(thickness=2.5, places=((1.0, 0.0),)))
    # The part's own zero was at X1 there and is at Y-2 here.
    second = flat(thickness=2.5, places=((0.0, -2.0),))
    assert after(first, evidence(gone_in(2, 0), kind, wide, second)).holds
    assert not after(first, evidence(gone_in(3, 2), kind, wide, second)).holds
    assert not after(first, evidence(gone_in(2, 0, -2.2), kind, wide, second)).holds


@pytest.mark.parametrize(("kind", "about", "x", "y"), sampled(
    ((kind, *turn) for kind in NEED for turn in (("X", 3.0, -2.0), ("Y", -3.0, 2.0))), 3))
def test_a_hole_on_the_other_face_is_open_only_where_it_comes_through(
    kind: str, about: str, x: float, y: float
) -> None:
    wide = NEED[kind][1]
    stroke = evidence(gone_in(x, y, -2.3), kind, wide, turned(about))
    through = evidence(drilled(3, 2, -2.5), kind, wide, flat(thickness=2.5))
    blind = evidence(drilled(3, 2, -2.0), kind, wide, flat(thickness=2.5))
    assert after(through, stroke).holds
    found = after(blind, stroke)
    assert not found.holds
    # From this face 0.5 mm of metal stand over the blind hole.
    assert found.figure == pytest.approx(2.3, abs=0.01)


@pytest.mark.parametrize("kind", NEED)
def test_the_carrier_below_a_hole_of_an_earlier_setup_is_solid(kind: str) -> None:
    wide = NEED[kind][1]
    through = evidence(drilled(0, 0, -3.0), kind, wide, flat(thickness=2.5))
    found = after(through, evidence(gone_in(to=-2.7), kind, wide, flat(thickness=2.5)))
    assert not found.holds
    assert found.figure == pytest.approx(0.2, abs=0.01)
    assert "the carrier" in found.where


# Whole jobs ----------------------------------------------------------------------------------

NAME = "table.hole-open-before: cutter "


def changed(old: str, new: str) -> str:
    assert old in PLATE
    return PLATE.replace(old, new)


def found_in(text: str, machine: object = REVERSING) -> set[str]:
    """Ids of proofs that do not hold; those of holes alone. A refused job is found too."""
    try:
        return {name for name in failing(text=text, machine=machine) if name.startswith(NAME)}
    except Refused:
        return {"refused"}


TAP = "      - tap: {cutter: tap, holder-gives: 0.3, lead: 0.4}\n"
POSTS = "      - drill: {cutter: tap-drill, holes: [posts], depth: 3.0}\n"
CAP = "      - drill: {cutter: drill, holes: [cap, third-through, fourth]}\n"
ROUGH = "      - bore: {cutter: mill, holes: [third, fourth], drilled: 0.8, correction: -0.04}\n"


@pytest.mark.parametrize("machine", sampled(
    [REVERSING, CYCLES], 2, ids=["written out", "by cycle"]))
@pytest.mark.parametrize(
    ("text", "cutter"),
    sampled([
        (changed(POSTS, ""), 3),
        (changed(TAP, "").replace(POSTS, TAP + POSTS), 3),
        (changed("tap-drill: {kind: drill, diameter: 0.76", "tap-drill: {kind: drill, "
                 "diameter: 0.6"), 3),
        (changed(CAP, ""), 4),
        (changed(ROUGH, ""), 6),
        (changed("diameter: 1.49, shank: 0.7", "diameter: 1.49, shank: 1.3").replace(
            "correction: -0.04", "correction: -0.3"), 6),
    ], 24, ids=["no drill", "drill after", "small drill", "no hole for a pilot", "wall too thick",
                "a bar wider than its hole"]),
)
def test_what_a_job_says_of_its_holes_is_not_believed(
    text: str, cutter: int, machine: object
) -> None:
    assert found_in(PLATE, machine) == set()
    assert found_in(text, machine) & {f"{NAME}{cutter}", f"{NAME}{cutter - 1}", "refused"}


REAMED = """
job: reamed plate
material: brass
made-elsewhere: [outline]
plate:
  thickness: 1.0
  outline: {rectangle: [20, 14], corner: 2}
  holes: {pins: {diameter: 1.6, at: [[0, 4], [4, 1]]}}
cutters:
  drill: {kind: drill, diameter: 1.5, flute-length: 6, reach: 8}
  reamer: {kind: reamer, diameter: 1.6, flutes: 4, flute-length: 6, reach: 10, material: hss}
setups:
  - name: top
    stock: {sheet: [30, 24], thickness: 1.0}
    holding: {by: wax on a carrier, carrier: brass, carrier-thickness: 5, cut-into: 1.5,
              holds-slugs: true}
    steps:
      - drill: {cutter: drill, holes: [pins], depth: 1.5}
      - ream: {cutter: reamer, holes: [pins], drilled: 1.5}
"""


def reamed(text: str) -> list[str]:
    job_file = read(text)
    one = plan_job(job_file, DRIVEN).setups[0]
    done = [read_program(each.text, DRIVEN, each.file)
            for each in write_programs(one.moves, DRIVEN, stem="plate")]
    return [str(proof.id) for proof in prove(job_file, one, DRIVEN, done) if not proof.holds]


@pytest.mark.parametrize(
    ("old", "new"),
    [("      - drill: {cutter: drill, holes: [pins], depth: 1.5}\n", ""),
     ("drill: {kind: drill, diameter: 1.5", "drill: {kind: drill, diameter: 0.8"),
     ("depth: 1.5", "depth: 0.9"), ("depth: 1.5", "depth: 1.2")],
    ids=["no hole", "half as wide", "not through", "deeper than the drill went"],
)
def test_a_reamer_needs_its_hole(old: str, new: str) -> None:
    assert reamed(REAMED) == []
    assert old in REAMED
    text = REAMED.replace(old, new)
    if "depth" in new:
        with pytest.raises(Refused, match="the reamer would go"):
            reamed(text)
    elif "0.8" in new:
        with pytest.raises(Refused, match=r"needs it 1\.36 mm wide there"):
            reamed(text)
        # Where the carrier is open beneath, it is the proof that finds the piece too narrow.
        open_beneath = text.replace("holds-slugs", "relieved: 0.5, holds-slugs")
        assert any(name.startswith(NAME) for name in reamed(open_beneath))
    else:
        assert any(name.startswith(NAME) for name in reamed(text))


def test_a_hole_made_elsewhere_is_believed_and_said() -> None:
    text = REAMED.replace("[outline]", "[outline, holes]").replace(
        "      - drill: {cutter: drill, holes: [pins], depth: 1.5}\n", "")
    with pytest.raises(Refused, match="opens what lies beneath"):
        plan_job(read(text), DRIVEN)
    # Its lead goes so far into the carrier: a quarter of its width and a little.
    relieved = f"relieved: {0.25 * 1.6 + 0.06:g}, holds-slugs"
    job_file = read(text.replace("holds-slugs", relieved))
    one = plan_job(job_file, DRIVEN).setups[0]
    (program_text,) = write_programs(one.moves, DRIVEN, stem="plate")
    done = read_program(program_text.text, DRIVEN, program_text.file)
    whole = gather("top", job_file.job, DRIVEN, one.layout, one.moves, [done],
                   planned_cuts=one.cuts)
    (found,) = prove_holes_found(whole)
    assert found.holds
    assert "made elsewhere" in found.where
    closed = replace(whole, layout=replace(one.layout, relieved=0.0))
    (found,) = prove_holes_found(closed)
    assert found.figure == pytest.approx(0.25 * 1.6 + 0.05, abs=0.01)
    assert "the carrier" in found.where
