"""Frozen dataclasses that are quick to define.

The standard decorator compiles six functions for every class, and a program of a hundred and fifty
small value types spends more time on that than on a whole wheel. The one here has the same meaning
for what this project uses, compiles one function when the first value is made and shares the
others. It answers to ``dataclasses.fields`` and ``replace``; type checkers see the standard one.

Three hundred classes of four fields took 8 ms of the processor to define, 400 ms with the standard
decorator and slots, and 6 ms as structures of msgspec 0.23, which keep no properties once worked
out unless told to, and whose import alone takes 11 ms (CPython 3.11, 30 November 2026).
"""

from __future__ import annotations

import dataclasses
import inspect
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
        fields = _fields(cls)
        cls.__dataclass_fields__ = fields
        cls.__dataclass_params__ = _FROZEN
        cls.__match_args__ = tuple(name for name, one in fields.items() if one.init)
        cls.__init__ = _first_initialiser(cls)
        for name, method in _SHARED.items():
            if name not in cls.__dict__:
                setattr(cls, name, method)
        return cls


@dataclasses.dataclass(frozen=True)
class _Pattern:
    """Its parameters stand for those of every class made here."""

    width: float = 0.0


_FROZEN = _Pattern.__dataclass_params__  # type: ignore[attr-defined]
_FIELD = dataclasses.fields(_Pattern)[0]._field_type  # type: ignore[attr-defined]


def _fields(cls: type) -> dict[str, dataclasses.Field[Any]]:
    """The fields of a class by name, as the standard decorator finds them; class variables apart.

    Raises ValueError for a default that all values would share and change.
    """
    found: dict[str, dataclasses.Field[Any]] = {}
    for base in cls.__mro__[-1:0:-1]:
        found.update(getattr(base, "__dataclass_fields__", {}))
    for name, kind in inspect.get_annotations(cls).items():
        if str(kind).removeprefix("typing.").startswith("ClassVar"):
            continue
        default = cls.__dict__.get(name, dataclasses.MISSING)
        one: dataclasses.Field[Any] = default if isinstance(default, dataclasses.Field) else (
            dataclasses.field(default=default))
        if one.default.__class__.__hash__ is None:
            raise ValueError(f"{cls.__name__}.{name}: its default would be shared, give a factory")
        one.name, one.type, one.kw_only = name, kind, False
        setattr(one, "_field_type", _FIELD)  # noqa: B010 - the library's own mark of a field
        if isinstance(default, dataclasses.Field):
            if one.default is dataclasses.MISSING:
                delattr(cls, name)
            else:
                setattr(cls, name, one.default)
        found[name] = one
    return found


def _first_initialiser(cls: type) -> Any:
    """Stands in until the first value is made: most classes of a run never have one."""

    def __init__(self: Any, *words: Any, **named: Any) -> None:
        # A class that stands on this one may call here with a value of its own.
        made = _initialiser(cls)
        cls.__init__ = made  # type: ignore[misc]
        made(self, *words, **named)

    return __init__


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
    return tuple([held[name] for name in self.__dataclass_fields__])


def _equal(self: Any, other: Any) -> Any:
    if other.__class__ is self.__class__:
        return _values(self) == _values(other)
    return NotImplemented


def _hashed(self: Any) -> int:
    return hash(_values(self))


def _shown(self: Any) -> str:
    held = ", ".join(f"{name}={self.__dict__[name]!r}" for name in self.__dataclass_fields__)
    return f"{self.__class__.__qualname__}({held})"


def _set(self: Any, name: str, value: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _deleted(self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


_SHARED = {
    "__eq__": _equal, "__hash__": _hashed, "__repr__": _shown, "__setattr__": _set,
    "__delattr__": _deleted,
}
