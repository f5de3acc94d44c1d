"""What a job makes is a union of types: no room asks which of several words is not there."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import camgen

PARTS = ("plate", "wheel", "pinion")
# The one place that gathers what was written into what is made.
READS_THE_WORDS = "job/models.py"


def _names(node: ast.expr) -> tuple[str, str]:
    """The last name of ``a.b.c``, and the one before it."""
    if not isinstance(node, ast.Attribute):
        return "", ""
    owner = node.value
    return node.attr, (owner.attr if isinstance(owner, ast.Attribute) else
                       owner.id if isinstance(owner, ast.Name) else "")


def asks_for_part(source: str) -> list[int]:
    """Lines where a part of a job, by its word, is fetched to see whether it is there."""
    return [node.lineno for node in ast.walk(ast.parse(source))
            if isinstance(node, ast.Attribute) and node.attr in PARTS
            and _names(node)[1] in ("job", "found")]


def sources() -> Iterator[tuple[str, str]]:
    """All modules of the program, by their place in it."""
    root = Path(camgen.__file__).parent
    for path in sorted(root.rglob("*.py")):
        yield path.relative_to(root).as_posix(), path.read_text(encoding="utf-8")


@pytest.mark.parametrize("planted", [
    "if job.plate is None:\n    pass",
    "word = 'wheel' if self.job.wheel is not None else 'pinion'",
    "part = job_file.job.plate or job_file.job.wheel",
    "assert evidence.job.pinion",
])
def test_a_question_that_is_planted_is_found(planted: str) -> None:
    assert asks_for_part(planted)


@pytest.mark.parametrize("harmless", [
    "isinstance(job.part, Plate)", "match job.given:\n    case (Plate() as plate,): pass",
    "setting.plate", "cut.wheel.area",
])
def test_what_is_asked_by_type_is_not(harmless: str) -> None:
    assert not asks_for_part(harmless)


def test_no_room_asks_whether_a_part_is_there() -> None:
    found = [f"{name}:{line}" for name, text in sources() if name != READS_THE_WORDS
             for line in asks_for_part(text)]
    assert found == []
