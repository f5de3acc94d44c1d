"""Parts and setups are unions of types: no room asks which of several words is not there."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import camgen
from camgen.faults import Refused
from camgen.job.models import FlatSetup, HeadSetup, Setup, Stock, ToothSetup

PARTS = ("plate", "wheel", "pinion")
# The one place that gathers what was written into what is made.
READS_THE_WORDS = "job/models.py"
# Where proofs come by the layout of their own kind of work.
GIVES_THE_LAYOUT = ("proof/evidence.py",)


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


def asks_for_setup(source: str) -> list[int]:
    """Lines where ``stock`` or ``dividing`` of a setup is held against None.

    A machine may have no head: that is another question.
    """
    return [node.lineno for node in ast.walk(ast.parse(source))
            if isinstance(node, ast.Compare) and _names(node.left)[0] in ("stock", "dividing")
            and _names(node.left)[1] not in ("machine", "like")
            and any(isinstance(op, ast.Is | ast.IsNot) for op in node.ops)]


def insists_on_layout(source: str) -> list[int]:
    """Lines that insist on a layout of one kind where the type does not say it."""
    return [node.lineno for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Assert)
            and any(isinstance(one, ast.Name) and one.id in ("FlatLayout", "ToothLayout")
                    for one in ast.walk(node.test))]


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


@pytest.mark.parametrize("planted", [
    "if setup.stock is None:\n    pass",
    "flat = [one for one in job.setups if one.dividing is None]",
    "assert deed.setup.stock is not None",
])
def test_a_question_about_a_setup_that_is_planted_is_found(planted: str) -> None:
    assert asks_for_setup(planted)


@pytest.mark.parametrize("harmless", [
    "if machine.dividing is None:\n    pass", "isinstance(setup.work, HeadSetup)",
    "setup.stock.left_by is not None",
])
def test_what_is_asked_of_a_setup_by_type_is_not(harmless: str) -> None:
    assert not asks_for_setup(harmless)


def test_no_room_asks_whether_a_setup_has_stock_or_a_head() -> None:
    found = [f"{name}:{line}" for name, text in sources() if name != READS_THE_WORDS
             for line in asks_for_setup(text)]
    assert found == []


def test_only_evidence_insists_on_a_layout_of_one_kind() -> None:
    assert insists_on_layout("assert isinstance(evidence.layout, FlatLayout)")
    assert not insists_on_layout("layout = evidence.flat\nassert layout.dowels")
    found = {name for name, text in sources() if insists_on_layout(text)}
    assert found == set(GIVES_THE_LAYOUT)


def test_a_setup_is_what_its_words_say() -> None:
    flat = Setup(name="a", stock=Stock(disc=10, thickness=1), face="under")
    head = Setup(name="b", dividing=ToothSetup(stack=3), safe_height=7)
    assert isinstance(flat.work, FlatSetup)
    assert (flat.work.stock.disc, flat.work.face) == (10, "under")
    assert isinstance(head.work, HeadSetup)
    assert (head.work.dividing.stack, head.work.safe_height) == (3, 7)
    both = Setup(name="c", stock=flat.stock, dividing=head.dividing)
    assert [type(one) for one in both.given] == [FlatSetup, HeadSetup]
    for faulty in (both, Setup(name="d")):
        with pytest.raises(Refused):
            _ = faulty.work
