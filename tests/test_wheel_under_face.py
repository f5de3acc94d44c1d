"""Wheels with a hub, a pipe or a stepped bore on the under face, or on both: a second setup."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from message_templates import left_in_english
from workshop import DRIVEN, read

from camgen.faults import Fault, Refused
from camgen.job.checks.whole_job import machine_for, metal_faults
from camgen.layout import FlatLayout, ToothLayout, hub_beneath
from camgen.make.told.turning import turning_of
from camgen.plan import Plan, plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence
from camgen.proof.evidence import FlatEvidence, by_kind
from camgen.proof.flat.sides import prove_sides
from camgen.proof.flat.wheel_faces import prove_wheel_faces
from camgen.proof.result import Proof
from camgen.reader import read_program
from camgen.sheet.turning import turning_over
from camgen.words import words

UPPER = "hub: {diameter: 2.8, thickness: 0.7}"
UNDER = """
  under:
    hub: {diameter: 2.2, thickness: 0.6}
    pipe: {diameter: 1.6, length: 0.3}
    counterbore: {diameter: 1.2, depth: 0.2}"""
HEAD = """
job: minute wheel
material: brass-leaded
wheel:
  teeth: 30
  module: 0.2
  mate: 8
  thickness: 0.3
  bore: 0.8
  WORDS
cutters:
  drill: {kind: drill, diameter: 0.6, flute-length: 5, reach: 6}
  mill: {kind: end-mill, diameter: 0.4, flutes: 2, flute-length: 1.4, reach: 2.4}
  clear: {kind: end-mill, diameter: 2.0, flutes: 3, flute-length: 2, reach: 4}
  teeth: {kind: form-disc, diameter: 20, flutes: 14, thickness: 2, arbor: 12, shank: 8, reach: 20,
          made-for: {form: cycloidal-wheel, module: 0.2, teeth: 30, mate: 8}}
setups:
"""
HOLDS = "cut-into: 0.4, holds-slugs: true}"
FIRST = """  - name: one
    stock: {sheet: [14, 14], thickness: HIGH}
    holding: {by: shellac on a carrier, carrier: brass, carrier-thickness: 3, """ + HOLDS + """
FACE    steps:
      - drill: {cutter: drill, holes: [bore]}
      - bore: {cutter: mill, drilled: 0.6, holes: [bore]}
STEPS      - outline: {cutter: mill}
"""
SECOND = """  - name: two
    stock: {left-by: one, thickness: HIGH}
    zero: {dowel: bore}
    holding: {by: shellac and a spigot, carrier: brass, carrier-thickness: 3, """ + HOLDS + """
FACE    steps:
STEPS"""
TEETH = """  - name: teeth
    dividing: {stack: 2, backing: 1.5, arbor: 4, zero: touch,
               front: {nut: 3, length: 4}, tailstock: {centre: 3, body: 12, from: 16}}
    steps:
      - cut-teeth: {cutter: teeth}
"""
LOOKS_DOWN = "    face: under\n    turned-over: about AXIS\n"


def steps(text: str, face: str) -> str:
    """The steps that make what is on a face."""
    part = read(HEAD.replace("WORDS", text) + TEETH).job.part
    has = part.side(face)  # type: ignore[union-attr, arg-type]
    seat = "bore-counterbore" + ("-under" if face == "under" else "")
    return (f"      - bore: {{cutter: mill, holes: [{seat}]}}\n" * bool(has.counterbore)
            + "      - pocket: {cutter: clear}\n" * bool(has.hub or has.pipe))


def job(
    text: str, *, first: str = "upper", axis: str = "Y", teeth: str = "", more: str = ""
) -> str:
    """A wheel of these words made in two setups; ``teeth`` "between" or "after" them."""
    faces = (first, "under" if first == "upper" else "upper")
    high = read(HEAD.replace("WORDS", text) + TEETH).job.part.height
    setups = [words.replace("HIGH", f"{high:g}")
              .replace("FACE", LOOKS_DOWN.replace("AXIS", axis) if face == "under" else "")
              .replace("STEPS", steps(text, face))
              for words, face in zip((FIRST, SECOND), faces, strict=True)]
    setups[1] += more
    if teeth:
        setups.insert(1 if teeth == "between" else 2, TEETH)
    return (HEAD.replace("WORDS", text) + "".join(setups)
            + "made-elsewhere: [teeth]\n" * (not teeth))


@cache
def planned(text: str) -> Plan:
    return plan_job(read(text), DRIVEN)


def evidences(
    text: str, change: Callable[[str, str], str] = lambda name, program: program
) -> list[FlatEvidence]:
    found: list[FlatEvidence] = []
    for setup in planned(text).setups:
        programs = []
        for one in write_programs(setup.moves, DRIVEN, stem=setup.name):
            told = change(setup.name, one.text.decode("ascii")).encode("ascii")
            programs.append(read_program(told, DRIVEN, one.file, infeed=setup.moves.retract_axis))
        one = gather(setup.name, read(text).job, DRIVEN, setup.layout, setup.moves, programs,
                     planned_cuts=setup.cuts, earlier=tuple(found))
        found += by_kind([one])[0]
    return found


def faces(found: Sequence[FlatEvidence]) -> dict[str, Proof]:
    answers = [*prove_sides(found)["two"], *prove_wheel_faces(found)["two"]]
    return {str(proof.id): proof for proof in answers}


def lowest_in_rings(program: str, rings: Sequence[tuple[float, float]]) -> list[float]:
    """The lowest that a program's cutter comes over each ring, by its text alone: of G0 and G1
    only the ends, of arcs their ends and, where they go round the zero, their radius. mm."""
    radius = at = None
    found = [0.0] * len(rings)
    place = {"X": 0.0, "Y": 0.0, "Z": 5.0}
    feed = False
    for line in program.splitlines():
        code = re.sub(r"\([^)]*\)", "", line)
        if (tool := re.search(r"\bT(\d+)", code)):
            radius = {1: 0.3, 2: 0.2, 3: 1.0}[int(tool[1])]
        for word in re.findall(r"G(\d+)", code):
            feed = int(word) in (1, 2, 3) if int(word) < 4 else feed
        for axis, value in re.findall(r"([XYZ])(-?\d*\.?\d*)", code):
            place[axis] = float(value)
        at = math.hypot(place["X"], place["Y"])
        if not feed or radius is None or place["Z"] >= 0:
            continue
        for n, (low, high) in enumerate(rings):
            if at - radius < high - 1e-6 and at + radius > low + 1e-6:
                found[n] = min(found[n], place["Z"])
    return found


SHAPES = {
    "both": UPPER + UNDER,
    "hub below": UNDER.strip().replace("    pipe: {diameter: 1.6, length: 0.3}\n", ""),
    "pipe below": "under: {pipe: {diameter: 1.6, length: 0.5}}",
    "bore stepped below": "under: {counterbore: {diameter: 1.4, depth: 0.15}}",
    "bore stepped in both": UPPER + "\n  counterbore: {diameter: 1.3, depth: 0.2}\n"
                            "  under: {counterbore: {diameter: 1.1, depth: 0.1}}",
}


@pytest.mark.parametrize("shape", SHAPES)
def test_a_wheel_with_something_on_its_under_face_is_made_and_proved(shape: str) -> None:
    found = evidences(job(SHAPES[shape]))
    assert not [proof for one in found for proof in prove_evidence(one) if not proof.holds]
    answers = faces(found)
    assert all(proof.holds for proof in answers.values())
    assert "flat.thickness-between-faces" in answers
    raised = "hub" in SHAPES[shape].partition("under")[2] or "pipe" in shape
    assert raised == any("hub-about-bore" in name for name in answers)


@settings(max_examples=4, deadline=None)
@given(first=st.sampled_from(["upper", "under"]), axis=st.sampled_from("XY"),
       shape=st.sampled_from(sorted(SHAPES)), zero=st.sampled_from(["dowel", "indicated"]),
       teeth=st.sampled_from(["", "between", "after"]))
def test_in_any_order_turned_over_about_either_axis_the_sides_meet(
    first: str, axis: str, shape: str, zero: str, teeth: str
) -> None:
    # Of a wheel with nothing on its upper face that one is never turned up again.
    assume(first == "upper" or steps(SHAPES[shape], "upper"))
    text = job(SHAPES[shape], first=first, axis=axis, teeth=teeth).replace("dowel:", f"{zero}:")
    found = evidences(text)
    assert all(proof.holds for proof in faces(found).values())
    assert [one.layout.side for one in found] == (
        ["upper", "under"] if first == "upper" else ["under", "upper"])


def test_heights_reckoned_from_the_text_of_both_programs_are_those_of_the_job() -> None:
    # Ring by ring about the axis: pipe, hub, hub of the other face alone, web.
    rings = [(0.65, 0.75), (0.85, 1.05), (1.15, 1.35), (1.6, 2.3)]
    setups = planned(job(SHAPES["both"])).setups
    upper, under = (lowest_in_rings(
        write_programs(one.moves, DRIVEN, stem=one.name)[0].text.decode("ascii"), rings)
        for one in setups)
    # The outline and the bore go right through and lie in none of these rings.
    left = [1.3 + high + low for high, low in zip(upper, under, strict=True)]
    assert left == pytest.approx([1.3, 1.0, 0.7, 0.3], abs=0.0011)


def lowered(program: str, title: str, by: float) -> str:
    head, mark, tail = program.partition(title)
    assert mark
    return head + mark + re.sub(
        r"Z(-[0-9.]+)", lambda one: f"Z{float(one[1]) - by:.3f}", tail)


def test_a_web_cut_too_thin_or_a_hub_beside_its_bore_is_found_out() -> None:
    text = job(SHAPES["both"])
    assert all(proof.holds for proof in faces(evidences(text)).values())
    thin = faces(evidences(text, lambda name, told: lowered(told, "POCKET", 0.02)
                           if name == "two" else told))
    assert thin["flat.thickness-between-faces"].figure == pytest.approx(20.0, abs=0.1)
    assert not thin["flat.thickness-between-faces"].holds

    def aside(name: str, told: str) -> str:
        if name != "two":
            return told
        return re.sub(r"X(-?[0-9.]+)", lambda one: f"X{float(one[1]) + 0.03:.3f}", told)

    beside = faces(evidences(text, aside))
    for hub in ("web-under", "hub-under"):
        assert beside[f"flat.hub-about-bore: {hub}"].figure == pytest.approx(30.0, abs=0.5)
    assert not beside["flat.concentric-with-earlier-setup: bore-counterbore-under, bore"].holds


CROSSED = "crossing: {arms: 4, hub: 3.2, rim: 0.4, arm: 0.5, corner: 0.26}\n  "


@pytest.mark.parametrize("held", [", tabs: {count: 2, width: 0.4, height: 0.1}", ", skin: 0.05"])
def test_a_crossing_cut_after_the_web_is_cleared_begins_and_ends_at_the_web(held: str) -> None:
    text = job(CROSSED + SHAPES["both"], more=f"      - cross-out: {{cutter: mill{held}}}\n")
    found = evidences(text)
    assert not [proof for one in found for proof in prove_evidence(one) if not proof.holds]
    assert all(proof.holds for proof in faces(found).values())
    (section,) = [one for one in planned(text).setups[1].moves.sections
                  if str(one.title) == "cross out"]
    heights = [move.z for move in section.moves if getattr(move, "z", None) is not None]
    # Web from 0.6 to 0.9 mm below the face that looks up; into the carrier no more than it must.
    assert max(one for one in heights if one < 1) == pytest.approx(-0.6 + 0.5)
    assert min(heights) == pytest.approx(-0.85 if "skin" in held else -0.95, abs=0.001)
    tops = {round(tab.top, 6) for tab in found[1].layout.tabs}
    assert tops == ({-0.8} if "tabs" in held else {-0.85} if "skin" in held else set())


def refused(text: str) -> list[Fault]:
    try:
        machine_for(read(text))
    except Refused as no:
        return list(no.faults)
    return []


BOTH = job(SHAPES["both"])
WRONG = [
    (BOTH.replace("    zero: {dowel: bore}\n", ""), "zero on an edge", "zero: {dowel: bore}"),
    (BOTH.replace("    turned-over: about Y\n", ""), "how the piece was turned over", "about X"),
    (BOTH.replace("{left-by: one, thickness: 1.3}", "{disc: 9, thickness: 1.3}"),
     "nothing that one made is on it", "left-by: one"),
    (BOTH.replace("{dowel: bore}", "{dowel: bore, z: carrier}"), "looks down with its hub",
     "z: top"),
    (BOTH.replace("{dowel: bore}", "{indicated: bore, dowel: bore}"), "lies on a dowel", "leave"),
    (BOTH.replace("{dowel: bore}", "{indicated: bore-counterbore-under}"),
     "does not go right through", "right through"),
    (BOTH.replace("{dowel: bore}", "{dowel: bor}"), "no hole called bor", "bore"),
    (BOTH.replace("holes: [bore-counterbore-under]", "drilled: 0.6"), "into the dowel",
     "without it"),
    (job(SHAPES["both"]).split("  - name: two")[0] + "made-elsewhere: [teeth]\n",
     "hub is on the under face, and no setup has that face up", "face: under"),
    (BOTH.replace("sheet: [14, 14], thickness: 1.3}",
                  "sheet: [30, 14], thickness: 1.3}\n    repeat: {columns: 3, pitch: [9, 9]}")
     .replace("      - outline: {cutter: mill}\n", "")
     .replace("made-elsewhere", "      - outline: {cutter: mill}\nmade-elsewhere"),
     "several pieces in one stock", "cut them out there"),
    (job(CROSSED + SHAPES["both"]).replace(
        "      - outline", "      - cross-out: {cutter: mill, skin: 0.05}\n      - outline")
     .replace("a spigot, carrier: brass, carrier-thickness: 3, cut-into: 0.4, holds-slugs: true}",
              "a spigot}"), "comes loose", "put cross-out into two"),
]


WRONG.append((
    job(CROSSED + SHAPES["both"], more="      - cross-out: {cutter: mill}\n").replace(
        "      - outline", "      - cross-out: {cutter: mill, skin: 0.7}\n      - outline"),
    "its arms are cut into", "in one setup"))


@pytest.mark.parametrize(("text", "said", "remedy"), WRONG)
def test_what_cannot_be_is_refused_in_the_jobs_words(text: str, said: str, remedy: str) -> None:
    found = [one for one in refused(text) if said in str(one.message)]
    assert found, refused(text)
    assert remedy in str(found[0].remedy)
    assert found[0].place.line or found[0].place.path
    for language in ("de", "fr"):
        assert not [one for one in (found[0].message, found[0].remedy)
                    if left_in_english(words(language), one)]


def test_sizes_of_one_face_are_held_against_those_of_the_other() -> None:
    def faults(text: str) -> list[str]:
        return [f"{one.place.path}: {one.message}" for one in metal_faults(
            read(HEAD.replace("WORDS", text) + TEETH), DRIVEN) if "wheel." in one.place.path]

    assert not faults(SHAPES["both"])
    seats = UPPER + "\n  counterbore: {diameter: 1.2, depth: 0.5}\n  under: {counterbore: SEAT}"
    assert not faults(seats.replace("SEAT", "{diameter: 1, depth: 0.1}"))
    (deep,) = faults(seats.replace("SEAT", "{diameter: 1, depth: 0.15}"))
    assert "from the two faces leave 0.05 mm between them" in deep
    # The wider mouth on the upper face goes down into the hub beneath the web.
    (thin,) = faults("counterbore: {diameter: 2.1, depth: 0.4}\n"
                     "  under: {hub: {diameter: 2.2, thickness: 0.6}}")
    assert thin.startswith("wheel.under.hub.diameter: the hub, 2.2 mm, has too little wall")
    assert "wheel.under.hub.thickness" in faults("under: {hub: {diameter: 2, thickness: 0.3}}")[0]


def test_several_wheels_are_cut_out_together_and_turned_over_in_a_fixture() -> None:
    text = BOTH.replace("sheet: [14, 14], thickness: 1.3}",
                        "sheet: [30, 14], thickness: 1.3}\n    repeat: {columns: 3, pitch: [9, 9]}"
                        ).replace("{dowel: bore}", "{dowel: bore}\n    fixture: {stations: 3}")
    setups = planned(text).setups
    layout = setups[1].layout
    assert isinstance(layout, FlatLayout)
    assert len(setups[0].layout.places) == 3  # type: ignore[union-attr]
    assert (layout.stations, layout.places) == (3, ((0.0, 0.0),))


@pytest.mark.parametrize(("teeth", "webs"), [
    # Blank 1.3 mm: hub 0.4 above the web, hub and pipe 0.6 below it.
    ("after", [(0.4, 0.7), (1.7, 2.0)]), ("between", [(0.4, 1.3), (1.7, 2.6)]),
])
def test_teeth_are_cut_through_what_stands_of_the_web_then(
    teeth: str, webs: list[tuple[float, float]]
) -> None:
    (layout,) = [one.layout for one in planned(job(SHAPES["both"], teeth=teeth)).setups
                 if isinstance(one.layout, ToothLayout)]
    assert sum(layout.webs, ()) == pytest.approx(sum(webs, ()))
    bodies = [one for one in layout.bodies if one.name == "blanks"]
    assert all(one.end == pytest.approx(other.begin) for one, other in pairwise(bodies))
    assert bodies[-1].end == pytest.approx(2.6)


@pytest.mark.parametrize("zero", ["dowel", "indicated"])
@pytest.mark.parametrize("language", ["en", "de", "fr"])
def test_the_sheet_says_how_the_wheel_is_laid_again(zero: str, language: str) -> None:
    text = BOTH.replace("dowel:", f"{zero}:")
    job_file, setup = read(text), planned(text).setups[1]
    flat = job_file.job.flat[1]
    assert isinstance(setup.layout, FlatLayout)
    assert hub_beneath(job_file.job, flat, setup.layout) == pytest.approx((2.8, 0.4), abs=1e-3)
    turning = turning_of(job_file.job, flat, setup.layout)
    assert turning is not None
    told = str(turning_over(turning, words(language)))
    assert "2.800" in told
    assert "0.400" in told
    assert told.count('class="tick"') == (6 if zero == "dowel" else 4)
    # 0.8 of what is left at the spigot: 1.3 less the seat over it.
    assert ("0.88" in told) == (zero == "dowel")


def test_the_wheel_as_it_stands_in_the_end_weighs_what_its_cylinders_do() -> None:
    part = read(HEAD.replace("WORDS", SHAPES["both"]) + TEETH).job.part
    assert part.height == pytest.approx(1.3)
    over = math.pi / 4 * (2.8**2 * 0.4 + 2.2**2 * 0.3 + 1.6**2 * 0.3
                          - 0.8**2 * 1.0 - (1.2**2 - 0.8**2) * 0.2)
    assert part.over_web == pytest.approx(over, rel=1e-6)
