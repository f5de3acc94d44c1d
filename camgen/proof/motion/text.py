"""Does the text say everything a control must be told, and nothing it would trip over?"""

from __future__ import annotations

import math

from camgen.faults import either
from camgen.messages import NOTHING, Message
from camgen.proof.evidence import Evidence
from camgen.proof.motion.told import and_more, listed
from camgen.proof.result import Proof, ProofId
from camgen.reader.motion import ReadProgram, Told
from camgen.shop.machine import Machine

__all__ = ["prove_text"]

READS = ProofId("motion", "text-reads")
START = ProofId("motion", "start-words")
OFFSET = ProofId("motion", "work-offset")
MEMORY = ProofId("motion", "program-size")

_WORK_OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59")


def prove_text(evidence: Evidence) -> tuple[Proof, ...]:
    """Grave findings of the reader, and the words every program must begin with."""
    return (_findings(evidence), _start_words(evidence), _offsets(evidence), *_memory(evidence))


def _memory(evidence: Evidence) -> tuple[Proof, ...]:
    """Every program is held by the control's memory, where the machine file says how much it is."""
    machine = evidence.machine
    if machine.program.largest is None or not evidence.programs:
        return ()
    end = 1 if machine.blocks.ending == "lf" else 2
    sizes = {program.name: sum(len(line) + end for line in program.lines)
             for program in evidence.programs}
    longest = max(sizes, key=lambda name: sizes[name])
    return (evidence.at_most(
        MEMORY, Message("size of the longest program"), sizes[longest], machine.program.largest,
        "bytes", where=Message("{things}", things=longest)),)


def _findings(evidence: Evidence) -> Proof:
    """What the reader found that forbids running the program."""
    grave = [
        (program, finding)
        for program in evidence.programs
        for finding in program.findings
        if finding.grave
    ]
    where, line = NOTHING, 0
    if grave:
        program, first = grave[0]
        where = and_more(Message("{name}: {what}", name=program.name, what=first.message),
                         [finding.line for _, finding in grave[1:]])
        line = first.line
    return Proof(
        READS, Message("program text reads without fault"), evidence.setup, not grave,
        float(len(grave)), 0.0, "faults", where, line, program=grave[0][0].name if grave else "",
    )


def _start_words(evidence: Evidence) -> Proof:
    """Units, absolute coordinates and the machine file's safe words, before anything moves."""
    machine = evidence.machine
    unit, other = ("G21", "G20") if machine.program.units == "mm" else ("G20", "G21")
    wanted = [*([unit] if machine.program.units_word else []), "G90",
              *(["G17"] if machine.program.plane_word else []), *_centre_words(machine),
              *machine.program.safe_words]
    lacking: list[Message] = []
    for program in evidence.programs:
        said = _before(program, ("way", "gone"))
        lacking += [_in(program, word) for word in dict.fromkeys(wanted) if word not in said]
        if program.words.get(other, 0):
            lacking.append(_in(program, Message("{other} as well as {unit}", other=other,
                                                unit=unit)))
    return evidence.at_most(
        START, Message("units and coordinates said at the start"), len(lacking), 0, "words",
        where=listed(lacking),
    )


def _in(program: ReadProgram, what: str) -> Message:
    return Message("{name}: {what}", name=program.name, what=what)


def _centre_words(machine: Machine) -> list[str]:
    """How arcs' centres are counted, where the control has words for it and such arcs are made."""
    words = {"incremental": "G91.1", "absolute": "G90.1"}
    arcs = machine.arcs
    return [words[arcs.style]] if arcs.centre_mode_words and arcs.style in words else []


def _offsets(evidence: Evidence) -> Proof:
    """The machine's work offset, or those of a fixture's stations, in every program; no other."""
    stations = evidence.machine.offsets.stations
    wanted = stations[:evidence.layout.stations]
    wrong: list[Message] = []
    for program in evidence.programs:
        if evidence.machine.offsets.stands_at and not _stands(program):
            wrong.append(_in(program, Message(
                "no G92 says where X, Y and Z stand before they move")))
        if wanted and not _before(program, ("way",)) & set(wanted):
            wrong.append(_in(program, Message("no {words} before it moves", words=either(wanted))))
        wrong += [
            _in(program, word)
            for word in dict.fromkeys((*_WORK_OFFSETS, *stations))
            if word not in wanted and program.words.get(word, 0)
        ]
    return evidence.at_most(
        OFFSET, Message("work offset as set up"), len(wrong), 0, "words", where=listed(wrong)
    )


def _stands(program: ReadProgram) -> bool:
    """Whether G92 says where every axis stands before any moves, and after the last stop there.

    Without work offsets nothing else says where the zero is; hands may have moved it at a stop.
    Z may be drawn up before, in the machine's own coordinates.
    """
    said: set[str] = set()
    for one in program.told:
        if isinstance(one, Told) and one.kind in ("way", "gone") and not _drawn_up(one):
            break
        if one.kind == "stop":
            said = set()
        elif isinstance(one, Told) and one.kind == "shift":
            said |= set(one.text)
    else:
        return not len(program.motion) or said >= set("XYZ")
    return said >= set("XYZ")


def _drawn_up(told: Told) -> bool:
    """Whether Z alone is sent to a place of the machine's own."""
    return told.kind == "gone" and [axis for axis, mm in enumerate(told.place)
                                    if not math.isnan(mm)] == [2]


def _before(program: ReadProgram, kinds: tuple[str, ...]) -> set[str]:
    """Words told before the first move of one of ``kinds``, or at all where nothing moves."""
    said: set[str] = set()
    for one in program.told:
        if isinstance(one, Told) and one.kind in kinds:
            break
        if isinstance(one, Told) and one.kind == "word":
            said.add(one.text)
    return said
