"""The program's own source, parsed once for all tests that read it."""

from __future__ import annotations

import ast
from functools import lru_cache

__all__ = ["nodes_of"]


@lru_cache(maxsize=500)
def nodes_of(source: str) -> tuple[ast.AST, ...]:
    """Every node of a module, in the order of `ast.walk`; read it, never change it."""
    return tuple(ast.walk(ast.parse(source)))
