"""Frozen dataclasses that are quick to define.

The standard decorator compiles six functions for every class, and a program of a hundred and fifty
small value types spends more time on that than on a whole wheel. The one here has the same meaning
for what this project uses, compiles one function a class and shares the others. It answers to
``dataclasses.fields`` and ``replace``; type checkers see the standard one.
"""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

__all__ = ["dataclass"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(cls: type | None = None, /, *, frozen: bool = False, slots: bool = False) -> Any:
        """As ``dataclasses.dataclass``; ``slots`` saves little in so few objects and is not made.

        >>> @dataclass(frozen=True)
        ... class Size:
        ...     width: float
        ...     depth: float = 0.5
        >>> Size(2.0)
        Size(width=2.0, depth=0.5)
        >>> Size(2.0) == Size(2.0, 0.5), len({Size(1.0), Size(1.0)})
        (True, 1)
        """
        if cls is None:
            return lambda given: dataclass(given, frozen=frozen, slots=slots)
        if not frozen:
            return dataclasses.dataclass(cls)
        made = dataclasses.dataclass(init=False, repr=False, eq=False)(cls)
        made.__init__ = _initialiser(made)
        made.__dataclass_params__ = _FROZEN
        for name, method in _SHARED.items():
            if name not in cls.__dict__:
                setattr(made, name, method)
        made.__match_args__ = tuple(f.name for f in dataclasses.fields(made) if f.init)
        made._value_names = tuple(f.name for f in dataclasses.fields(made))
        return made


@dataclasses.dataclass(frozen=True)
class _Pattern:
    """Its parameters stand for those of every class made here."""


_FROZEN = _Pattern.__dataclass_params__  # type: ignore[attr-defined]


def _initialiser(cls: type) -> Any:
    """The one compiled function: arguments as the fields say, all stored at once."""
    known: dict[str, Any] = {"factory": dataclasses.MISSING}
    words, stored = [], []
    for number, one in enumerate(dataclasses.fields(cls)):
        if not one.init:
            continue  # ``__post_init__`` gives it
        if one.default_factory is not dataclasses.MISSING:
            known[f"make{number}"] = one.default_factory
            words.append(f"{one.name}=factory")
            stored.append(f"'{one.name}': make{number}() if {one.name} is factory else {one.name}")
            continue
        if one.default is not dataclasses.MISSING:
            known[f"default{number}"] = one.default
            words.append(f"{one.name}=default{number}")
        else:
            words.append(one.name)
        stored.append(f"'{one.name}': {one.name}")
    lines = [f"def __init__(self, {', '.join(words)}):",
             f" self.__dict__.update({{{', '.join(stored)}}})"]
    if hasattr(cls, "__post_init__"):
        lines.append(" self.__post_init__()")
    exec("\n".join(lines), known)
    made = known["__init__"]
    made.__qualname__ = f"{cls.__qualname__}.__init__"
    return made


def _values(self: Any) -> tuple[Any, ...]:
    held = self.__dict__
    return tuple([held[name] for name in self._value_names])


def _equal(self: Any, other: Any) -> Any:
    if other.__class__ is self.__class__:
        return _values(self) == _values(other)
    return NotImplemented


def _hashed(self: Any) -> int:
    return hash(_values(self))


def _shown(self: Any) -> str:
    held = ", ".join(f"{name}={self.__dict__[name]!r}" for name in self._value_names)
    return f"{self.__class__.__qualname__}({held})"


def _set(self: Any, name: str, value: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _deleted(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


_SHARED = {
    "__eq__": _equal, "__hash__": _hashed, "__repr__": _shown, "__setattr__": _set,
    "__delattr__": _deleted,
}
