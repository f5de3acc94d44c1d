"""A small plate, wheel and pinion, made for a machine file as any job is: planned, written, proved.

Beside them a plate with four holes far apart, from which the machine is measured.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from camgen.faults import Fault, Refused
from camgen.make.chain import proved_job
from camgen.make.variants import Wish
from camgen.messages import Message
from camgen.post.machine_file.in_file import with_words
from camgen.post.writer import Program
from camgen.shop.machine import Machine
from camgen.values import dataclass

__all__ = ["Tried", "measuring_plate", "measuring_sides", "small_jobs"]

_JOBS: Final = Path(__file__).parent / "jobs"
_LASH: Final = 0.1
_CALLED: Final = {
    "plate": Message("a small plate"), "wheel": Message("a small wheel"),
    "pinion": Message("a small pinion"), "measure": Message("the plate to measure the machine by"),
}


@dataclass(frozen=True)
class Tried:
    """One of them: its programs, or why it cannot be made."""

    called: Message
    programs: tuple[Program, ...] = ()
    proofs: int = 0
    faults: tuple[Fault, ...] = ()
    failed: tuple[Message, ...] = ()


def measuring_sides(machine: Machine) -> tuple[float, float]:
    """How far apart the holes of the measuring plate are along X and Y, mm, in whole fives.

    >>> from camgen.shop.machines import find_machine
    >>> measuring_sides(find_machine("plain-iso"))
    (80.0, 55.0)
    """
    def side(travel: float, most: float) -> float:
        return max(5.0, min(most, 5.0 * int(travel * 0.48 / 5.0)))

    return side(machine.x.travel, 80.0), side(machine.y.travel, 60.0)


def small_jobs(machine: Machine, post: str, before: int = 0) -> Iterator[Tried]:
    """Each of the small jobs for the machine file ``post``; wheels only where there is a head.

    So many programs come ``before`` them: no two that are tried together have one number.
    """
    names = ["plate"] if machine.dividing is None else ["plate", "wheel", "pinion"]
    for name in names:
        one = _tried(_JOBS / f"{name}.yaml", name, post, machine, before)
        before += len(one.programs)
        yield one


def measuring_plate(machine: Machine, post: str, before: int = 0) -> Tried:
    """The plate to measure the machine by, for its file ``post``, ``before`` as of small jobs."""
    across, up = measuring_sides(machine)
    text = (_JOBS / "measure.yaml").read_text(encoding="utf-8")
    for word, value in (("ACROSS", across), ("UP", up), ("WIDE", across + 10), ("HIGH", up + 10)):
        text = text.replace(word, f"{value / 2 if word in ('ACROSS', 'UP') else value:g}")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "measure.yaml"
        path.write_text(text, encoding="utf-8")
        return _tried(path, "measure", _with_lost_motion(machine, post, Path(folder)), machine,
                      before)


def _with_lost_motion(machine: Machine, post: str, folder: Path) -> str:
    """A copy of the machine file that says lost motion, so that holes are come to from one side.

    How much there is may not be known yet: as much as any table has.
    """
    words = {f"{name.lower()}.lash": _LASH for name in "XY" if machine.axis(name).lost < _LASH}
    if not words:
        return post
    text, _ = with_words(Path(post).read_text(encoding="utf-8"), post, words)
    copy = folder / Path(post).name
    copy.write_text(text, encoding="utf-8")
    return str(copy)


def _tried(path: Path, name: str, post: str, machine: Machine, before: int) -> Tried:
    """One job made."""
    called = _CALLED[name]
    try:
        made = proved_job(path, Wish(post=post), before=before)
    except Refused as no:
        return Tried(called, faults=no.faults)
    failed = tuple(proof.name for setup in made.setups for proof in setup.proofs
                   if not proof.holds)
    programs = tuple(Program(f"piece-{machine.name}-{one.file}", one.text)
                     for setup in made.setups for one in setup.programs)
    return Tried(called, programs, sum(len(setup.proofs) for setup in made.setups), failed=failed)
