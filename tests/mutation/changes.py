"""Small changes of the source that change what it means, each as a stretch of text replaced.

Left alone: docstrings, annotations, decorators, sentences (strings and what is filled into them),
what is raised, ``__all__`` and ``__repr__``.
"""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

__all__ = ["Change", "changes_of"]

_TURNED = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_RECKONED = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
}
_NAMES = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "floor": "ceil",
    "ceil": "floor",
    "sin": "cos",
    "cos": "sin",
    "minimum": "maximum",
    "maximum": "minimum",
    "argmin": "argmax",
    "argmax": "argmin",
}
_DROPPED = {"abs", "sorted", "reversed", "round"}
_EMPTY = {"list": "[]", "tuple": "()", "dict": "{}", "bool": "False", "float": "0.0", "int": "0"}


@dataclass(frozen=True)
class Change:
    """A stretch of a file's bytes replaced: where it stands, and what it says before and after."""

    file: str
    where: str
    kind: str
    line: int
    last_line: int
    start: int
    end: int
    old: str
    new: str
    nth: int = 0

    @property
    def key(self) -> str:
        """The change by its place in a function, which lines added above it leave as it is."""
        said = (self.file, self.where, self.kind, self.old, self.new, str(self.nth))
        return " ".join("|".join(said).split())

    def applied(self, source: str) -> str:
        """The source with the change in it, its lines where they were."""
        text, new = source.encode(), self.new
        lines = "\n" * self.old.count("\n")
        new = new[:-1] + lines + new[-1] if new[-1] in ")]" else new + lines
        return (text[: self.start] + new.encode() + text[self.end :]).decode()

    def function(self, root: Path) -> CodeType | None:
        """The outermost function the change is in, compiled with it; nothing outside functions."""
        path = root / self.file
        source = path.read_text()
        before, after = (
            _functions(compile(text, str(path), "exec", dont_inherit=True))
            for text in (source, self.applied(source))
        )
        changed = [name for name, code in after.items() if before.get(name) != code]
        return after[changed[0]] if len(changed) == 1 and before.keys() == after.keys() else None

    def __str__(self) -> str:
        old, new = (" ".join(text.split())[:120] for text in (self.old, self.new))
        return f"{self.file}:{self.line} {self.where}: {self.kind}\n    {old}\n    {new}"


def changes_of(file: str, source: str) -> list[list[Change]]:
    """Places of a file that can be changed, each with the changes there are for it."""
    finder = _Finder(file, source)
    finder.visit(ast.parse(source))
    return finder.places


def _functions(code: CodeType) -> dict[tuple[str, int], CodeType]:
    """Functions of a module or class by name and line, those inside functions left in them."""
    found = {}
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            if inner.co_flags & inspect.CO_NEWLOCALS:
                found[inner.co_qualname, inner.co_firstlineno] = inner
            else:
                found |= _functions(inner)
    return found


class _Finder(ast.NodeVisitor):
    def __init__(self, file: str, source: str) -> None:
        self.file, self.source = file, source.encode()
        self.lines = [0]
        for line in source.encode().splitlines(keepends=True):
            self.lines.append(self.lines[-1] + len(line))
        self.names: list[str] = []
        self.returns: list[str] = []
        self.places: list[list[Change]] = []
        self.seen: dict[str, int] = {}

    def _offer(self, node: ast.expr | ast.stmt, kind: str, news: Iterable[str]) -> None:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        start = self.lines[node.lineno - 1] + node.col_offset
        end = self.lines[node.end_lineno - 1] + node.end_col_offset
        old = self.source[start:end].decode()
        place = []
        for new in news:
            made = Change(
                file=self.file,
                where=".".join(self.names),
                kind=kind,
                line=node.lineno,
                last_line=node.end_lineno,
                start=start,
                end=end,
                old=old,
                new=new,
            )
            nth = self.seen[made.key] = self.seen.get(made.key, -1) + 1
            place.append(Change(**{**vars(made), "nth": nth}))
        if place:
            self.places.append(place)

    def _each(self, nodes: Iterable[ast.AST | None]) -> None:
        for node in nodes:
            if node is not None:
                self.visit(node)

    # What is left alone.

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """A sentence, and what is filled into it."""

    def visit_Raise(self, node: ast.Raise) -> None:
        """What is raised is what is said."""

    def visit_Assert(self, node: ast.Assert) -> None:
        """Said to the type checker."""

    def visit_Assign(self, node: ast.Assign) -> None:
        if not any(isinstance(name, ast.Name) and name.id == "__all__" for name in node.targets):
            self.visit(node.value)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        self._each([node.value])

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        self.names.append(node.name)
        self._each(node.body)
        self.names.pop()

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        if node.name == "__repr__":
            return
        self.names.append(node.name)
        self.returns.append(_EMPTY.get(ast.unparse(node.returns).split("[")[0], "None")
                            if node.returns else "None")
        self._each([*node.args.defaults, *node.args.kw_defaults, *node.body])
        self.returns.pop()
        self.names.pop()

    # What is changed.

    def visit_Compare(self, node: ast.Compare) -> None:
        news = []
        for place, sign in enumerate(node.ops):
            for other in _TURNED[type(sign)]:
                signs = [*node.ops[:place], other(), *node.ops[place + 1 :]]
                news.append(_text(ast.Compare(node.left, signs, node.comparators)))
        self._offer(node, "comparison", news)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        other = _RECKONED.get(type(node.op))
        sides = (node.left, node.right)
        if other and not any(_is_text_or_list(side) or _is_tolerance(side) for side in sides):
            self._offer(node, "sign", [_text(ast.BinOp(node.left, other(), node.right))])
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        other = _RECKONED.get(type(node.op))
        if other and not _is_text_or_list(node.value):
            new = ast.unparse(ast.AugAssign(node.target, other(), node.value))
            self._offer(node, "sign", [new])
        self.visit(node.value)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if not isinstance(node.op, ast.UAdd):
            self._offer(node, "sign lost", [_text(node.operand)])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        shorter = [
            _text(ast.BoolOp(node.op, rest) if len(rest) > 1 else rest[0])
            for rest in (node.values[:place] + node.values[place + 1 :]
                         for place in range(len(node.values)))
        ]
        self._offer(node, "and, or", [_text(ast.BoolOp(other, node.values)), *shorter])
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        value = node.value
        if isinstance(value, bool):
            self._offer(node, "constant", [str(not value)])
        elif isinstance(value, int):
            self._offer(node, "constant", [f"({value + 1})", f"({value - 1})"])
        elif isinstance(value, float):
            # A tolerance a little wider means the same; a million times wider it does not.
            scales = (1e6,) if _is_tolerance(node) else (1.1, 0.5)
            news = [f"({value * scale!r})" for scale in scales] if value else ["1.0"]
            self._offer(node, "constant", news)

    def _condition(self, test: ast.expr) -> None:
        if not isinstance(test, ast.Compare):
            self._offer(test, "negated", [f"(not {_text(test)})"])

    def visit_If(self, node: ast.If) -> None:
        if ast.unparse(node.test) == "TYPE_CHECKING":
            return
        self._condition(node.test)
        self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self._condition(node.test)
        self.generic_visit(node)

    def visit_comprehension(self, node: ast.comprehension) -> None:
        for test in node.ifs:
            self._offer(test, "filter lost", ["True"])
        self.generic_visit(node)

    def visit_For(self, node: ast.For) -> None:
        self._offer(node.iter, "after the first", [f"list({_text(node.iter)})[:1]"])
        self.generic_visit(node)

    def visit_Continue(self, node: ast.Continue) -> None:
        self._offer(node, "loop left", ["break"])

    def visit_Return(self, node: ast.Return) -> None:
        new = self.returns[-1] if self.returns else "None"
        if node.value is not None and ast.unparse(node.value) != new:
            self._offer(node, "result lost", [f"return {new}"])
        self._each([node.value])

    def visit_Expr(self, node: ast.Expr) -> None:
        if isinstance(node.value, ast.Constant):
            return
        if isinstance(node.value, ast.Call):
            self._offer(node, "call lost", ["None"])
        self.visit(node.value)

    def visit_Call(self, node: ast.Call) -> None:
        called = node.func
        name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
        if name in _NAMES:
            other = _NAMES[name]
            func: ast.expr = (ast.Attribute(called.value, other)
                              if isinstance(called, ast.Attribute) else ast.Name(other))
            self._offer(node, "call", [_text(ast.Call(func, node.args, node.keywords))])
        if name in _DROPPED and isinstance(called, ast.Name) and node.args:
            self._offer(node, "call dropped", [_text(node.args[0])])
        self._keywords(node, name)
        self.generic_visit(node)

    def _keywords(self, node: ast.Call, name: str) -> None:
        """A keyword lost, except of a record's, which must have each, and of what is said."""
        if name[:1].isupper():
            return
        news = []
        for place, word in enumerate(node.keywords):
            if word.arg and not _is_text_or_list(word.value):
                rest = node.keywords[:place] + node.keywords[place + 1 :]
                news.append(_text(ast.Call(node.func, node.args, rest)))
        self._offer(node, "keyword lost", news)


def _text(node: ast.expr) -> str:
    return f"({ast.unparse(ast.fix_missing_locations(node))})"


def _is_tolerance(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, float) and (
        0.0 < node.value < 1e-4
    )


def _is_text_or_list(node: ast.expr) -> bool:
    return isinstance(node, ast.JoinedStr | ast.List | ast.Tuple | ast.ListComp) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )
