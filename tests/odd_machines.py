"""Shipped machine files with some words otherwise, and programs of demo jobs on them.

Plans hang on what a mill can do and not on how its programs are spelt, so that one plan serves all.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import yaml

from camgen.job.reading import JobFile, read_job
from camgen.moves import SetupMoves
from camgen.plan import PlannedSetup, plan_job
from camgen.post.writer import write_programs
from camgen.proof import gather, prove_evidence, prove_motion
from camgen.reader import read_program
from camgen.reader.motion import ReadProgram
from camgen.shipped import shipped_folder
from camgen.shop.machine import Machine
from camgen.shop.machines import machine_of
from camgen.steps import step_words
from camgen.yamlfile import load_yaml

__all__ = ["Written", "machine_with", "words_of", "written"]


def words_of(base: str, words: str = "") -> dict[str, Any]:
    """The words of a shipped machine file, with others of a text laid over them."""
    data: dict[str, Any] = yaml.safe_load(
        (shipped_folder("postprocessors") / f"{base}.yaml").read_text(encoding="utf-8"))

    def lay(under: dict[str, Any], over: dict[str, Any]) -> None:
        for word, value in over.items():
            if isinstance(value, dict) and isinstance(under.get(word), dict):
                lay(under[word], value)
            else:
                under[word] = value

    lay(data, yaml.safe_load(words) or {})
    return data


def machine_with(base: str, words: str = "") -> Machine:
    """A shipped machine file with some words otherwise; raises Refused as for any file."""
    return machine_of(load_yaml(yaml.safe_dump(words_of(base, words)), f"{base}.yaml"))


@lru_cache(maxsize=8)
def _job(stem: str) -> JobFile:
    return read_job(shipped_folder("jobs") / f"{stem}.yaml", step_words())


@lru_cache(maxsize=32)
def _planned(stem: str, setup: int, base: str, words: str) -> PlannedSetup:
    return plan_job(_job(stem), machine_with(base, words)).setups[setup]


@dataclass(frozen=True)
class Written:
    """A setup's programs on a machine, and what fails where a text is changed."""

    stem: str
    machine: Machine
    planned: PlannedSetup
    moves: SetupMoves
    texts: tuple[str, ...]

    def read(self, change: Callable[[str], str] = str) -> list[ReadProgram]:
        """The programs read, each text changed before."""
        return [read_program(change(text), self.machine, f"{number}.nc")
                for number, text in enumerate(self.texts)]

    def failed(self, change: Callable[[str], str] = str) -> dict[str, str]:
        """The proofs of motion that do not hold, by their name, and what they say."""
        evidence = gather(self.planned.name, _job(self.stem).job, self.machine,
                          self.planned.layout, self.moves, self.read(change))
        return {str(one.name): str(one.where) for one in prove_motion(evidence) if not one.holds}

    def every_failed(self) -> list[str]:
        """The proofs of every wing that do not hold, by their names."""
        evidence = gather(self.planned.name, _job(self.stem).job, self.machine,
                          self.planned.layout, self.moves, self.read())
        return [str(one.name) for one in prove_evidence(evidence) if not one.holds]

    def lines(self) -> list[str]:
        """All lines of all programs."""
        return [line for text in self.texts for line in text.splitlines()]


def written(
    stem: str, base: str, words: str = "", *, setup: int = 0, sections: Sequence[int] = (0, 1),
    planned_with: str = "",
) -> Written:
    """A demo job's setup on a machine, of some of its sections.

    ``planned_with`` are the words that the plan hangs on; of the others it knows nothing.
    """
    machine = machine_with(base, words)
    planned = _planned(stem, setup, base, planned_with)
    chosen = tuple(one for number, one in enumerate(planned.moves.sections) if number in sections)
    moves = replace(planned.moves, sections=chosen)
    programs = write_programs(moves, machine, stem="odd")
    return Written(stem, machine, planned, moves,
                   tuple(program.text.decode("ascii") for program in programs))
