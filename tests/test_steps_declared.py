"""What kinds of steps say of themselves: each says something, and nobody asks its name."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from typing import ClassVar

import pytest
from program_source import ROOT, files_of, nodes_of, text_of

from camgen.job.models import StepWords
from camgen.part.declaration import Declaration, MakesFace
from camgen.shop.cutters import RECORDS, Ability
from camgen.steps import STEPS

# Words that are kinds of step and mean something else besides: a cutter's kind, a word of the part,
# a feature's name, a cycle of a control.
KINDS = frozenset(STEPS)
OF_STEPS = frozenset({"step", "words", "steps"})
LOOKED_UP = ("get", "startswith", "endswith", "index", "count")


def test_a_kind_that_declares_nothing_fails_when_it_is_made() -> None:
    with pytest.raises(TypeError, match="the step polish does not declare what it makes"):
        class Polish(StepWords):
            kind: ClassVar[str] = "polish"

    class AlongWalls(StepWords):
        """Not a kind yet: what several kinds share."""

    with pytest.raises(TypeError, match="the step trim does not declare"):
        class Trim(AlongWalls):
            kind: ClassVar[str] = "trim"


def test_a_step_that_makes_nothing_is_none() -> None:
    with pytest.raises(ValueError, match="must declare what it makes"):
        Declaration((), (Ability.DRILL,))
    with pytest.raises(ValueError, match="by which cutters"):
        Declaration((MakesFace(),), ())


def test_every_kind_has_a_declaration_of_its_own() -> None:
    for kind in STEPS.values():
        assert kind.words.declares is not StepWords.declares
        assert kind.kind == kind.words.kind


# --- nobody asks a step's name --------------------------------------------------------------------


def asked(source: str) -> Iterator[str]:
    """Everything in a module by which it could ask the kind of a step, or a word by its name.

    A step's kind compared with anything, matched or looked up; a collection of several kinds of
    step, whatever it is called; a word of a step, or of something that holds steps, got by name.
    """
    own = set(_names_of_words(source))
    for node in nodes_of(source, ast.Compare, ast.Match, ast.Subscript, ast.Call, ast.Tuple,
                         ast.List, ast.Set, ast.Dict):
        if isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            if any(_kind_of_step(side, own) for side in sides):
                yield _told(node)
        elif isinstance(node, ast.Match) and _kind_of_step(node.subject, own):
            yield f"line {node.lineno}: match {ast.unparse(node.subject)}"
        elif isinstance(node, ast.Subscript) and _kind_of_step(node.slice, own):
            # The table of kinds itself is asked for the kind's own check and plan.
            if ast.unparse(node.value) != "STEPS":
                yield _told(node)
        elif isinstance(node, ast.Call):
            told = isinstance(node.func, ast.Attribute) and node.func.attr in LOOKED_UP and any(
                _kind_of_step(one, own) for one in (*node.args, node.func.value))
            by_name = isinstance(node.func, ast.Name) and node.func.id in (
                "getattr", "hasattr") and _is_step(node.args[0])
            if told or by_name:
                yield _told(node)
        elif isinstance(node, ast.Tuple | ast.List | ast.Set | ast.Dict):
            given = node.keys if isinstance(node, ast.Dict) else node.elts
            said = [one.value for one in given
                    if isinstance(one, ast.Constant) and isinstance(one.value, str)]
            kinds = [word for word in said if word in KINDS]
            # A list of cutters may share words with steps; one of steps has some that no cutter is.
            if len(set(kinds)) > 1 and len(kinds) == len(given) and set(kinds) - set(RECORDS):
                yield _told(node)


def _told(node: ast.expr) -> str:
    return f"line {node.lineno}: {ast.unparse(node)[:90]}"


def _names_of_words(source: str) -> Iterator[str]:
    """Names that are bound to a step's kind: ``kind = step.kind``, or one after the other."""
    for node in nodes_of(source, ast.Assign, ast.NamedExpr, ast.comprehension):
        if isinstance(node, ast.Assign) and _kind_of_step(node.value, set()):
            yield from (one.id for one in node.targets if isinstance(one, ast.Name))
        if isinstance(node, ast.NamedExpr) and _kind_of_step(node.value, set()):
            yield node.target.id
        if isinstance(node, ast.comprehension) and isinstance(node.iter, ast.ListComp) \
                and _kind_of_step(node.iter.elt, set()) and isinstance(node.target, ast.Name):
            yield node.target.id
        if isinstance(node, ast.Assign) and isinstance(
                node.value, ast.ListComp | ast.SetComp | ast.GeneratorExp) \
                and _kind_of_step(node.value.elt, set()):
            yield from (one.id for one in node.targets if isinstance(one, ast.Name))


def _is_step(node: ast.expr) -> bool:
    text = ast.unparse(node)
    last = text.split(".")[-1].split("[")[0]
    return last in OF_STEPS or "setup.steps" in text or ".words" in text or "faced" in text


def _kind_of_step(node: ast.expr, own: set[str]) -> bool:
    if isinstance(node, ast.NamedExpr):
        return _kind_of_step(node.value, own)
    if isinstance(node, ast.Name):
        return node.id in own
    if isinstance(node, ast.Attribute) and node.attr == "kind":
        return _is_step(node.value) or ast.unparse(node.value) == "type(step)"
    if not isinstance(node, ast.Call | ast.Subscript):
        return False
    return any(
        _kind_of_step(one, own) for one in ast.walk(node)
        if isinstance(one, ast.Attribute | ast.Name) and one is not node)


def test_no_room_outside_steps_asks_the_kind_of_a_step() -> None:
    found = [f"{path.relative_to(ROOT)}, {one}" for path in files_of()
             if path.relative_to(ROOT).parts[0] != "steps" for one in asked(text_of(path))]
    assert found == []


@pytest.mark.parametrize("planted", [
    "if step.kind == 'tap': pass",
    "if 'tap' == step.kind: pass",
    "if deed.words.kind != 'drill': pass",
    "if setup.steps[0].kind in ('bore', 'ream'): pass",
    "kind = step.kind\nif kind == 'bore': pass",
    "if (kind := words.kind) == 'bore': pass",
    "kinds = [step.kind for step in setup.steps]\nif 'outline' in kinds: pass",
    "match step.kind:\n    case 'tap': pass",
    "what = {'face': 1}.get(step.kind)",
    "what = WHAT[step.kind]",
    "if step.kind.startswith('b'): pass",
    "HOLE_STEPS = ('bore', 'ream')",
    "HOLES = {'fine-bore', 'drill'}",
    "WHAT = {'ream': 1, 'tap': 2}",
    "lead = getattr(step, 'lead', None)",
    "holes = getattr(setup.steps[0], 'holes')",
    "some = hasattr(words, 'holes')",
    "if str(step.kind) == 'tap': pass",
])
def test_a_question_for_the_kind_of_a_step_would_be_seen(planted: str) -> None:
    assert list(asked("def told(step, words, setup, deed):\n" + "".join(
        f"    {line}\n" for line in planted.splitlines())))


@pytest.mark.parametrize("fair", [
    "if cutter.kind == 'drill': pass",
    "told = f'{step.kind} comes too late'",
    "place = job_file.place('steps', n, step.kind, 'cutter')",
    "kinds = ('drill', 'reamer')",
    "for made in step.declares().holes: pass",
])
def test_what_is_no_such_question_is_let_pass(fair: str) -> None:
    assert list(asked(f"def told(step, n, job_file, cutter):\n    {fair}\n")) == []
