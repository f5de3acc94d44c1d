"""Who takes a length, an angle, a speed or a force says in which unit."""

from __future__ import annotations

import ast
import re

from program_source import ROOT, files_of, text_of, tree_of

UNIT = re.compile(
    r"\b(mm³?|µm|N|W|MPa|rev|g|seconds?|degrees?|radians?|turns?|grams?|shares?|units?)\b|°"
    r"|[Ww]ords as in :func:"
)
MEASURE = re.compile(r"\b(float|Floats|Point|complex|Complexes)\b")


def without_unit(source: str) -> list[str]:
    """Public functions of a module that take a measure, where neither they nor it name a unit."""
    tree = tree_of(source)
    if UNIT.search(ast.get_docstring(tree) or ""):
        return []
    body = tree.body
    public = {
        name.value
        for node in body if isinstance(node, ast.Assign) and ast.unparse(node.targets) == "__all__"
        for name in getattr(node.value, "elts", ()) if isinstance(name, ast.Constant)
    }
    found = []
    for node in body:
        if isinstance(node, ast.FunctionDef) and node.name in public:
            taken = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
            measured = any(MEASURE.search(ast.unparse(one.annotation))
                           for one in taken if one.annotation)
            if measured and not UNIT.search(ast.get_docstring(node) or ""):
                found.append(node.name)
    return found


def test_a_function_without_its_unit_is_found() -> None:
    text = '''
__all__ = ["bare", "plain", "said"]
def bare(width: float) -> float:
    """As wide as it is."""
def said(width: float) -> float:
    """As wide as it is, mm."""
def plain(name: str) -> str:
    """As it is called."""
def _own(width: float) -> float:
    """As wide as it is."""
'''
    assert without_unit(text) == ["bare"]


def test_a_module_may_say_it_for_all() -> None:
    text = '"""Widths. Lengths mm."""\n__all__ = ["wide"]\ndef wide(width: float) -> float: ...'
    assert without_unit(text) == []
    assert without_unit(text.replace("Lengths mm.", "")) == ["wide"]


def test_measures_are_taken_with_their_unit() -> None:
    paths = files_of()
    assert len(paths) > 300
    assert not [(str(path.relative_to(ROOT)), name) for path in paths
                for name in without_unit(text_of(path))]
