"""The program's own source, read and parsed once for all tests that ask it something."""

from __future__ import annotations

import ast
import gc
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

import camgen

__all__ = ["ROOT", "files_of", "nodes_of", "text_of", "tree_of"]

ROOT = Path(camgen.__file__).parent
Node = TypeVar("Node", bound=ast.AST)


@lru_cache(maxsize=20)
def files_of(room: str = "") -> tuple[Path, ...]:
    """The modules of the program, or of one of its rooms, in the order of their names."""
    return tuple(sorted((ROOT / room).rglob("*.py")))


@lru_cache(maxsize=1000)
def text_of(file: Path) -> str:
    """What is written in a file."""
    return file.read_text(encoding="utf-8")


@lru_cache(maxsize=1000)
def tree_of(source: str) -> ast.Module:
    """A module as it is parsed; read it, never change it.

    Its hundreds of thousands of nodes stay to the end: no search for lost cycles goes through them.
    """
    searched = gc.isenabled()
    gc.disable()
    try:
        return ast.parse(source)
    finally:
        gc.freeze()
        if searched:
            gc.enable()


@lru_cache(maxsize=1000)
def _by_type(source: str) -> dict[type[ast.AST], list[ast.AST]]:
    found: dict[type[ast.AST], list[ast.AST]] = {}
    due: list[ast.AST] = [tree_of(source)]
    for node in due:
        found.setdefault(type(node), []).append(node)
        for name in node._fields:
            inside = getattr(node, name, None)
            if isinstance(inside, list):
                due += [one for one in inside if isinstance(one, ast.AST)]
            elif isinstance(inside, ast.AST):
                due.append(inside)
    return found


def nodes_of(source: str, *kinds: type[Node]) -> Iterator[Node]:
    """The nodes of these types in a module, type after type, each in the order of ``ast.walk``."""
    for kind in kinds:
        yield from _by_type(source).get(kind, ())  # type: ignore[misc]
