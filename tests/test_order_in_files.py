"""Files stay short enough to be read at one sitting, functions simple enough to be held in mind,
and a name means one thing.

The rule of the linter counts the ways through a function; where more of them belong together, the
comment above it says why.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from program_source import text_of, tree_of

from camgen.cli import COMMANDS

TOP = Path(__file__).parents[1]
LONGEST = 450
MOST_MODULES = 12

# Files that are longer, each with its reason.
LONGER: dict[str, str] = {}
# Names that many modules have on purpose, each with its reason.
IN_EACH = {
    "FORM": "a tooth form says what it is, under this name",
    "check": "checks of a step too long for its module",
}
SOURCES = sorted(path for room in ("camgen", "tests") for path in (TOP / room).rglob("*.py"))


def lines_of(path: Path) -> list[str]:
    return text_of(path).splitlines()


def named(path: Path) -> str:
    return path.relative_to(TOP).as_posix()


def test_no_file_is_longer_than_a_sitting_without_its_reason() -> None:
    long = {named(path): len(lines_of(path)) for path in SOURCES
            if len(lines_of(path)) > LONGEST}
    assert long.keys() == LONGER.keys(), long
    assert all(reason.strip() for reason in LONGER.values())


def test_a_room_of_more_than_a_dozen_modules_has_wings() -> None:
    rooms: dict[str, int] = {}
    for path in sorted((TOP / "camgen").rglob("*.py")):
        if not path.name.startswith("__"):
            rooms[named(path.parent)] = rooms.get(named(path.parent), 0) + 1
    assert max(rooms.values()) <= MOST_MODULES, {
        room: count for room, count in rooms.items() if count > MOST_MODULES}
    assert len(rooms) > 30


def complex_ones(lines: list[str]) -> list[tuple[str, str]]:
    """Functions let be by the linter's rule, each with the line above it."""
    return [(line.strip(), before.strip())
            for before, line in zip(["", *lines], lines, strict=False)
            if line.rstrip().endswith("# noqa: C901")]


def test_no_function_is_let_be_without_its_reason() -> None:
    bare = [f"{named(path)}: {line}" for path in SOURCES
            for line, before in complex_ones(lines_of(path)) if not before.startswith("# ")]
    assert not bare


@pytest.mark.parametrize(("above", "bare"), [("# It is a table of ways.", False), ("x = 1", True)])
def test_a_reason_is_looked_for_above(above: str, bare: bool) -> None:
    found = complex_ones([above, "def f() -> None:  # noqa: C901"])
    assert [not before.startswith("# ") for _, before in found] == [bare]


def public_names(path: Path) -> list[str]:
    """What a module offers of its own: in its list, and defined there."""
    tree = tree_of(text_of(path))
    offered: list[str] = []
    defined: set[str] = set()
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            defined.add(node.name)
        targets = node.targets if isinstance(node, ast.Assign) else (
            [node.target] if isinstance(node, ast.AnnAssign) else [])
        defined |= {name.id for target in targets for name in ast.walk(target)
                    if isinstance(name, ast.Name)}
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            offered = ast.literal_eval(node.value)
    return [name for name in offered if name in defined]


def test_a_public_name_has_one_home() -> None:
    homes: dict[str, list[str]] = {}
    commands = {TOP / f"{module.replace('.', '/')}.py" for module, _ in COMMANDS.values()}
    for path in SOURCES:
        # A command is called as it is typed, and stands in a module of that name.
        if path.is_relative_to(TOP / "camgen") and path not in commands:
            for name in public_names(path):
                homes.setdefault(name, []).append(named(path))
    several = {name: rooms for name, rooms in homes.items() if len(rooms) > 1}
    assert several.keys() == IN_EACH.keys(), several


def test_what_a_module_offers_is_found() -> None:
    assert "SAME_PLACE" in public_names(TOP / "camgen/tolerances.py")
    assert "read_program" in public_names(TOP / "camgen/reader/program.py")
    assert not public_names(TOP / "camgen/reader/__init__.py")
