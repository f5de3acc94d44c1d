"""Programs in parts: for a small memory, for each cutter; subprograms for what repeats."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from demos import proved_demo
from planting.harness import made
from post_support import follow, random_flat, random_teeth, written_and_read
from sampling import sampled

from camgen.faults import Refused
from camgen.make.chain import Wish
from camgen.moves import Feed, Index, Rapid, Section, SetupMoves
from camgen.post.repeats import bodies_at_places, bodies_between_indexes
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence, prove_motion
from camgen.reader import read_program
from camgen.shop.machine import Machine
from camgen.shop.machines import find_machine

JOBS = Path(__file__).resolve().parent.parent / "jobs"


def changed(name: str, **sections: dict[str, object]) -> Machine:
    machine = find_machine(name)
    return machine.model_copy(update={
        section: getattr(machine, section).model_copy(update=words)
        for section, words in sections.items()
    })


@pytest.mark.parametrize("largest", sampled([1500, 2000, 2500], 2))
def test_no_part_is_larger_than_the_control_holds(largest: int) -> None:
    machine = changed("plain-iso", program={"largest": largest})
    setup = random_teeth(3, machine, 75)
    texts, read = written_and_read(setup, machine)
    assert len(texts) > 1
    assert max(len(text) for text in texts) <= largest
    assert follow(setup, machine, read) == []


def test_every_part_starts_and_ends_safely() -> None:
    machine = changed("plain-iso", program={"largest": 1500})
    texts, read = written_and_read(random_teeth(3, machine, 75), machine)
    for text, one in zip(texts, read, strict=True):
        lines = text.decode().splitlines()
        assert lines[0] == lines[-1] == "%"
        assert lines[-2] == "M30"
        assert any(line.startswith("G17 G21 G90 G40 G49 G80 G94") for line in lines)
        first_move = next(line for line in lines if line.startswith("G0 "))
        assert first_move == "G0 Y-3."
        assert lines.index("M0") < lines.index(first_move)
        assert one.motion.speed[-1] == 0 or "M5" in lines[-4:]


def test_a_part_that_goes_on_within_a_space_turns_to_it_again() -> None:
    machine = changed("plain-iso", program={"largest": 1500})
    passes = [Rapid(x=5.0), Rapid(y=0.2), Feed(30.0, x=-5.0), Rapid(y=-3.0)]
    moves = (Rapid(y=-3.0), Rapid(x=5.0, z=0.0), Index(0.0, 1), *passes * 4, Index(90.0, 2),
             *passes * 100)
    setup = SetupMoves("passes", (Section("cut", 0, "t", 1, "DISC", 1200, moves),), "Y", -3.0)
    texts, read = written_and_read(setup, machine)
    assert len(texts) > 2
    assert follow(setup, machine, read) == []
    for one in read[1:]:
        cuts = one.motion.kind == 1
        assert set(one.motion.angle_end[cuts].tolist()) == {90.0}


def test_a_stroke_too_long_for_the_memory_is_refused_by_name() -> None:
    machine = changed("plain-iso", program={"largest": 600})
    with pytest.raises(Refused, match=r"program\.largest"):
        write_programs(random_flat(1), machine, stem="a")


def test_each_cutter_has_its_program_in_their_order() -> None:
    machine = find_machine("one-program-per-cutter")
    setup = random_flat(5, sections=6)
    programs = write_programs(setup, machine, stem="work")
    cutters = [setup.sections[0].cutter_number]
    for section in setup.sections:
        if section.cutter_number != cutters[-1]:
            cutters.append(section.cutter_number)
    assert [one.file for one in programs] == [f"work-{k}.nc" for k in range(1, len(cutters) + 1)]
    for number, one in zip(cutters, programs, strict=True):
        assert f"FIT CUTTER {number} " in one.text.decode()


def pieces(places: list[tuple[float, float]]) -> SetupMoves:
    moves: list[object] = [Rapid(z=5.0)]
    for x, y in places:
        moves += [Rapid(x=x, y=y), Rapid(z=0.5), Feed(20.0, z=-0.2)]
        moves += [Feed(60.0, x=x + k * 0.1, y=y + (k % 3) * 0.2) for k in range(1, 20)]
        moves += [Rapid(z=5.0)]
    return SetupMoves("pieces", (Section("cut", 0, "m", 1, "MILL", 9000, tuple(moves)),), "Z", 5.0)  # type: ignore[arg-type]


@pytest.mark.parametrize("shift", ["G52", "G92"])
def test_pieces_alike_are_written_once_and_called(shift: str) -> None:
    machine = changed("small-memory", offsets={"shift": shift})
    setup = pieces([(0.0, 0.0), (13.0, 0.0), (13.0, 7.0), (0.0, 7.0)])
    texts, read = written_and_read(setup, machine)
    assert follow(setup, machine, read) == []
    text = texts[0].decode()
    assert text.count("M98P9001") == 4
    assert text.count("O9001") == 1
    plain = changed("small-memory", offsets={"shift": shift}, subprograms={"use": False})
    assert len(text) < 0.5 * len(written_and_read(setup, plain)[0][0])


def test_blocks_are_numbered_up_to_the_subprograms_and_not_in_them() -> None:
    machine = changed("small-memory", blocks={"number": True})
    text, = (program.text.decode().splitlines() for program in write_programs(
        pieces([(0.0, 0.0), (13.0, 7.0)]), machine, stem="work"))
    end, label = (next(at for at, line in enumerate(text) if line.endswith(word))
                  for word in ("M30", "O9001"))
    assert 0 < end < label
    blocks = [(at, line) for at, line in enumerate(text) if line[0] not in "%(O"]
    assert len(blocks) > 30
    assert [line for at, line in blocks if line.startswith("N") != (at <= end)] == []


def test_pieces_that_only_look_alike_are_written_out() -> None:
    setup = pieces([(0.0, 0.0), (13.0, 0.0)])
    moves = list(setup.sections[0].moves)
    assert isinstance(moves[-3], Feed)
    moves[-3] = Feed(60.0, x=moves[-3].x, y=9.0)
    other = SetupMoves("pieces", (Section("cut", 0, "m", 1, "MILL", 9000, tuple(moves)),), "Z", 5.0)
    machine = find_machine("small-memory")
    assert b"M98" not in written_and_read(other, machine)[0][0]
    assert bodies_at_places([(Rapid(x=1.0, y=0.0), Rapid(z=0.5)), (Rapid(x=1.0, y=0.0),)]) is None


def test_the_stroke_at_every_space_is_written_once_and_called() -> None:
    machine = find_machine("small-memory")
    setup = random_teeth(3, machine, 75)
    count = sum(isinstance(move, Index) and move.space > 0 for move in setup.sections[0].moves)
    texts, read = written_and_read(setup, machine)
    assert follow(setup, machine, read) == []
    # The space with the pause for measuring, and the one before it, are their own.
    assert texts[0].decode().count("M98P9001") >= count - 2


def test_turns_of_the_head_with_nothing_between_stay_with_the_stroke_behind_them() -> None:
    stroke = (Rapid(y=1.0), Feed(30.0, x=-5.0), Rapid(y=-3.0), Rapid(x=5.0))
    home, first, second, third = (Index(6.0 * space, space) for space in range(4))
    begun = (Rapid(y=-3.0),)
    found = bodies_between_indexes((*begun, home, first, *stroke, second, *stroke, third))
    assert [(moves, body and body.moves) for moves, body in found or ()] == [
        (begun, None), ((home, first), stroke), ((second,), stroke), ((third,), None)]
    assert bodies_between_indexes((*begun, first, *stroke, second, *stroke[1:])) is None
    assert bodies_between_indexes((first, *stroke[1:], second, *stroke[1:])) is None


def test_numbers_of_programs_and_subprograms_are_never_given_twice() -> None:
    machine = changed("small-memory", program={"largest": 700, "number": 30})
    setup = random_teeth(3, machine, 75)
    programs = [*write_programs(setup, machine, stem="a"),
                *write_programs(setup, machine, stem="b", before=4)]
    labels = [line for one in programs for line in one.text.decode().splitlines()
              if line.startswith("O")]
    assert len(labels) > 8
    assert len(set(labels)) == len(labels)
    assert labels[0] == "O0030"


def arrives(texts: list[str], stands: float) -> bool:
    """Whether each text comes to its cuts from below, the head standing anywhere before."""
    came = []
    for text in texts:
        at, up = stands, False
        for line in text.splitlines():
            if turn := re.search(r"(?<![A-Z(])A(-?[0-9.]+)", line):
                up, at = float(turn[1]) > at, float(turn[1])
            if line.startswith("G1 "):
                came.append(up)
    return bool(came) and all(came)


@pytest.mark.parametrize("largest", [960])
@pytest.mark.parametrize("space", [None, 5])
def test_every_part_comes_to_its_spaces_from_below_wherever_the_head_stands(
    largest: int, space: int | None
) -> None:
    one = list(made(JOBS / "seconds-pinion.yaml", "plain-iso"))[-1]
    machine = one.machine.model_copy(update={
        "program": one.machine.program.model_copy(update={"largest": largest})})
    moves = one.planned.moves if space is None else proved_demo(
        "seconds-pinion", Wish(from_space=space)).setups[-1].planned.moves
    texts = [program.text.decode("ascii") for program in write_programs(moves, machine, stem="x")]
    assert len(texts) > 1
    for stands in (0.0, -720.0, 5000.0):
        assert arrives(texts, stands)

    def failing(texts: list[str]) -> list[str]:
        read = [read_program(text, machine, f"x-{number}.nc", infeed=moves.retract_axis)
                for number, text in enumerate(texts, 1)]
        evidence = gather("x", one.job, machine, one.planned.layout, one.planned.moves, read,
                          planned_cuts=one.planned.cuts)
        return [str(proof.id) for proof in prove_evidence(evidence) if not proof.holds]

    if space is None:
        assert failing(texts) == []
        for number, text in enumerate(texts):
            without = re.sub(r"\nA-?[0-9.]+\r(?=\nA)", "", text, count=1)
            assert without != text
            assert not arrives([without], 5000.0)
            assert "head.approach-side" in failing(
                [*texts[:number], without, *texts[number + 1:]])


def test_parted_anywhere_the_stops_are_those_that_were_planned() -> None:
    """Where a part begins with its tooth to be measured, that stop is no further one."""
    one = list(made(JOBS / "seconds-pinion.yaml", "plain-iso"))[-1]
    moves, begun = one.planned.moves, 0
    for largest in range(1000, 2300, 130):
        machine = one.machine.model_copy(update={
            "program": one.machine.program.model_copy(update={"largest": largest})})
        texts = [program.text.decode("ascii")
                 for program in write_programs(moves, machine, stem="x")]
        begun += any(0 < text.find("(MEASURE") < text.find("G1 ") for text in texts[1:])

        def failing(texts: list[str], machine: Machine = machine) -> list[str]:
            read = [read_program(text, machine, f"x-{number}.nc", infeed=moves.retract_axis)
                    for number, text in enumerate(texts, 1)]
            evidence = gather("x", one.job, machine, one.planned.layout, moves, read,
                              planned_cuts=one.planned.cuts)
            return [str(proof.id) for proof in prove_motion(evidence) if not proof.holds]

        assert failing(texts) == [], largest
        if len(texts) > 1:
            # One stop more than those, and one less.
            more = texts[-1].replace("M0\r\n", "M0\r\nG4 P1.\r\nM0\r\n", 1)
            assert failing([*texts[:-1], more]), largest
            less = texts[-1].replace("M0\r\n", "", 1)
            assert failing([*texts[:-1], less]), largest
    assert begun
