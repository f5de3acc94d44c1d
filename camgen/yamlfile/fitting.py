"""Data held against a model; what does not fit, said in the words of the file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from camgen.faults import Fault, Refused, nearest
from camgen.messages import NOTHING, Message, counted
from camgen.values import dataclass
from camgen.yamlfile.advice import listing
from camgen.yamlfile.document import DataPath, Document, in_order, path_words
from camgen.yamlfile.syntax import no_colon, no_space_after_colon
from camgen.yamlfile.unfit_value import UnfitWord
from camgen.yamlfile.wanted import Wanted, words_of

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic_core import ErrorDetails

    Model = TypeVar("Model", bound=BaseModel)

__all__ = ["meant_words", "validate", "validated"]

# So many faults of one file are told; whoever has more is looking at the wrong file.
MOST = 100


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


def meant_words(model: type[BaseModel], document: Document, *, at: DataPath = (),
                data: Any = ...) -> dict[DataPath, str]:
    """Words that the model does not know, by their paths, with the word meant where it is clear."""
    from pydantic import ValidationError

    try:
        model.model_validate(document.get(at) if data is ... else data, strict=True, by_alias=True,
                             by_name=False)
    except ValidationError as error:
        reader = _FaultReader(model, document, at, model)
        return reader.meant(error.errors(include_url=False)[:MOST])
    return {}


@dataclass(frozen=True)
class _FaultReader:
    """Turns the model library's errors into faults about the file."""

    model: type[BaseModel]
    document: Document
    at: DataPath
    whole: type[BaseModel]

    def faults(self, errors: Sequence[ErrorDetails]) -> list[Fault]:
        """The faults in the order of the file; of very many the first, and how many more."""
        more = len(errors) - MOST
        errors = errors[:MOST]
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
            path, wanted, key = self._follow(error["loc"])
            if error["type"] == "missing" and (path[:-1], path[-1]) in meant:
                continue
            misfit = UnfitWord(self.document, path, wanted, error["type"], error.get("ctx") or {},
                            error["msg"], key)
            if misfit.kind == "missing" and isinstance(path[-1], int):
                misfit = replace(misfit, path=path[:-1], kind="too_short",
                                 wanted=self._wanted(path[:-1]) or wanted)
            if not misfit.only_called_short():
                faults.append(misfit.fault())
        if more > 0:
            return [*in_order(faults),
                    Fault(counted("{n} more fault", "{n} more faults", more),
                          Message("is this the right file? Else mend those above first"),
                          self.document.place(self.at))]
        return in_order(faults)

    def meant(self, errors: Sequence[ErrorDetails]) -> dict[DataPath, str]:
        """The words meant by those that are not known, where they are clear and written once."""
        found: dict[DataPath, str] = {}
        for error in errors:
            if error["type"] != "extra_forbidden":
                continue
            path, _, _ = self._follow(error["loc"])
            _, word = self._unknown_word(path)
            if (word and ":" not in str(path[-1]) and " " not in str(path[-1])
                    and not self.document.has((*path[:-1], word))
                    and (path[:-1], word) not in [(at[:-1], one) for at, one in found.items()]):
                found[path] = word
        return found

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
        """The fault of a word that the model does not know, and the word that was meant, if any."""
        parent, key = path[:-1], str(path[-1])
        wanted = self._wanted(parent)
        allowed = wanted.words(self.document.get(parent)) if wanted else []
        present = self.document.get(parent)
        # Of a job that stands on another, what that one says may well be meant here.
        file = self.document.file_of(path)
        free = [word for word in allowed if not isinstance(present, dict) or word not in present
                or self.document.file_of((*parent, word)) != file]
        message = (Message("{word} is not a word known under {group}", word=key, group=parent[-1])
                   if parent and isinstance(parent[-1], str)
                   else Message("{word} is not a word known here", word=key))
        place = self.document.place(path, key=True)
        word, colon, rest = key.partition(":")
        if colon and rest and word in allowed:
            return no_space_after_colon(word, rest, place), word
        comma = self._split_by_comma(parent, key)
        if comma:
            return Fault(message, comma, place), ""
        word, _, rest = key.partition(" ")
        if rest and word in free:
            return no_colon(word, rest, place), word
        if rest and self.document.spellings.get(path) == "":
            return Fault(message, Message("if it goes on from the text before the comma, put that "
                                          "whole text in quotes"), place), ""
        hyphened = key.replace("_", "-")
        if hyphened in free:
            return Fault(message, Message("did you mean {near}?", near=hyphened), place), hyphened
        # A word rightly spelt that stands elsewhere in such files is more likely meant than one
        # that only looks like it.
        base = self.at if self.whole is self.model else ()
        home = next(((*base, *way[:-1]) for way in words_of(self.whole) if way[-1] == hyphened),
                    None)
        if home is not None:
            return Fault(message,
                         Message("it belongs under {group}", group=path_words(home)) if home
                         else Message("it belongs at the top of the file, not indented"), place), ""
        near = nearest(key, free)
        if near:
            return Fault(message, Message("did you mean {near}?", near=near), place), near
        return Fault(message,
                     Message("allowed here: {words}", words=listing(allowed)) if allowed
                     else NOTHING, place), ""

    def _split_by_comma(self, parent: DataPath, key: str) -> Message:
        """``0,40`` inside braces falls apart in 0 and a word 40; say so."""
        present = self.document.get(parent)
        if not isinstance(present, dict) or not key.isdigit() or present.get(key) is not None:
            return NOTHING
        words = list(present)
        before = words[words.index(key) - 1] if words.index(key) else ""
        value = present.get(before)
        if not isinstance(value, int) or isinstance(value, bool):
            return NOTHING
        wanted = self._wanted((*parent, before))
        if wanted and wanted.tuple_length():
            return Message("the comma ends the value before it. Write {word}: [{whole}, {after}]",
                           word=before, whole=value, after=key)
        return Message("the comma ends the value before it. Write {word}: {whole}.{after} with a "
                       "point", word=before, whole=value, after=key)

    def _wanted(self, path: DataPath) -> Wanted | None:
        """What the model wants at a path of the file."""
        wanted: Wanted | None = Wanted(self.model, None)
        way = self.at
        for part in path[len(self.at):]:
            if wanted is None:
                return None
            wanted = wanted.inside(part, self.document.get(way))
            way = (*way, part)
        return wanted
