"""Parts and setups are unions of types: no room asks which of several words is not there."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest
from program_source import ROOT, files_of, nodes_of, text_of

from camgen.faults import Refused
from camgen.job.models import FlatSetup, HeadSetup, RoundSetup, Setup, Stock
from camgen.job.on_arbor import HeldWork, ToothSetup

PARTS = ("plate", "wheel", "pinion", "turned")
# The one place that gathers what was written into what is made.
READS_THE_WORDS = "job/models.py"
# Flat work, stacks on the head and turned work in it: what stands there, a setup planned, evidence.
KINDS = frozenset({"FlatLayout", "ToothLayout", "RoundLayout", "FlatWork", "HeadWork", "RoundWork",
                   "FlatEvidence", "HeadEvidence", "RoundEvidence"})
# At how many doors each room tells them apart; behind a door each has its own type.
DOORS = {
    "make": 4,  # sheet, what to measure, pictures of the course in time
    "preview": 3,  # picture of a setup, of a proof that fails, page for the bench
    "proof": 4,  # evidence gathered and sorted, proofs of each kind, room at a stop
    "steps": 1,  # what a correction is of
}


def _names(node: ast.expr) -> tuple[str, str]:
    """The last name of ``a.b.c``, and the one before it."""
    if not isinstance(node, ast.Attribute):
        return "", ""
    owner = node.value
    return node.attr, (owner.attr if isinstance(owner, ast.Attribute) else
                       owner.id if isinstance(owner, ast.Name) else "")


def asks_for_part(source: str) -> list[int]:
    """Lines where a part of a job, by its word, is fetched to see whether it is there."""
    return [node.lineno for node in nodes_of(source, ast.Attribute)
            if node.attr in PARTS
            and _names(node)[1] in ("job", "found")]


def asks_for_setup(source: str) -> list[int]:
    """Lines where ``stock`` or ``dividing`` of a setup is held against None.

    A machine may have no head: that is another question.
    """
    return [node.lineno for node in nodes_of(source, ast.Compare)
            if _names(node.left)[0] in ("stock", "dividing")
            and _names(node.left)[1] not in ("machine", "like")
            and any(isinstance(op, ast.Is | ast.IsNot) for op in node.ops)]


def tells_kinds_apart(source: str) -> list[int]:
    """Lines where flat work and work on the head are told apart by type.

    A ``match`` counts once, whatever cases it has; so does a call of ``isinstance``, ``issubclass``
    or ``type``, or the name of a type, where a type of either kind is compared with something.
    """
    found = []
    for node in nodes_of(source, ast.Match, ast.Call, ast.Compare):
        if isinstance(node, ast.Match):
            asked = [one.cls for case in node.cases for one in ast.walk(case.pattern)
                     if isinstance(one, ast.MatchClass)]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and \
                node.func.id in ("isinstance", "issubclass"):
            asked = list(node.args[1:])
        elif isinstance(node, ast.Compare):
            asked = [node.left, *node.comparators]
        else:
            continue
        if any(_last_name(name) in KINDS or (
                isinstance(name, ast.Constant) and name.value in KINDS)
               for one in asked for name in ast.walk(one)):
            found.append(node.lineno)
    return found


def _last_name(node: ast.AST) -> str:
    return (node.attr if isinstance(node, ast.Attribute) else
            node.id if isinstance(node, ast.Name) else "")


def sources() -> Iterator[tuple[str, str]]:
    """All modules of the program, by their place in it."""
    for path in files_of():
        yield path.relative_to(ROOT).as_posix(), text_of(path)


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


@pytest.mark.parametrize("planted", [
    "if isinstance(evidence.layout, FlatLayout):\n    pass",
    "assert isinstance(layout, camgen.layout.ToothLayout)",
    "flat = [one for one in setups if isinstance(one, FlatEvidence | HeadEvidence)]",
    "match work:\n    case FlatWork(layout=one):\n        pass\n    case HeadWork():\n        pass",
    "match setup, work:\n    case _, HeadWork():\n        pass",
    "flat = type(layout) is FlatLayout",
    "flat = type(layout).__name__ == 'FlatLayout'",
])
def test_a_place_that_tells_kinds_of_work_apart_is_found(planted: str) -> None:
    assert len(tells_kinds_apart(planted)) == 1


@pytest.mark.parametrize("harmless", [
    "layout = evidence.layout\nassert layout.dowels", "def told(layout: FlatLayout) -> None: pass",
    "work = FlatWork(setup, layout)", "isinstance(setup.work, HeadSetup)",
    "match layout:\n    case None:\n        pass",
])
def test_what_tells_nothing_apart_is_let_pass(harmless: str) -> None:
    assert tells_kinds_apart(harmless) == []


def test_each_room_tells_flat_and_head_apart_at_its_doors_alone() -> None:
    found: dict[str, list[str]] = {}
    for name, text in sources():
        for line in tells_kinds_apart(text):
            found.setdefault(name.split("/")[0], []).append(f"{name}:{line}")
    assert {room: len(at) for room, at in found.items()} == DOORS, found


def test_a_setup_is_what_its_words_say() -> None:
    flat = Setup(name="a", stock=Stock(disc=10, thickness=1), face="under")
    head = Setup(name="b", dividing=ToothSetup(stack=3), safe_height=7)
    assert isinstance(flat.work, FlatSetup)
    assert (flat.work.stock.disc, flat.work.face) == (10, "under")
    assert isinstance(head.work, HeadSetup)
    assert (head.work.dividing.stack, head.work.safe_height) == (3, 7)
    held = Setup(name="r", held=HeldWork(stands_out=6.0, behind=()))
    assert isinstance(held.work, RoundSetup)
    assert held.work.held.stands_out == 6.0
    both = Setup(name="c", stock=flat.stock, dividing=head.dividing)
    assert [type(one) for one in both.given] == [FlatSetup, HeadSetup]
    for faulty in (both, Setup(name="d")):
        with pytest.raises(Refused):
            _ = faulty.work
