"""Data held against a model; what does not fit, said in the words of the file."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from camgen.faults import Fault, Refused, nearest
from camgen.yamlfile import advice
from camgen.yamlfile.document import DataPath, Document, in_order, path_words
from camgen.yamlfile.wanted import NONSENSE, Wanted, words_of

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic_core import ErrorDetails

    Model = TypeVar("Model", bound=BaseModel)

__all__ = ["validate", "validated"]


def validate(model: type[Model], document: Document, *, at: DataPath = (), data: Any = ...,
             whole: type[BaseModel] | None = None) -> Model:
    """The model made from the document, or from what stands at the path ``at`` in it.

    ``data`` stands in for the document's own data where it was worked on first (units); ``whole``
    is the model of the whole file, so that a word in the wrong place can be sent to the right one.
    Raises Refused with a Fault for everything that does not fit.
    """
    made, faults = validated(model, document, at=at, data=data, whole=whole)
    if made is None:
        raise Refused(faults)
    return made


def validated(model: type[Model], document: Document, *, at: DataPath = (), data: Any = ...,
              whole: type[BaseModel] | None = None) -> tuple[Model | None, list[Fault]]:
    """Like :func:`validate`, but gives back the faults, for callers that gather more of them."""
    from pydantic import ValidationError

    if data is ...:
        data = document.get(at)
    try:
        return model.model_validate(data, strict=True, by_alias=True, by_name=False), []
    except ValidationError as error:
        reader = _FaultReader(model, document, at, whole or model)
        return None, reader.faults(error.errors(include_url=False))


@dataclass(frozen=True)
class _FaultReader:
    """Turns the model library's errors into faults about the file."""

    model: type[BaseModel]
    document: Document
    at: DataPath
    whole: type[BaseModel]

    def faults(self, errors: Sequence[ErrorDetails]) -> list[Fault]:
        unknown = [error for error in errors if error["type"] == "extra_forbidden"]
        meant: set[tuple[DataPath, str]] = set()
        faults: list[Fault] = []
        for error in unknown:
            path, _, _ = self._follow(error["loc"])
            fault, word = self._unknown_word(path)
            faults.append(fault)
            meant.add((path[:-1], word))
        for error in errors:
            if error["type"] == "extra_forbidden":
                continue
            path, info, key = self._follow(error["loc"])
            if error["type"] == "missing" and (path[:-1], path[-1]) in meant:
                continue
            if error["type"] == "too_short" and self._long_enough(error, path):
                continue
            faults.append(self._fault(error, path, info, key))
        return in_order(faults)

    def _long_enough(self, error: ErrorDetails, path: DataPath) -> bool:
        """True when the list is only called short because its entries do not fit themselves."""
        value = self.document.get(path)
        return isinstance(value, (tuple, dict)) and len(value) >= int(
            (error.get("ctx") or {}).get("min_length", 0))

    def _follow(self, loc: tuple[int | str, ...]) -> tuple[DataPath, Wanted, bool]:
        """Path in the file, what is wanted there, and whether the fault is in the key itself.

        The library's own way holds words that are not in the file (which branch of a choice it
        tried); they are left out.
        """
        path: DataPath = self.at
        wanted = Wanted(self.model, None)
        key = False
        for index, part in enumerate(loc):
            here = self.document.get(path)
            if part == "[key]":
                key = True
                continue
            inside = wanted.inside(part, here)
            there = (isinstance(here, dict) and part in here) or (
                isinstance(here, tuple) and isinstance(part, int) and part < len(here))
            if not there and inside is None and index < len(loc) - 1:
                continue
            if not there and inside is None and not self.document.has((*path, part)):
                continue
            path = (*path, part)
            wanted = inside or Wanted(None, None)
        return path, wanted, key

    def _unknown_word(self, path: DataPath) -> tuple[Fault, str]:
        parent, key = path[:-1], str(path[-1])
        wanted = self._wanted(parent)
        allowed = wanted.words(self.document.get(parent)) if wanted else []
        present = self.document.get(parent)
        free = [word for word in allowed if not isinstance(present, dict) or word not in present]
        named = f"under {parent[-1]}" if parent and isinstance(parent[-1], str) else "here"
        message = f"{key} is not a word known {named}"
        place = self.document.place(path, key=True)
        word, colon, rest = key.partition(":")
        if colon and rest and word in allowed:
            return Fault(f"{word}: has no space after its colon", f"Write {word}: {rest}", place
                         ), word
        comma = self._split_by_comma(parent, key)
        if comma:
            return Fault(message, comma, place), ""
        if " " in key and key.split()[0] in free:
            begun = key.split()[0]
            return Fault(f"{begun} has no colon", f"Write {begun}:{key[len(begun):]}", place), begun
        if " " in key and self.document.spellings.get(path) == "":
            return Fault(message, "If it goes on from the text before the comma, put that whole "
                         "text in quotes.", place), ""
        near = key.replace("_", "-") if key.replace("_", "-") in free else nearest(key, free)
        if near:
            return Fault(message, f"Did you mean {near}?", place), near
        homes = [way for way in words_of(self.whole) if way and way[-1] == key.replace("_", "-")]
        if homes:
            return Fault(message, f"It belongs under {path_words(homes[0][:-1]) or 'nothing'}."
                         if homes[0][:-1] else "It belongs at the top of the file, not indented.",
                         place), ""
        listed = f"Allowed here: {advice.listing(allowed)}." if allowed else ""
        return Fault(message, listed, place), ""

    def _split_by_comma(self, parent: DataPath, key: str) -> str:
        """``0,40`` inside braces falls apart in 0 and a word 40; say so."""
        present = self.document.get(parent)
        if not isinstance(present, dict) or not key.isdigit() or present.get(key) is not None:
            return ""
        words = list(present)
        before = words[words.index(key) - 1] if words.index(key) else ""
        value = present.get(before)
        if not isinstance(value, int) or isinstance(value, bool):
            return ""
        wanted = self._wanted((*parent, before))
        if wanted and wanted.tuple_length():
            return f"The comma ends the value before it. Write {before}: [{value}, {key}]."
        return f"The comma ends the value before it. Write {before}: {value}.{key} with a point."

    def _wanted(self, path: DataPath) -> Wanted | None:
        wanted: Wanted | None = Wanted(self.model, None)
        way = self.at
        for part in path[len(self.at):]:
            if wanted is None:
                return None
            wanted = wanted.inside(part, self.document.get(way))
            way = (*way, part)
        return wanted

    def _fault(self, error: ErrorDetails, path: DataPath, wanted: Wanted, key: bool) -> Fault:
        kind, context = error["type"], error.get("ctx") or {}
        name = next((part for part in reversed(path) if isinstance(part, str)), "the file")
        place = self.document.place(path, key=key)
        if kind == "missing" and not self.document.has(path):
            if isinstance(path[-1], int):
                return self._count_fault(path[:-1], name)
            return Fault(f"{name} is missing", wanted.sentence(), place)
        if kind in ("too_long", "too_short", "missing") and not isinstance(
                self.document.get(path), str):
            return self._count_fault(path, name, context)
        value = self.document.get(path)
        spelt = self.document.spellings.get(path)
        shown = str(path[-1]) if key else advice.shown(value, spelt)
        if value is None and spelt is not None and not kind.startswith("value"):
            return Fault(f"{name} has no value", wanted.sentence(), place)
        if kind in ("value_error", "assertion_error"):
            return Fault(str(context.get("error", error["msg"])), wanted.sentence(), place)
        if kind == "finite_number":
            return Fault(f"{name}: {shown} is not a number that can be measured",
                         wanted.sentence(), place)
        if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
            bound = advice.bound_words(kind, context)
            told = wanted.range_words()
            crossed = abs(float(next(iter(context.values()), 0.0)))
            return Fault(f"{name}: {shown} is not allowed, it must be "
                         f"{told if told and crossed < NONSENSE else bound}",
                         wanted.description(), place)
        if kind in ("literal_error", "union_tag_invalid"):
            choices = wanted.choices() or re.findall(
                r"'([^']*)'", str(context.get("expected", context.get("expected_tags", ""))))
            if kind == "union_tag_invalid":
                name = str(context.get("discriminator", "kind")).strip("'")
                path = (*path, name)
                place = self.document.place(path)
                shown = advice.shown(self.document.get(path), self.document.spellings.get(path))
            return Fault(f"{name}: {shown} is not allowed", advice.choice_remedy(
                self.document.get(path), self.document.spellings.get(path), choices), place)
        if kind == "union_tag_not_found":
            tag = str(context.get("discriminator", "kind")).strip("'")
            return Fault(f"{tag} is missing", "It says which sort is meant: "
                         f"{advice.listing(wanted.tags())}.", self.document.place((*path, tag)))
        if kind.startswith(("float", "int", "decimal")):
            whole = kind.startswith("int")
            what = "a whole number" if whole else "a number"
            limits = wanted.range_words()
            tail = f" {limits}" if limits else ""
            return Fault(f"{name}: {shown} is not {what}{tail}",
                         advice.number_remedy(value, spelt, whole) or wanted.description(), place)
        if kind == "bool_type" or kind.startswith("bool"):
            return Fault(f"{name}: {shown} is neither true nor false", "Write true or false.",
                         place)
        if kind == "string_type":
            return Fault(f"{name}: {shown} is not text", advice.text_remedy(value, spelt), place)
        if kind == "string_too_long":
            return Fault(f"{name} is longer than {context.get('max_length')} letters", "", place)
        if kind == "string_too_short":
            return Fault(f"{name} is empty", wanted.sentence(), place)
        if kind == "string_pattern_mismatch":
            return Fault(f"the name {name} is not allowed" if key else
                         f"{name}: {shown} is not allowed",
                         advice.pattern_words(str(context.get("pattern", "")))
                         or wanted.sentence(), place)
        if kind in ("tuple_type", "list_type"):
            return Fault(f"{name}: {shown} is not a list", wanted.list_words(), place)
        if kind in ("model_type", "dict_type", "model_attributes_type", "dataclass_type"):
            allowed = wanted.words(None)
            remedy = (f"{name}: is followed by words of its own, indented beneath it"
                      + (f": {advice.listing(allowed)}." if allowed else "."))
            return Fault(f"{name}: {shown} is not allowed", remedy, place)
        return Fault(f"{name}: {shown} does not fit here", wanted.sentence(), place)

    def _count_fault(self, path: DataPath, name: str,
                     context: Mapping[str, Any] | None = None) -> Fault:
        value = self.document.get(path)
        have = len(value) if isinstance(value, (tuple, dict)) else 0
        wanted = self._wanted(path)
        number = wanted.tuple_length() if wanted else 0
        place = self.document.place(path)
        if not number:
            lowest = (context or {}).get("min_length")
            highest = (context or {}).get("max_length")
            limit = f"at least {lowest}" if lowest else f"at most {highest}"
            return Fault(f"{name} has {have or 'no'} entries, {limit} wanted",
                         wanted.description() if wanted else "", place)
        remedy = wanted.description() if wanted else ""
        if have > number and all(isinstance(part, int) for part in value):
            remedy = (remedy + " " if remedy else "") + (
                "Decimals are written with a point: a comma begins the next value.")
        values = "1 value" if have == 1 else f"{have or 'no'} values"
        return Fault(f"{name} has {values}, {number} wanted", remedy, place)
