"""Arcs where a control calls the machine's axes by other letters, in every exchange and sense.

Planes, senses and centres of arcs go by the control's letters: reckoned here by turning vectors in
space, right-handed in the control's own axes (ISO 841, ISO 6983-1), with none of our code.
"""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest

from camgen.messages import Message
from camgen.moves import Arc, Feed, Plane, Rapid, Section, SetupMoves
from camgen.post.writer import write_programs
from camgen.reader import read_program
from camgen.reader.motion import Kind
from camgen.shop.machine import Machine

NORMALS = {"G17": "Z", "G18": "Y", "G19": "X"}
ORDERS = ["".join(order) for order in itertools.permutations("XYZ")]
SENSES = list(itertools.product(("iso", "reversed"), repeat=3))
PLANES: tuple[tuple[Plane, int, int], ...] = (("XY", 0, 1), ("ZX", 2, 0), ("YZ", 1, 2))


def machine(order: str, senses: tuple[str, ...], style: str, **more: object) -> Machine:
    axes = {name: {"letter": letter, "sense": sense}
            for name, letter, sense in zip("xyz", order, senses, strict=True)}
    return Machine.model_validate(
        {"name": "mine", "describes": "mine", "arcs": {"style": style}, **axes, **more})


def three_arcs() -> SetupMoves:
    """A third of a circle in each plane, the two senses mixed."""
    moves: list[Rapid | Feed | Arc] = [Rapid(z=5.0), Rapid(1.0, 2.0), Feed(50.0, z=3.0)]
    at = [1.0, 2.0, 3.0]
    for clockwise, (plane, first, second) in zip((False, True, False), PLANES, strict=True):
        centre = (at[first] - 2.0, at[second] + 0.5)
        turn = math.tau / 3 * (-1 if clockwise else 1)
        a, b = at[first] - centre[0], at[second] - centre[1]
        at[first] = centre[0] + a * math.cos(turn) - b * math.sin(turn)
        at[second] = centre[1] + a * math.sin(turn) + b * math.cos(turn)
        ends = dict(zip("xyz", at, strict=True))
        moves.append(Arc(100.0, centre, clockwise, plane=plane, **ends))
    mill = Message("mill")
    return SetupMoves("arcs", (Section(mill, 0, "mill", 1, mill, 1000.0,
                                       (*moves, Rapid(z=9.0))),))


def meant() -> list[tuple[float, ...]]:
    """Where the middle and the end of each arc lie, in the machine's axes."""
    places = []
    at = np.array([1.0, 2.0, 3.0])
    for clockwise, (_, first, second) in zip((False, True, False), PLANES, strict=True):
        centre = at.copy()
        centre[first] -= 2.0
        centre[second] += 0.5
        normal = np.cross(np.eye(3)[first], np.eye(3)[second])
        for share in (0.5, 1.0):
            turn = math.tau / 3 * share * (-1 if clockwise else 1)
            out = at - centre
            places.append(tuple(centre + out * math.cos(turn)
                                + np.cross(normal, out) * math.sin(turn)))
        at = np.array(places[-1])
    return places


def carried_out(text: str, order: str, senses: tuple[str, ...], style: str
                ) -> list[tuple[float, ...]]:
    """Middles and ends of the arcs as a control makes them, in the machine's axes."""
    place = dict.fromkeys("XYZ", 0.0)
    plane, motion, places = "G17", "G0", []
    for line in re.sub(r"\(.*?\)|%", "", text).splitlines():
        words = {letter: float(number)
                 for letter, number in re.findall(r"([A-FH-Z])(-?[\d.]+)", line)}
        for code in re.findall(r"G\d+", line):
            plane = code if code in NORMALS else plane
            motion = code if code in ("G0", "G1", "G2", "G3") else motion
        if not words.keys() & set("XYZ"):
            continue
        start = np.array([place[name] for name in "XYZ"])
        place |= {name: words[name] for name in "XYZ" if name in words}
        end = np.array([place[name] for name in "XYZ"])
        if motion not in ("G2", "G3"):
            continue
        normal = np.eye(3)["XYZ".index(NORMALS[plane])] * (-1 if motion == "G2" else 1)
        if style == "radius":
            chord = end - start
            inward = np.cross(normal, chord) / np.linalg.norm(chord)
            centre = (start + end) / 2 + inward * math.sqrt(
                words["R"] ** 2 - chord @ chord / 4)
        else:
            given = np.array([words.get(letter, 0.0) for letter in "IJK"])
            centre = given + (start if style == "incremental" else 0.0)
            if style == "absolute":
                centre["XYZ".index(NORMALS[plane])] = start["XYZ".index(NORMALS[plane])]
        out, to = start - centre, end - centre
        turn = math.atan2(np.cross(out, to) @ normal, out @ to) % math.tau
        for share in (0.5, 1.0):
            where = centre + out * math.cos(turn * share) + np.cross(normal, out) * math.sin(
                turn * share)
            places.append(tuple(
                where["XYZ".index(letter)] * (-1 if sense == "reversed" else 1)
                for letter, sense in zip(order, senses, strict=True)))
    return places


@pytest.mark.parametrize("style", ["incremental", "absolute", "radius"])
@pytest.mark.parametrize("order", ORDERS)
def test_every_arc_goes_where_it_is_meant_whatever_the_axes_are_called(
    order: str, style: str
) -> None:
    for senses in SENSES:
        on = machine(order, senses, style)
        (program,) = write_programs(three_arcs(), on, stem="arcs")
        made = carried_out(program.text.decode(), order, senses, style)
        assert np.allclose(made, meant(), atol=0.004), (senses, program.text)
        read = read_program(program.text, on, program.file)
        assert [str(one.message) for one in read.findings if one.grave] == []
        arcs = np.isin(read.motion.kind, (Kind.ARC_CLOCKWISE, Kind.ARC_ANTICLOCKWISE))
        assert np.allclose(read.motion.end[arcs], meant()[1::2], atol=0.004)
        assert read.motion.plane[arcs].tolist() == [2, 1, 0]
        clockwise = read.motion.kind[arcs] == Kind.ARC_CLOCKWISE
        assert clockwise.tolist() == [False, True, False], (senses, program.text)


def test_an_arc_that_the_control_would_make_elsewhere_is_read_so() -> None:
    """The reader goes by the letters too: a plane word or sense taken as usual is another arc."""
    on = machine("XZY", ("iso",) * 3, "incremental")
    (program,) = write_programs(three_arcs(), on, stem="arcs")
    text = program.text.decode()
    first = next(line for line in text.splitlines() if line.startswith("G18 G2"))
    assert "K" in first
    other = text.replace(first, first.replace("G2", "G3"))
    read = read_program(other.encode(), on, program.file)
    assert read.motion.kind[read.motion.kind >= Kind.ARC_CLOCKWISE][0] == Kind.ARC_CLOCKWISE


@pytest.mark.parametrize("order", ["XYZ", "XZY", "ZXY"])
def test_where_no_plane_word_is_written_only_arcs_in_the_controls_own_xy_are(order: str) -> None:
    on = machine(order, ("iso",) * 3, "incremental", program={"plane-word": False})
    (program,) = write_programs(three_arcs(), on, stem="arcs")
    assert not re.search("G1[789]", program.text.decode())
    assert len(re.findall(r"[IJ]-?\d", program.text.decode())) == 2
    assert "K" not in re.sub(r"\(.*?\)", "", program.text.decode())
    read = read_program(program.text, on, program.file)
    assert [str(one.message) for one in read.findings if one.grave] == []
    assert np.allclose(read.motion.end[-3], meant()[-1], atol=0.004)


