"""One value that does not fit its model, and the fault that says so in plain words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from camgen.faults import Fault
from camgen.messages import Message, counted, verbatim
from camgen.values import dataclass
from camgen.yamlfile import advice
from camgen.yamlfile.document import DataPath, Document
from camgen.yamlfile.length_units import FileUnits
from camgen.yamlfile.wanted import NONSENSE, Wanted

__all__ = ["UnfitWord"]


@dataclass(frozen=True)
class UnfitWord:
    """What stands at ``path``, what is ``wanted`` there, and the model library's word for the
    trouble: ``kind`` with its ``context`` and ``text``. ``in_key`` when the key itself is wrong.
    """

    document: Document
    path: DataPath
    wanted: Wanted
    kind: str
    context: Mapping[str, Any]
    text: str
    in_key: bool = False

    def fault(self) -> Fault:
        """The fault, with its place."""
        if self.kind == "missing" and not self.document.has(self.path):
            return self._told(Message("{name} is missing", name=self.name),
                              self.wanted.sentence())
        if self.value is None and self.spelt is not None and self.kind not in _OF_OWN_WORDS:
            return self._told(Message("{name} has no value", name=self.name),
                              self.wanted.sentence())
        for kinds, tell in _TELLERS:
            if self.kind in kinds:
                return tell(self)
        return self._told(Message("{name}: {shown} does not fit here", name=self.name,
                                  shown=self.shown), self.wanted.sentence())

    def only_called_short(self) -> bool:
        """True when a list is called short because its entries do not fit themselves."""
        return (self.kind == "too_short" and isinstance(self.value, (tuple, dict))
                and "min_length" in self.context
                and len(self.value) >= int(self.context["min_length"]))

    @property
    def name(self) -> str:
        """The word whose value it is."""
        return next((part for part in reversed(self.path) if isinstance(part, str)),
                    Message("the file"))

    @property
    def value(self) -> Any:
        """What was read."""
        return self.document.get(self.path)

    @property
    def spelt(self) -> str | None:
        """How it was written, where it is one bare word."""
        return self.document.spellings.get(self.path)

    @property
    def shown(self) -> str:
        """How it is repeated to the person."""
        return advice.as_shown(self.value, self.spelt)

    def _told(self, message: Message, remedy: Message) -> Fault:
        return Fault(message, remedy, self.document.place(self.path, key=self.in_key))

    def _not_allowed(self, remedy: Message) -> Fault:
        return self._told(Message("{name}: {shown} is not allowed", name=self.name,
                                  shown=self.shown), remedy)

    def _own_words(self) -> Fault:
        said = getattr(self.context.get("error"), "args", ())
        message = said[0] if said and isinstance(said[0], Message) else verbatim(
            str(said[0] if said else self.text))
        return self._told(message, self.wanted.sentence())

    def _endless(self) -> Fault:
        return self._told(Message("{name}: {shown} is not a number that can be measured",
                                  name=self.name, shown=self.shown), self.wanted.sentence())

    def _out_of_range(self) -> Fault:
        """The whole range is told, but for the bounds that only keep nonsense out."""
        told = self.wanted.range_words()
        crossed = abs(float(next(iter(self.context.values()), 0.0)))
        if not told or crossed >= NONSENSE:
            told = advice.bound_words(self.kind, self.context)
        return self._told(Message("{name}: {shown} is not allowed, it must be {range}",
                                  name=self.name, shown=self.shown, range=told),
                          self.wanted.description())

    def _no_choice(self) -> Fault:
        choices = self.wanted.choices() or _quoted(self.context.get("expected"))
        return self._not_allowed(advice.choice_remedy(self.value, self.spelt, choices))

    def _no_sort(self) -> Fault:
        """The word that says which of several models is meant says none of them."""
        tag = _tag(self.context)
        at = (*self.path, tag)
        value, spelt = self.document.get(at), self.document.spellings.get(at)
        return Fault(Message("{name}: {shown} is not allowed", name=tag,
                             shown=advice.as_shown(value, spelt)),
                     advice.choice_remedy(value, spelt, _quoted(self.context.get("expected_tags"))),
                     self.document.place(at))

    def _sort_missing(self) -> Fault:
        tag = _tag(self.context)
        return Fault(Message("{name} is missing", name=tag),
                     Message("it says which sort is meant: {sorts}",
                             sorts=advice.listing(self.wanted.tags())),
                     self.document.place((*self.path, tag)))

    def _no_number(self) -> Fault:
        whole = self.kind.startswith("int")
        limits = self.wanted.range_words()
        of_file = any(isinstance(mark, FileUnits) for mark in self.wanted.marks())
        remedy = (advice.number_remedy(self.value, self.spelt, whole, of_file=of_file,
                                       in_inches=self.document.get(("units",)) == "inch")
                  or self.wanted.description())
        name, shown = self.name, self.shown
        if limits:
            message = (Message("{name}: {shown} is not a whole number {limits}", name=name,
                               shown=shown, limits=limits) if whole else
                       Message("{name}: {shown} is not a number {limits}", name=name, shown=shown,
                               limits=limits))
        else:
            message = (Message("{name}: {shown} is not a whole number", name=name, shown=shown)
                       if whole else
                       Message("{name}: {shown} is not a number", name=name, shown=shown))
        return self._told(message, remedy)

    def _neither_true_nor_false(self) -> Fault:
        return self._told(Message("{name}: {shown} is neither true nor false", name=self.name,
                                  shown=self.shown), Message("write true or false"))

    def _no_text(self) -> Fault:
        return self._told(Message("{name}: {shown} is not text", name=self.name,
                                  shown=self.shown), advice.text_remedy(self.value, self.spelt))

    def _too_many_letters(self) -> Fault:
        return self._told(Message("{name} is longer than {most} letters", name=self.name,
                                  most=self.context.get("max_length")),
                          Message("write it shorter"))

    def _no_letters(self) -> Fault:
        return self._told(Message("{name} is empty", name=self.name), self.wanted.sentence())

    def _wrong_letters(self) -> Fault:
        remedy = (advice.pattern_words(str(self.context.get("pattern", "")))
                  or self.wanted.sentence())
        if self.in_key:
            return self._told(Message("the name {name} is not allowed", name=self.name), remedy)
        return self._not_allowed(remedy)

    def _no_list(self) -> Fault:
        return self._told(Message("{name}: {shown} is not a list", name=self.name,
                                  shown=self.shown), self.wanted.list_words())

    def _no_words(self) -> Fault:
        allowed = self.wanted.words(None)
        if not self.path:
            return self._another_file(allowed)
        if allowed:
            return self._not_allowed(Message(
                "{name}: is followed by words of its own, indented beneath it: {words}",
                name=self.name, words=advice.listing(allowed)))
        return self._not_allowed(Message(
            "{name}: is followed by words of its own, indented beneath it", name=self.name))

    def _another_file(self, allowed: Sequence[str]) -> Fault:
        """Another file than was meant: its contents are nobody's business here."""
        held = (Message("plain text") if isinstance(self.value, str) else
                Message("a list") if isinstance(self.value, tuple) else Message("a single value"))
        meant = (Message("is it the file that was meant? Its words are {words}",
                         words=advice.listing(allowed)) if allowed
                 else Message("is it the file that was meant?"))
        return self._told(Message("the file is {held}, not words with their values", held=held),
                          meant)

    def _wrong_count(self) -> Fault:
        value, name = self.value, self.name
        have = len(value) if isinstance(value, (tuple, dict)) else 0
        number = self.wanted.tuple_length()
        about = self.wanted.description()
        if not number:
            return self._told(self._entries(have), about)
        remedy = about
        if have > number and all(isinstance(part, int) for part in value):
            point = Message("decimals are written with a point: a comma begins the next value")
            remedy = Message("{about}; {what}", about=about, what=point) if about else point
        if not have:
            return self._told(Message("{name} has no values, {number} wanted", name=name,
                                      number=number), remedy)
        return self._told(counted("{name} has {n} value, {number} wanted",
                                  "{name} has {n} values, {number} wanted", have, name=name,
                                  number=number), remedy)

    def _entries(self, have: int) -> Message:
        """How many entries a list has, and how many it may have."""
        lowest, highest = self.context.get("min_length"), self.context.get("max_length")
        if not have:
            return Message("{name} has no entries, at least {least} wanted", name=self.name,
                           least=lowest)
        if lowest:
            return counted("{name} has {n} entry, at least {least} wanted",
                           "{name} has {n} entries, at least {least} wanted", have,
                           name=self.name, least=lowest)
        return counted("{name} has {n} entry, at most {most} wanted",
                       "{name} has {n} entries, at most {most} wanted", have, name=self.name,
                       most=highest)


def _quoted(text: object) -> list[str]:
    """The words in quotes in a sentence of the model library's."""
    return re.findall(r"'([^']*)'", str(text))


def _tag(context: Mapping[str, Any]) -> str:
    return str(context.get("discriminator", "kind")).strip("'")


_OF_OWN_WORDS: Final = frozenset({"value_error", "assertion_error"})
_TELLERS: Final[tuple[tuple[frozenset[str], Callable[[UnfitWord], Fault]], ...]] = (
    (_OF_OWN_WORDS, UnfitWord._own_words),
    (frozenset({"missing", "too_short", "too_long"}), UnfitWord._wrong_count),
    (frozenset({"finite_number"}), UnfitWord._endless),
    (frozenset({"greater_than", "greater_than_equal", "less_than", "less_than_equal"}),
     UnfitWord._out_of_range),
    (frozenset({"literal_error"}), UnfitWord._no_choice),
    (frozenset({"union_tag_invalid"}), UnfitWord._no_sort),
    (frozenset({"union_tag_not_found"}), UnfitWord._sort_missing),
    (frozenset({"float_type", "int_type", "int_from_float", "float_parsing", "int_parsing",
                "int_parsing_size"}), UnfitWord._no_number),
    (frozenset({"bool_type", "bool_parsing"}), UnfitWord._neither_true_nor_false),
    (frozenset({"string_type"}), UnfitWord._no_text),
    (frozenset({"string_too_long"}), UnfitWord._too_many_letters),
    (frozenset({"string_too_short"}), UnfitWord._no_letters),
    (frozenset({"string_pattern_mismatch"}), UnfitWord._wrong_letters),
    (frozenset({"tuple_type", "list_type"}), UnfitWord._no_list),
    (frozenset({"model_type", "dict_type", "model_attributes_type"}), UnfitWord._no_words),
)
